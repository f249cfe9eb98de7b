package agreement_test

import (
	"regexp"
	"strings"
	"time"
)

// moment is what the board said at a full minute, kept to be held against what the page
// that looks back says of it.
type moment struct {
	*inRoom
	at           time.Time
	temperatures answers[figure]
	times        answers[string]
	air          answers[string]
	alarms       answers[string]
	batches      answers[string]
}

// moment keeps what the board says now.
func (e *evening) moment() moment {
	return moment{e.inRoom, e.clock.Now().Wall, temperatures().readers[0].read(e),
		times().readers[0].read(e), airStates().readers[0].read(e), alarmsUp().readers[0].read(e), batches(e.snapshot())}
}

// then reads the page that looks back at the moment.
func (m moment) then(e *evening) *element {
	return e.page(e.here() + "/then?at=" + m.at.Format("2006-01-02T15:04"))
}

// bath finds the card of a bath on the page.
func (m moment) bath(e *evening, id string) *element {
	return m.then(e).where("aria-labelledby", "then-"+id)
}

func (m moment) board() string { return "the board at " + m.at.Format("15:04") }

func (m moment) page() string { return "the page that looks back at " + m.at.Format("15:04") }

// questions ask what the board said at the moment.
func (m moment) questions() []asking {
	return []asking{
		question[figure]{asks: "temperature of a bath then", same: near, readers: []reader[figure]{
			{name: m.board(), read: func(*evening) answers[figure] { return m.temperatures }},
			{name: m.page(), read: func(e *evening) answers[figure] {
				out := answers[figure]{}
				for id := range m.temperatures {
					out[id] = shown(m.bath(e, id).classed("big-temperature").words())
				}
				return out
			}},
		}},
		question[string]{asks: "development time then", same: equal[string], readers: []reader[string]{
			{name: m.board(), read: func(*evening) answers[string] { return m.times }},
			{name: m.page(), read: func(e *evening) answers[string] {
				return answers[string]{m.mark + "developer": timeOf(m.bath(e, m.mark+"developer").classed("then-time"))}
			}},
		}},
		question[string]{asks: "did the air move then", same: equal[string], readers: []reader[string]{
			{name: m.board(), read: func(*evening) answers[string] { return m.air }},
			{name: m.page(), read: func(e *evening) answers[string] {
				page := m.then(e)
				if page.classed("tonight-air") == nil { // nothing was heard for so long that the page shows nothing
					return answers[string]{e.id: "not proven"}
				}
				return answers[string]{e.id: strings.ToLower(page.classed("tonight-air").first("strong").words())}
			}},
		}},
		question[string]{asks: "batch in a tray then", same: equal[string], readers: []reader[string]{
			{name: m.board(), read: func(*evening) answers[string] { return m.batches }},
			{name: m.page(), read: func(e *evening) answers[string] {
				out := answers[string]{}
				for id := range m.temperatures {
					if found := regexp.MustCompile(`, batch ([^,]+)`).FindStringSubmatch(m.bath(e, id).words()); found != nil {
						out[id] = strings.TrimSpace(found[1])
					}
				}
				return out
			}},
		}},
		question[string]{asks: "alarms that were up then", same: equal[string], readers: []reader[string]{
			{name: m.board(), read: func(*evening) answers[string] { return m.alarms }},
			{name: m.page(), read: func(e *evening) answers[string] {
				out := answers[string]{}
				for _, n := range m.then(e).all("data-alarm") {
					out[n.attrs["data-alarm"]] = answered(n.attrs["data-answered"] == "yes")
				}
				return out
			}},
		}},
	}
}
