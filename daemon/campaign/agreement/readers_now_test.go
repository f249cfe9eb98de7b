package agreement_test

import (
	"encoding/json"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/rules"
	"wetside/rules/alarm"
)

// figure is a number that may be unknown. Places is to how many decimals its reader writes it.
type figure struct {
	known  bool
	value  float64
	places int
}

const exact = 9

func (f figure) String() string {
	if !f.known {
		return "not known"
	}
	return strconv.FormatFloat(f.value, 'f', -1, 64)
}

// near says whether two figures are the same to the places that both show.
func near(a, b figure) bool {
	if !a.known || !b.known {
		return a.known == b.known
	}
	return math.Abs(a.value-b.value) <= 0.5001*math.Pow10(-min(a.places, b.places))
}

func known(v float64) figure { return figure{true, v, exact} }

// shown reads a number off a page: a dash is not known.
func shown(text string) figure {
	found := regexp.MustCompile(`-?\d+(\.\d+)?`).FindString(text)
	v, err := strconv.ParseFloat(found, 64)
	if err != nil {
		return figure{}
	}
	_, decimals, _ := strings.Cut(found, ".")
	return figure{true, v, len(decimals)}
}

// snapshot is the board of the room, as its loop shows it.
func (e *evening) snapshot() *rules.Snapshot { return e.daemon.Now().Rooms[0] }

// apiNow is what /api/now says of the room.
type apiNow struct {
	Baths []struct {
		ID             string
		Temperature    *float64 `json:"temperature_celsius"`
		Content        *struct{ Verdict *string }
		Recommendation struct{ Seconds *float64 }
	}
	Air struct {
		State   string
		Changes *float64 `json:"air_changes_per_hour"`
	}
	Alarms []struct{ ID, State string }
}

func (e *evening) api() apiNow {
	var site struct{ Rooms []apiNow }
	require.NoError(e, json.Unmarshal([]byte(e.get("/api/now")), &site))
	return site.Rooms[0]
}

// metric gives the samples of a metric by the value of one of its labels.
func (e *evening) metric(name, label string) answers[figure] {
	found := answers[figure]{}
	line := regexp.MustCompile(`(?m)^wetside_` + name + `\{[^}]*` + label + `="([^"]*)"[^}]*\} (\S+)$`)
	for _, m := range line.FindAllStringSubmatch(e.get("/metrics"), -1) {
		v, err := strconv.ParseFloat(m[2], 64)
		require.NoError(e, err)
		found[m[1]] = known(v)
	}
	return found
}

// metricOf is the sample of a bath for one of several answers; zero without one.
func (e *evening) metricOf(name, bath, answer string) float64 {
	line := regexp.MustCompile(`(?m)^wetside_` + name + `\{bath="` + bath + `",[^}]*"` + answer + `"[^}]*\} (\S+)$`)
	return shown(line.ReplaceAllString(line.FindString(e.get("/metrics")), "$1")).value
}

func optional(v *float64) figure {
	if v == nil {
		return figure{}
	}
	return known(*v)
}

// temperatures asks how warm each bath is.
func temperatures() question[figure] {
	return question[figure]{asks: "temperature of a bath", same: near, readers: []reader[figure]{
		{name: "the board", read: func(e *evening) answers[figure] {
			out := answers[figure]{}
			for _, b := range e.snapshot().Baths {
				v, ok := b.Temperature()
				out[b.Bath.ID] = figure{ok, float64(v), exact}
			}
			return out
		}},
		{name: "/api/now", read: func(e *evening) answers[figure] {
			out := answers[figure]{}
			for _, b := range e.api().Baths {
				out[b.ID] = optional(b.Temperature)
			}
			return out
		}},
		{name: "/metrics", read: func(e *evening) answers[figure] {
			out, found := answers[figure]{}, e.metric("temperature_celsius", "channel")
			for _, b := range e.snapshot().Baths {
				out[b.Bath.ID] = found[string(b.Bath.Channel)]
			}
			return out
		}},
		{name: "the page of the board", read: func(e *evening) answers[figure] {
			out, page := answers[figure]{}, e.page("/rooms/dark/board")
			for _, b := range e.snapshot().Baths {
				out[b.Bath.ID] = shown(page.where("id", "bath-"+b.Bath.ID).classed("temperature").first("b").words())
			}
			return out
		}},
		{name: "Tonight", partial: true, read: func(e *evening) answers[figure] {
			out, page := answers[figure]{}, e.page("/rooms/dark/tonight")
			for _, card := range page.all("aria-labelledby") {
				if id, is := strings.CutPrefix(card.attrs["aria-labelledby"], "dev-"); is {
					out[id] = shown(card.classed("big-temperature").words())
				}
			}
			return out
		}},
	}}
}

const noTime = "no time"

// timeOf reads a development time off a page.
func timeOf(n *element) string {
	if text := regexp.MustCompile(`\d+:\d\d`).FindString(n.words()); text != "" {
		return text
	}
	return noTime
}

// times asks how long to develop.
func times() question[string] {
	return question[string]{asks: "development time", same: equal[string], readers: []reader[string]{
		{name: "the board", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, b := range e.snapshot().Baths {
				if b.Bath.Role == rules.Developer {
					out[b.Bath.ID] = timeSaid(b)
				}
			}
			return out
		}},
		{name: "/api/now", partial: true, read: func(e *evening) answers[string] {
			api := e.api().Baths[0]
			if s := api.Recommendation.Seconds; s != nil {
				return answers[string]{api.ID: seconds(*s)}
			}
			return answers[string]{api.ID: noTime}
		}},
		{name: "/metrics", read: func(e *evening) answers[string] {
			if s, is := e.metric("development_time_seconds", "bath")["developer"]; is {
				return answers[string]{"developer": seconds(s.value)}
			}
			return answers[string]{"developer": noTime}
		}},
		{name: "the page of the board", read: func(e *evening) answers[string] {
			return answers[string]{"developer": timeOf(e.page("/rooms/dark/board").where("id", "bath-developer").classed("time"))}
		}},
		{name: "Tonight", read: func(e *evening) answers[string] {
			return answers[string]{"developer": timeOf(e.page("/rooms/dark/tonight").where("aria-labelledby", "dev-developer").classed("big-time").first("strong"))}
		}},
	}}
}

func timeSaid(b rules.BathView) string {
	if t, ok := b.Recommendation.Time(); ok {
		return chem.MinutesSeconds(t)
	}
	return noTime
}

func seconds(s float64) string { return chem.MinutesSeconds(time.Duration(s * float64(time.Second))) }

// airStates asks whether the air moves.
func airStates() question[string] {
	page := func(path string, find func(*element) *element) func(e *evening) answers[string] {
		return func(e *evening) answers[string] {
			return answers[string]{room: strings.ToLower(find(e.page(path)).words())}
		}
	}
	return question[string]{asks: "does the air move", same: equal[string], readers: []reader[string]{
		{name: "the board", read: func(e *evening) answers[string] { return answers[string]{room: string(e.snapshot().Air.State)} }},
		{name: "/api/now", read: func(e *evening) answers[string] { return answers[string]{room: e.api().Air.State} }},
		{name: "/metrics", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for state, v := range e.metric("air_state", "state") {
				if v.value == 1 {
					out[room] += state
				}
			}
			return out
		}},
		{name: "the page of the board", read: page("/rooms/dark/board", func(n *element) *element { return n.classed("air-word").first("strong") })},
		{name: "Air", read: page("/rooms/dark/air", func(n *element) *element { return n.where("id", "state") })},
		{name: "Tonight", read: page("/rooms/dark/tonight", func(n *element) *element { return n.classed("tonight-air").first("strong") })},
	}}
}

// airChanges asks how many air changes an hour there are.
func airChanges() question[figure] {
	return question[figure]{asks: "air changes an hour", same: near, readers: []reader[figure]{
		{name: "the board", read: func(e *evening) answers[figure] {
			return answers[figure]{room: optional((*float64)(e.snapshot().Air.AirChanges))}
		}},
		{name: "/api/now", read: func(e *evening) answers[figure] { return answers[figure]{room: optional(e.api().Air.Changes)} }},
		{name: "/metrics", read: func(e *evening) answers[figure] {
			return answers[figure]{room: e.metric("air_changes_per_hour", "room")[room]}
		}},
		{name: "the page of the board", read: func(e *evening) answers[figure] {
			return answers[figure]{room: shown(e.page("/rooms/dark/board").classed("changes").first("b").words())}
		}},
		{name: "Air", read: func(e *evening) answers[figure] {
			return answers[figure]{room: shown(e.page("/rooms/dark/air").classed("numerals").first("b").words())}
		}},
	}}
}

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
				out[a.ID] = answered(strings.HasPrefix(a.State, "acknowledged") || strings.HasPrefix(a.State, "latched, ack"))
			}
			return out
		}},
		{name: "the page of alarms", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, n := range e.page("/rooms/dark/alarms").all("data-part") {
				if id, is := strings.CutPrefix(n.attrs["id"], "alarm-"); is {
					at := strings.LastIndex(id, "-")
					out[id[:at]] = answered(id[at+1:] != "new")
				}
			}
			return out
		}},
		{name: "the report", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, a := range e.report().Alarms {
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
			for _, a := range e.report().Alarms {
				if a.Ended.IsZero() {
					out[a.ID] = lasts(a.Cleared.IsZero())
				}
			}
			return out
		}},
	}}
}
