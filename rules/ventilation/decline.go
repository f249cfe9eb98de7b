package ventilation

import (
	"slices"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// DayFlow is the typical flow of one session or day with the fan running.
type DayFlow struct {
	At   time.Time
	Flow quantity.CubicMetrePerHour
}

// Trend is how the flow of a running fan changes over weeks, with the 95 %
// interval of the slope.
type Trend struct {
	PerWeek, Low, High quantity.CubicMetrePerHour
	Points             int
	Span               time.Duration
	// Falling is true only if the whole interval lies below zero and the fall over
	// the span is at least 5 % of the flow at its start.
	Falling bool
	// ReachesLow is when the line meets the low limit, if it falls.
	ReachesLow Optional[time.Time]
}

const (
	week              = 7 * 24 * time.Hour
	trendPoints       = 5
	trendSpan         = 2 * week
	trendShare        = 0.05
	trendFurthestLook = 104 * week
)

// FitTrend fits a line through at least five flows over at least two weeks.
func FitTrend(days []DayFlow, limits Limits) (Trend, error) {
	if len(days) < trendPoints {
		return Trend{}, phrase.Errorf("a trend of the flow needs at least %d sessions, there are %d", trendPoints, len(days))
	}
	byTime := func(a, b DayFlow) int { return a.At.Compare(b.At) }
	first, last := slices.MinFunc(days, byTime).At, slices.MaxFunc(days, byTime).At
	x, y := make([]float64, len(days)), make([]float64, len(days))
	for i, d := range days {
		if err := notNegative(phrase.Say("flow"), float64(d.Flow), "m³/h"); err != nil {
			return Trend{}, err
		}
		x[i], y[i] = weeks(d.At.Sub(first)), float64(d.Flow)
	}
	t := Trend{Points: len(days), Span: last.Sub(first)}
	if t.Span < trendSpan {
		return Trend{}, phrase.Errorf("a trend of the flow needs at least two weeks, there are %.0f days", t.Span.Hours()/24)
	}
	fit, err := fitLine(x, y)
	if err != nil {
		return Trend{}, phrase.Errorf("trend of the flow: %w", err)
	}
	t.PerWeek, t.Low, t.High = quantity.CubicMetrePerHour(fit.slope), quantity.CubicMetrePerHour(fit.slope-fit.half),
		quantity.CubicMetrePerHour(fit.slope+fit.half)
	t.Falling = t.High < 0 && -fit.slope*weeks(t.Span) >= trendShare*fit.intercept
	if t.Falling {
		t.ReachesLow = meets(fit, first, last, float64(limits.Low))
	}
	return t, nil
}

// meets gives when a falling line reaches a level, if after a date and within two years.
func meets(fit line, origin, after time.Time, level float64) Optional[time.Time] {
	ahead := (level - fit.intercept) / fit.slope
	if level <= 0 || ahead < weeks(after.Sub(origin)) || ahead > weeks(after.Sub(origin)+trendFurthestLook) {
		return Optional[time.Time]{}
	}
	return Known(origin.Add(time.Duration(ahead * float64(week))))
}

func weeks(d time.Duration) float64 { return float64(d) / float64(week) }

// Sentence says what the trend means.
func (t Trend) Sentence() phrase.Sentence {
	s := phrase.Say("%s a week (%s to %s) from %d sessions over %.0f days", t.PerWeek.To(0.1), t.Low.To(0.1).Bare(), t.High.To(0.1).Bare(),
		t.Points, t.Span.Hours()/24)
	if !t.Falling {
		return phrase.Say("The flow shows no clear decline: %s.", s)
	}
	if at, ok := t.ReachesLow.Get(); ok {
		return phrase.Say("The flow declines: %s, low about %s. Look at the filter and the belt.", s, at.Format(time.DateOnly))
	}
	return phrase.Say("The flow declines: %s. Look at the filter and the belt.", s)
}
