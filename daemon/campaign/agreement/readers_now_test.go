package agreement_test

import (
	"encoding/json"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/rules"
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

// apiNow is what /api/now says of the room.
type apiNow struct {
	ID    string
	Baths []struct {
		ID          string
		Temperature *float64 `json:"temperature_celsius"`
		Content     *struct {
			Batch   string
			Verdict *string
		}
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
	return site.Rooms[slices.IndexFunc(site.Rooms, func(r apiNow) bool { return r.ID == e.id })]
}

// metric gives the samples of a metric of the room by the value of one of its labels.
func (e *evening) metric(name, label string) answers[figure] {
	found := answers[figure]{}
	line := regexp.MustCompile(`(?m)^wetside_` + name + `\{[^}]*` + label + `="([^"]*)"[^}]*\} (\S+)$`)
	for _, m := range line.FindAllStringSubmatch(e.get("/metrics"), -1) {
		if !strings.Contains(m[0], `room="`+e.id+`"`) {
			continue
		}
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
			out, page := answers[figure]{}, e.page(e.here()+"/board")
			for _, b := range e.snapshot().Baths {
				out[b.Bath.ID] = shown(page.where("id", "bath-"+b.Bath.ID).classed("temperature").first("strong").words())
			}
			return out
		}},
		{name: "Tonight", partial: true, read: func(e *evening) answers[figure] {
			out, page := answers[figure]{}, e.page(e.here()+"/tonight")
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
			if s, is := e.metric("development_time_seconds", "bath")[e.mark+"developer"]; is {
				return answers[string]{e.mark + "developer": seconds(s.value)}
			}
			return answers[string]{e.mark + "developer": noTime}
		}},
		{name: "the page of the board", read: func(e *evening) answers[string] {
			return answers[string]{e.mark + "developer": timeOf(e.page(e.here()+"/board").where("id", "bath-"+e.mark+"developer").classed("time"))}
		}},
		{name: "Tonight", read: func(e *evening) answers[string] {
			card := e.page(e.here()+"/tonight").where("aria-labelledby", "dev-"+e.mark+"developer")
			return answers[string]{e.mark + "developer": timeOf(card.classed("big-time").first("strong"))}
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
