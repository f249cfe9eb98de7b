package agreement_test

import (
	"strings"

	"wetside/rules/alarm"
)

// alarmsUp asks which alarms are up, and whether somebody has answered them.
func alarmsUp() question[string] {
	return question[string]{asks: "alarms that are up", same: equal[string], readers: []reader[string]{
		{name: "the board", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, a := range e.snapshot().Alarms {
				out[a.ID] = answered(a.Acknowledged)
			}
			return out
		}},
		{name: "/api/now", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, a := range e.api().Alarms {
				out[a.ID] = answered(strings.HasPrefix(a.State, "acknowledged"))
			}
			return out
		}},
		{name: "the page of alarms", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, n := range e.page(e.here() + "/alarms").all("data-part") {
				if id, is := strings.CutPrefix(n.attrs["id"], "alarm-"); is {
					at := strings.LastIndex(id, "-")
					out[id[:at]] = answered(id[at+1:] != "new")
				}
			}
			return out
		}},
		{name: "the report", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, a := range e.alarms() {
				if a.Ended.IsZero() {
					out[a.ID] = answered(!a.Answered.IsZero())
				}
			}
			return out
		}},
	}}
}

func answered(yes bool) string {
	if yes {
		return "up, answered"
	}
	return "up, not answered"
}

// alarmsStanding asks of the alarms that are up whether what they warn of still lasts.
func alarmsStanding() question[string] {
	lasts := func(yes bool) string {
		if yes {
			return "lasts"
		}
		return "is over"
	}
	board := func(state string) string {
		s := alarm.State(state)
		return lasts(s == alarm.Unacknowledged || s == alarm.Acknowledged)
	}
	return question[string]{asks: "does the cause of an alarm last", same: equal[string], readers: []reader[string]{
		{name: "the board", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, a := range e.snapshot().Alarms {
				out[a.ID] = board(a.State)
			}
			return out
		}},
		{name: "/api/now", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, a := range e.api().Alarms {
				out[a.ID] = board(a.State)
			}
			return out
		}},
		{name: "the report", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, a := range e.alarms() {
				if a.Ended.IsZero() {
					out[a.ID] = lasts(a.Cleared.IsZero())
				}
			}
			return out
		}},
	}}
}
