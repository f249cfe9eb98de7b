package coverage

import (
	"strings"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// The causes beside [NotRecorded]; what is suspect says why.
const (
	lost    = "port lost"
	silent  = "probe silent"
	suspect = "probe suspect: "
)

// Cause says in an auditor's words why a channel gave no valid reading, from the
// reason that was recorded; what it does not know it gives back as it is.
func Cause(recorded string) string {
	switch r := sensors.Reason(recorded); r {
	case "":
		return NotRecorded
	case sensors.LineLost:
		return lost
	case sensors.Silent, sensors.NeverSeen:
		return silent
	case sensors.OutOfRange, sensors.Jump, sensors.FlatLine, sensors.PowerOn, sensors.UnitMismatch, sensors.ProbeFault, sensors.LooksWrong,
		sensors.Waited:
		return suspect + recorded
	}
	return recorded
}

// Told says one of the causes, as [Cause] gives it, in a sentence.
func Told(cause string) phrase.Sentence {
	switch cause {
	case NotRecorded:
		return phrase.Say("not recorded")
	case lost:
		return phrase.Say("port lost")
	case silent:
		return phrase.Say("probe silent")
	}
	if why, found := strings.CutPrefix(cause, suspect); found {
		return phrase.Say("probe suspect: %s", sensors.Reason(why))
	}
	return sensors.Reason(cause).Said()
}
