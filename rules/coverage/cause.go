package coverage

import "wetside/sensors"

// Cause says in an auditor's words why a channel gave no valid reading, from the
// reason that was recorded; what it does not know it gives back as it is.
func Cause(recorded string) string {
	switch r := sensors.Reason(recorded); r {
	case "":
		return NotRecorded
	case sensors.LineLost:
		return "port lost"
	case sensors.Silent, sensors.NeverSeen:
		return "probe silent"
	case sensors.OutOfRange, sensors.Jump, sensors.FlatLine, sensors.PowerOn, sensors.UnitMismatch, sensors.ProbeFault:
		return "probe suspect: " + recorded
	}
	return recorded
}
