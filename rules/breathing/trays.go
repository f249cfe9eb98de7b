package breathing

import (
	"time"

	"wetside/sensors/quantity/phrase"
)

// TrayTally counts, without any gas sensor, how long uncovered trays stood in
// air that was not proven to move. It is evidence of a control, not of what
// anyone breathed. The zero tally is an empty session.
type TrayTally struct {
	Open         time.Duration // with at least one tray uncovered
	Unproven     time.Duration // of that, with a tray without proven flow
	TrayUnproven time.Duration // the same, times the number of those trays
}

// Add counts a time with a number of uncovered trays, some of them without proven flow;
// a flow that is not known is not proven. Spans of zero or less are not counted.
func (t TrayTally) Add(span time.Duration, trays, unproven int) TrayTally {
	if span <= 0 || trays <= 0 {
		return t
	}
	t.Open += span
	if unproven > 0 {
		t.Unproven += span
		t.TrayUnproven += span * time.Duration(min(unproven, trays))
	}
	return t
}

// Sentence says what was counted.
func (t TrayTally) Sentence() phrase.Sentence {
	if t.Open == 0 {
		return phrase.Say("No tray was uncovered.")
	}
	return phrase.Say("Trays were uncovered for %.0f min, %.0f min without proven airflow.", t.Open.Minutes(), t.Unproven.Minutes())
}
