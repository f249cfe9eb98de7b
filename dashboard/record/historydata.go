package record

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"time"

	"wetside/dashboard/chart"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// readings is what the script of a history page reads values from. Times are
// seconds: the first since the beginning of the span, each further one since the one
// before. Values are whole numbers of the smallest step that is shown.
type readings struct {
	From  int64         `json:"from"` // ms since 1970
	To    int64         `json:"to"`
	Zone  string        `json:"zone,omitempty"`
	Comma bool          `json:"comma,omitempty"` // the decimal sign
	Lines []readingLine `json:"lines"`
}

// readingLine is one channel. Low and High are how far the lowest and the highest are from
// Mean, left out where they are no way off; Count is how many readings each point sums up,
// Each the same where it is one number for all.
type readingLine struct {
	Name   string  `json:"name"`
	Unit   string  `json:"unit"`
	Places int     `json:"places"`
	Steps  []int64 `json:"steps"`
	Mean   []int64 `json:"mean"`
	Low    []int64 `json:"low,omitempty"`
	High   []int64 `json:"high,omitempty"`
	Count  []int   `json:"count,omitempty"`
	Each   int     `json:"each,omitempty"`
	// Apart are the points, from the first up to and with the last, that came from a file.
	Apart [][2]int     `json:"apart,omitempty"`
	Gaps  []readingGap `json:"gaps,omitempty"`
	// Causes are the causes of the gaps.
	Causes []string `json:"causes,omitempty"`
}

// readingGap is a gap: when it began, in seconds since the beginning of the span, how
// many seconds it lasted, and which of the causes it has.
type readingGap [3]int64

// readings gathers the drawings for the script.
func (d historyAt) readings(charts []chart.Chart) string {
	out := readings{From: d.span.From.UnixMilli(), To: d.span.To.UnixMilli(), Comma: d.DecimalComma}
	if zone := d.Zone.String(); zone != "Local" {
		out.Zone = zone
	}
	for _, c := range charts {
		out.Lines = append(out.Lines, d.readingLine(c))
	}
	text, err := json.Marshal(out)
	if err != nil {
		return "" // a value that is no number was left out of the drawing as well
	}
	return string(text)
}

func (d historyAt) readingLine(c chart.Chart) readingLine {
	out := readingLine{Name: c.Title, Unit: c.Unit, Places: quantity.Decimals(c.Step)}
	scale := math.Pow10(out.Places)
	seconds := func(t time.Time) int64 { return int64(t.Sub(d.span.From).Round(time.Second) / time.Second) }
	whole := func(v float64) int64 { return int64(math.Round(v * scale)) }
	spread, last := false, int64(0)
	for i, p := range c.Line.Points {
		at := seconds(p.At)
		if n := len(out.Apart); p.Apart && n > 0 && out.Apart[n-1][1] == i-1 {
			out.Apart[n-1][1] = i
		} else if p.Apart {
			out.Apart = append(out.Apart, [2]int{i, i})
		}
		out.Steps, last = append(out.Steps, at-last), at
		mean := whole(p.Mean)
		out.Mean, out.Low, out.High = append(out.Mean, mean), append(out.Low, mean-whole(p.Min)), append(out.High, whole(p.Max)-mean)
		out.Count = append(out.Count, max(p.Count, 1))
		spread = spread || p.Max > p.Min
	}
	if !spread {
		out.Low, out.High = nil, nil
	}
	if counts := slices.Compact(slices.Clone(out.Count)); len(counts) == 1 {
		out.Each, out.Count = counts[0], nil
	}
	for _, g := range c.Line.Gaps {
		to := g.To
		if to.IsZero() {
			to = d.span.To
		}
		cause := slices.Index(out.Causes, g.Cause)
		if cause < 0 {
			cause, out.Causes = len(out.Causes), append(out.Causes, g.Cause)
		}
		out.Gaps = append(out.Gaps, readingGap{seconds(g.From), seconds(to) - seconds(g.From), int64(cause)})
	}
	return out
}

// Past is what the record book tells of a time, for the pages that look back.
type Past interface {
	// Course gives what happened in a time, from From up to To, in one room or in all.
	Course(ctx context.Context, q CourseQuery) (Course, error)
	// Sessions gives those of the course alone, which is quicker.
	Sessions(ctx context.Context, q CourseQuery) ([]report.Session, error)
	// Flow gives the flow of air of a room in m³/h, by the probe, the duct and the
	// corrections of each day; nothing where no flow was measured.
	Flow(ctx context.Context, room string, q web.SeriesQuery) (web.Series, error)
}

// CourseQuery asks for what happened in a time. An empty Room means every room.
type CourseQuery struct {
	Room     string
	From, To time.Time
}

// Course is what happened in a time, each in the order in which it began.
type Course struct {
	// Sessions and Alarms are those of which any part lies in the time.
	Sessions []report.Session
	Alarms   []report.Alarm
	Bands    []PastBand
}

// PastBand is a band that was wanted of a channel over a time, by the settings of
// that time, in the inside unit. High is +Inf where there is no upper end. The
// channel [cards.AirFlow] means the flow of air.
type PastBand struct {
	Channel   sensors.ChannelID
	From, To  time.Time
	Low, High float64
}
