package programs

import (
	"math"
	"time"

	"wetside/dashboard/web"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/cells"
)

// row is one row of a series: a value, or a gap. A null says that there is nothing to give.
type row struct {
	// Row says what the row is: value or gap.
	Row  string     `json:"row"`
	From time.Time  `json:"from"`
	To   *time.Time `json:"to"`
	// Quality is that of the readings: good, partly good, suspect or missing.
	Quality string  `json:"quality"`
	Reason  *string `json:"reason"`
	// Value is corrected, the mean of a stretch; null where no good reading stands behind it.
	Value *float64 `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
	// Good and Doubtful count the readings, Covered is for how long a good value is known.
	Good     int      `json:"good"`
	Doubtful int      `json:"doubtful"`
	Covered  *float64 `json:"covered_seconds"`
	// Raw is what the probe sent, in its own unit: no measurement unless Quality is good.
	Raw       *float64 `json:"raw"`
	Imported  bool     `json:"imported"`
	Simulated bool     `json:"simulated"`
}

// What a row is, and a quality beside those of single readings.
const (
	isValue    = "value"
	isGap      = "gap"
	partlyGood = "partly good"
)

func sampleRow(s Sample) row {
	r := row{Row: isValue, From: s.At.UTC(), Quality: s.Grade.String(), Raw: finite(s.Raw), Imported: s.Imported}
	if value := finite(s.Value); s.Grade == sensors.Good && value != nil {
		r.Value, r.Good = value, 1
		return r
	}
	if s.Grade == sensors.Missing {
		r.Raw = nil
	}
	r.Reason, r.Doubtful = new(string(s.Reason)), 1
	return r
}

func stretchRow(s Stretch) row {
	r := row{Row: isValue, From: s.From.UTC(), To: new(s.To.UTC()), Good: s.Good, Doubtful: s.Bad, Covered: new(s.Covered.Seconds()),
		Imported: s.Imported}
	switch {
	case s.Good == 0:
		r.Quality = sensors.Suspect.String()
		return r
	case s.Bad > 0:
		r.Quality = partlyGood
	default:
		r.Quality = sensors.Good.String()
	}
	r.Value, r.Low, r.High = finite(s.Mean), finite(s.Min), finite(s.Max)
	return r
}

func gapRow(g web.SeriesGap) row {
	r := row{Row: isGap, From: g.From.UTC(), Quality: sensors.Missing.String(), Reason: &g.Cause}
	if !g.To.IsZero() {
		r.To = new(g.To.UTC())
	}
	return r
}

// finite leaves out what is no number, and the noise of arithmetic.
func finite(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return new(quantity.Clean(v))
}

// heads are the names of the columns of a table, in the order of [row.cells].
func heads() []string {
	return []string{"channel", "unit", "row", "from", "to", "quality", "reason", "value", "low", "high", "good", "doubtful",
		"covered_seconds", "raw", "imported", "simulated"}
}

// cells adds the row to a table.
func (r row) cells(out cells.Row, channel, unit string) cells.Row {
	out = out.Plain(channel).Plain(unit).Plain(r.Row).Plain(stamp(&r.From)).Plain(stamp(r.To)).Plain(r.Quality)
	if r.Reason != nil {
		out = out.Text(*r.Reason)
	} else {
		out = out.Empty(1)
	}
	for _, v := range []*float64{r.Value, r.Low, r.High} {
		out = figure(out, v)
	}
	out = figure(out.Whole(int64(r.Good)).Whole(int64(r.Doubtful)), r.Covered)
	return figure(out, r.Raw).Plain(yes(r.Imported)).Plain(yes(r.Simulated)).End()
}

func figure(out cells.Row, v *float64) cells.Row {
	if v == nil {
		return out.Empty(1)
	}
	return out.Figure(*v)
}

func yes(b bool) string {
	if b {
		return "true"
	}
	return "false"
}

func stamp(t *time.Time) string {
	if t == nil {
		return ""
	}
	return t.Format(time.RFC3339Nano)
}
