package agreement_test

import (
	"slices"
	"time"

	"wetside/rules/breathing"
)

// worst keeps the worst verdict on each short limit that the board has given while a session
// ran, once the whole window of the limit lay in the session.
type worst struct {
	since    time.Time // when the session was seen first; zero while none runs
	broken   bool      // by a step of the clock: the report counts its windows by the wall clock, and lacks what was stepped over
	verdicts map[string]breathing.Verdict
}

// note looks at the board.
func (w *worst) note(e *evening) {
	s := e.snapshot()
	if !s.Session.Phase.Running() {
		w.since = time.Time{}
		return
	}
	if w.since.IsZero() {
		w.since = s.At.Wall
	}
	ran := s.At.Wall.Sub(w.since)
	for _, gas := range s.Breathing {
		for _, f := range gas.Findings {
			key := f.Limit.Text().String()
			if f.Limit.Window == 0 || f.Limit.Window > ran {
				continue
			}
			if before, seen := w.verdicts[key]; !seen || milder(before, f.Verdict) {
				w.verdicts[key] = f.Verdict
			}
		}
	}
}

func milder(a, b breathing.Verdict) bool {
	order := []breathing.Verdict{breathing.Within, breathing.CantTell, breathing.Over}
	return slices.Index(order, a) < slices.Index(order, b)
}

// gasNow asks how the air stands to each limit now.
func gasNow() question[string] {
	return question[string]{asks: "verdict on a gas now", same: equal[string], readers: []reader[string]{
		{name: "the board", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, gas := range e.snapshot().Breathing {
				for _, f := range gas.Findings {
					out[f.Limit.Text().String()] = f.Verdict.Said().String()
				}
			}
			return out
		}},
		{name: "Air", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, row := range e.page(e.here() + "/air/limits").all("data-limit") {
				out[row.attrs["data-limit"]] = row.classed("verdict").words()
			}
			return out
		}},
	}}
}

// gasWorst asks for the worst verdict on each short limit of a session that filled its window.
func gasWorst() question[string] {
	return question[string]{asks: "worst verdict on a gas in the session", same: equal[string], readers: []reader[string]{
		{name: "the board from minute to minute", read: func(e *evening) answers[string] {
			out := answers[string]{}
			if e.worst.broken {
				return out
			}
			for limit, v := range e.worst.verdicts {
				out[limit] = v.Said().String()
			}
			return out
		}},
		{name: "the report", read: func(e *evening) answers[string] {
			out := answers[string]{}
			d := e.report()
			for _, a := range d.Averages {
				if _, judged := e.worst.verdicts[a.Limit.String()]; judged && !e.worst.broken && d.Sessions[a.Session-1].Room == e.id {
					out[a.Limit.String()] = a.Verdict.String()
				}
			}
			return out
		}},
	}}
}
