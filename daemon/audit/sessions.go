package audit

import (
	"wetside/dashboard/report"
	"wetside/rules/past"
)

// evening is a session of a report, by its number in it.
type evening struct {
	past.Evening
	number int
}

func sessionOf(e past.Evening, number int) report.Session {
	n := e.Last
	out := report.Session{Number: number, Room: e.Room, Title: n.Title, Leader: n.Leader, People: n.People, Begun: n.Begun,
		Ended: e.Span().To, Running: n.Phase.Running(),
		Uncovered: n.Tally.Trays.Open, Unproven: n.Tally.Trays.Unproven, TrayUnproven: n.Tally.Trays.TrayUnproven,
		FlowKnown: n.Tally.Known, FlowProven: n.Tally.FanTime, Record: e.Record}
	if at, runs := e.AsOf(); runs {
		out.AsOf = at
	}
	if room, known := e.Then(); known {
		if demand, err := room.Demand(n.Begun); err == nil {
			changes := float64(demand.AirChanges)
			out.Required = &changes
		}
	}
	return out
}
