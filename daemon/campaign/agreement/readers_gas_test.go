package agreement_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"github.com/stretchr/testify/require"

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

// gasTold asks what a sensor tells of its gas in ppm: a value, or a bound where it can tell no more.
func gasTold() question[string] {
	told := func(value, most, least figure) string {
		switch {
		case value.known:
			return fmt.Sprintf("%.4g", value.value)
		case most.known:
			return fmt.Sprintf("at most %.4g", most.value)
		case least.known:
			return fmt.Sprintf("at least %.4g", least.value)
		}
		return "nothing"
	}
	measured := func(v float64, is bool) figure { return figure{known: is, value: v} }
	return question[string]{asks: "what a gas sensor tells", same: equal[string], readers: []reader[string]{
		{name: "the board", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, gas := range e.snapshot().Breathing {
				out[string(gas.Channel)] = told(measured(gas.Level.Value()), measured(gas.Level.AtMost()), measured(gas.Level.AtLeast()))
			}
			return out
		}},
		{name: "/api/channels", read: func(e *evening) answers[string] {
			var list struct {
				Channels []struct {
					ID    string
					Value *float64
					Most  *float64 `json:"at_most"`
					Least *float64 `json:"at_least"`
				}
			}
			require.NoError(e, json.Unmarshal([]byte(e.get("/api/channels")), &list))
			out := answers[string]{}
			for _, gas := range e.snapshot().Breathing {
				for _, c := range list.Channels {
					if c.ID == string(gas.Channel) {
						out[c.ID] = told(optional(c.Value), optional(c.Most), optional(c.Least))
					}
				}
			}
			return out
		}},
		{name: "/metrics", read: func(e *evening) answers[string] {
			ppm := func(name, channel string) figure {
				f := e.metric("gas_"+name+"volume_ratio", "channel")[channel]
				f.value *= 1e6
				return f
			}
			out := answers[string]{}
			for _, gas := range e.snapshot().Breathing {
				id := string(gas.Channel)
				out[id] = told(ppm("", id), ppm("at_most_", id), ppm("at_least_", id))
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
