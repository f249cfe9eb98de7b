package agreement_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/report"
)

// flows keeps what the board said of the flow, in m³/h, at each look within a minute; a
// minute in which it said once that it does not know has a nil.
type flows map[time.Time][]*float64

// note looks at the board.
func (f flows) note(e *evening) {
	s := e.snapshot()
	minute := s.At.Wall.Truncate(time.Minute)
	f[minute] = append(f[minute], (*float64)(s.Air.Flow))
}

// mean is the mean of a minute; false when the board did not know the flow at any look.
func (f flows) mean(minute time.Time) (mean float64, known, whole bool) {
	n := 0
	for _, v := range f[minute] {
		if v != nil {
			mean, n = mean+*v, n+1
		}
	}
	return mean / float64(n), n > 0, n == len(f[minute])
}

// volume of the invented room in m³.
const volume = 30

// minutesOfFlow asks for the mean flow of every full minute within the sessions in which
// the board knew the flow all the time, or never.
func minutesOfFlow() question[figure] {
	about := func(e *evening, of func(minute time.Time) figure) answers[figure] {
		out, d := answers[figure]{}, e.report()
		for _, m := range d.Minutes {
			_, known, whole := e.flows.mean(m.At)
			s, end := d.Sessions[m.Session-1], m.At.Add(time.Minute)
			inside := s.Room == e.id && !e.unclear(m.At) && !foundLater(d, m.At) && !m.At.Before(s.Begun) && !end.After(s.Ended) &&
				!end.After(e.clock.Now().Wall)
			if inside && (whole || !known) {
				out[m.At.Format("15:04")] = of(m.At)
			}
		}
		return out
	}
	return question[figure]{asks: "flow in m³/h over a minute", same: sameFlow, readers: []reader[figure]{
		{name: "the board", read: func(e *evening) answers[figure] {
			return about(e, func(minute time.Time) figure {
				mean, known, _ := e.flows.mean(minute)
				return figure{known, mean, 1}
			})
		}},
		{name: "the report", read: func(e *evening) answers[figure] {
			mean := map[time.Time]figure{}
			d := e.report()
			for _, m := range d.Minutes {
				if m.Mean != nil && d.Sessions[m.Session-1].Room == e.id {
					mean[m.At] = figure{true, *m.Mean * volume, 1}
				}
			}
			return about(e, func(minute time.Time) figure { return mean[minute] })
		}},
		{name: "History", read: func(e *evening) answers[figure] {
			drawn := e.drawn(airFlow)
			return about(e, func(minute time.Time) figure { return drawn[minute] })
		}},
	}}
}

// foundLater says whether a fault of a probe that was found later may reach back to a minute:
// the report knows of such a fault what the board did not know then.
func foundLater(d report.Data, minute time.Time) bool {
	const reach = 30 * time.Minute
	return slices.ContainsFunc(d.Found, func(f report.Found) bool {
		return minute.Add(time.Minute).After(f.From) && minute.Before(f.From.Add(reach))
	})
}

// sameFlow says whether two flows are the same to three parts in a thousand, or to one m³/h.
func sameFlow(a, b figure) bool {
	if !a.known || !b.known {
		return a.known == b.known
	}
	return math.Abs(a.value-b.value) <= max(1, 0.003*math.Abs(a.value))
}

const airFlow = "air:flow"

// drawn reads the points of a channel off the page of history, by the minute in which they lie.
func (e *evening) drawn(channel string) map[time.Time]figure {
	from, to := e.shown()
	var drawing struct {
		From   int64
		Places int
		Lines  []struct {
			Steps, Mean, Count []int64
		}
	}
	figures := e.page(e.here() + "/history?channel=" + channel + "&from=" + from.Format(time.RFC3339) + "&to=" +
		to.Format(time.RFC3339)).all("data-readings")
	require.Len(e, figures, 1)
	require.NoError(e, json.Unmarshal([]byte(figures[0].attrs["data-readings"]), &drawing), figures[0].attrs["data-readings"])
	sum, count := map[time.Time]float64{}, map[time.Time]float64{}
	for _, l := range drawing.Lines {
		at := time.UnixMilli(drawing.From).UTC()
		for i, step := range l.Steps {
			at = at.Add(time.Duration(step) * time.Second)
			n := 1.0
			if len(l.Count) > 0 {
				n = float64(l.Count[i])
			}
			minute := at.Truncate(time.Minute)
			sum[minute] += n * float64(l.Mean[i]) / math.Pow10(drawing.Places)
			count[minute] += n
		}
	}
	out := map[time.Time]figure{}
	for minute, n := range count {
		out[minute] = figure{true, sum[minute] / n, 0}
	}
	return out
}

// byPressure is the invented room with a probe of velocity pressure in the place of the velocity.
func byPressure() string {
	return strings.NewReplacer(`quantity = "duct-velocity"`, `quantity = "velocity-pressure"`,
		`"VEL"`, `"PRE"`, `unit = "m/s"`, `unit = "Pa"`).Replace(placeFile)
}

// twoProbes is the invented room with a probe of velocity pressure beside the one of the velocity.
func twoProbes() string {
	return strings.Replace(placeFile, "[[room.bath]]", `[[room.line.channel]]
id = "duct-pressure"
quantity = "velocity-pressure"
address = "PRE"
unit = "Pa"

[[room.bath]]`, 1)
}
