package audit

import (
	"slices"

	"wetside/dashboard/report"
	"wetside/rules/coverage"
)

// airStates lists the states of the air of every room that has a session or settings in the
// time, each with the session in which it was.
func (g *gathering) airStates() error {
	g.chronicle.mu.Lock()
	defer g.chronicle.mu.Unlock()
	f, over := &g.chronicle.fold, coverage.Span{From: g.From, To: g.To}
	for _, room := range f.AirRooms() {
		evenings := slices.DeleteFunc(slices.Clone(g.evenings), func(e evening) bool { return e.Room != room })
		for _, s := range f.Air(room, over) {
			for len(evenings) > 0 && !evenings[0].Span().To.After(s.From) {
				evenings = evenings[1:]
			}
			out := report.AirState{Room: room, State: s.State.Said(), Verdict: string(s.State.Verdict()), From: s.From, To: s.To,
				Stopped: s.Stopped, Cause: s.Cause}
			if len(evenings) > 0 && s.Until(g.Now).After(evenings[0].Span().From) {
				out.Session = evenings[0].number
			}
			g.data.AirStates = append(g.data.AirStates, out)
		}
	}
	return nil
}

// disputed are the times in which the signs of the air of a room disagreed.
func (c *Chronicle) disputed(room string, over coverage.Span) []coverage.Span {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.fold.Disputed(room, over)
}
