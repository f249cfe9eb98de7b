package viewtest

import (
	"wetside/dashboard/keep"
	"wetside/rules/screentest"
)

// Screens is a place in which no screen was tested yet.
type Screens struct{ keep.Screens }

// ScreenTests are none.
func (Screens) ScreenTests() []screentest.Test { return nil }
