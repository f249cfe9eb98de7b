package cards

import "wetside/dashboard/web"

// AgainstField is the field for the clock that the computer's clock is compared with.
func AgainstField() web.Field { return web.Field{Name: "against", Label: "Which clock"} }

var seenField = web.Field{Name: "seen", Label: "Time on an accurate clock"}

// StillField is the field for whether a probe is still wrong.
func StillField() web.Field { return web.Field{Name: "still", Label: "The probe now"} }
