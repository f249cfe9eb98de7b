package agreement_test

import (
	"strings"
)

// airStates asks whether the air moves.
func airStates() question[string] {
	page := func(path string, find func(*element) *element) func(e *evening) answers[string] {
		return func(e *evening) answers[string] {
			return answers[string]{e.id: strings.ToLower(find(e.page(e.here() + path)).words())}
		}
	}
	return question[string]{asks: "does the air move", same: equal[string], readers: []reader[string]{
		{name: "the board", read: func(e *evening) answers[string] {
			return answers[string]{e.id: string(e.snapshot().Air.State)}
		}},
		{name: "/api/now", read: func(e *evening) answers[string] { return answers[string]{e.id: e.api().Air.State} }},
		{name: "/metrics", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for state, v := range e.metric("air_state", "state") {
				if v.value == 1 {
					out[e.id] += state
				}
			}
			return out
		}},
		{name: "the page of the board", read: page("/board", func(n *element) *element {
			return n.classed("air-word").first("strong")
		})},
		{name: "Air", read: page("/air", func(n *element) *element { return n.where("id", "state") })},
		{name: "Tonight", read: page("/tonight", func(n *element) *element {
			return n.classed("tonight-air").first("strong")
		})},
	}}
}

// airChanges asks how many air changes an hour there are.
func airChanges() question[figure] {
	return question[figure]{asks: "air changes an hour", same: near, readers: []reader[figure]{
		{name: "the board", read: func(e *evening) answers[figure] {
			return answers[figure]{e.id: optional((*float64)(e.snapshot().Air.AirChanges))}
		}},
		{name: "/api/now", read: func(e *evening) answers[figure] { return answers[figure]{e.id: optional(e.api().Air.Changes)} }},
		{name: "/metrics", read: func(e *evening) answers[figure] {
			return answers[figure]{e.id: e.metric("air_changes_per_hour", "room")[e.id]}
		}},
		{name: "the page of the board", read: func(e *evening) answers[figure] {
			return answers[figure]{e.id: shown(e.page(e.here() + "/board").classed("changes").first("b").words())}
		}},
		{name: "Air", read: func(e *evening) answers[figure] {
			return answers[figure]{e.id: shown(e.page(e.here() + "/air").classed("numerals").first("b").words())}
		}},
	}}
}
