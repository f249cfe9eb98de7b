package breathing_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/breathing"
	"wetside/sensors/quantity/phrase"
)

func second[T any](_ T, err error) error { return err }

func gap(t testing.TB, tape *breathing.Tape, length time.Duration, why string) {
	t.Helper()
	require.NoError(t, tape.Unsampled(length, phrase.Say("%s", why)))
}

// The whole sentence of a finding, for each thing that it may have to tell.
func TestAFindingSaysWhatIsNotKnownAndNothingElse(t *testing.T) {
	judge := func(l breathing.Limit, full float64, v breathing.Vouched, tape breathing.Tape) breathing.Finding {
		f, err := breathing.Gas{Agent: acetic(), Tape: tape, Unit: unit(t, "ppm"), Sensor: breathing.Sensor{FullScale: full}, Vouched: v}.Judge(l)
		require.NoError(t, err)
		return f
	}
	const limit = "acetic acid, Example (2026), short-term average of 10 ppm over 15 min, unverified, check your jurisdiction: "
	l := limitOf(t, breathing.ShortTerm, 15*time.Minute)
	whole := judge(l, 20, breathing.Vouched{}, tapeOf(t, block{15 * time.Minute, 2}))
	require.Equal(t, limit+"within the limit: highest average 2 ppm, read for 100 % of the time.", whole.Sentence.String())
	require.Empty(t, whole.Why.String())

	gaps := tapeOf(t, block{12 * time.Minute, 2})
	for _, why := range []string{"port lost", "probe lifted", "port lost"} {
		gap(t, &gaps, time.Minute, why)
	}
	within := judge(l, 20, breathing.Vouched{}, gaps)
	require.Equal(t, limit+"within the limit: highest average between 1.6 and 5.6 ppm, read for 80 % of the time. Time without readings "+
		"counted as zero at the lowest and as the end of the sensor's range at the highest.", within.Sentence.String())
	require.Empty(t, within.Why.String(), "what is not known is not needed")
	cannot := judge(l, 60, breathing.Vouched{}, gaps)
	require.Equal(t, limit+"can't tell: highest average between 1 and 14 ppm, read for 80 % of the time. Not known: port lost; probe "+
		"lifted. Time without readings counted as zero at the lowest and as the end of the sensor's range at the highest.",
		cannot.Sentence.String())
	require.Equal(t, "Not known: port lost; probe lifted.", cannot.Why.String())
	wide := judge(l, 100, breathing.Vouched{}, gaps)
	require.Equal(t, "can't tell", wide.Figure().String(), "between 1.6 and 21.6: more than ten times")
	require.Contains(t, wide.Sentence.String(), ": can't tell: read for 80 % of the time.")

	none := judge(l, 20, breathing.Vouched{}, breathing.Tape{})
	require.Equal(t, "no data", none.Figure().String())
	require.Equal(t, limit+"can't tell: read for 0 % of the time. Not known: before the first reading. At least 75 % must be read before it "+
		"counts as within the limit.", none.Sentence.String())

	l = limitOf(t, breathing.LongTerm, 8*time.Hour)
	vouched := judge(l, 20, vouchedBy("A. Example"), tapeOf(t, block{3 * time.Hour, 4}))
	const statement = "Of the 8 h, 5.0 h count as zero by the statement of A. Example on 2026-09-01 that nobody was exposed " +
		"outside the class."
	require.Contains(t, vouched.Sentence.String(), "within the limit: highest average 1.5 ppm, read for 100 % of the time. "+statement)
	require.Equal(t, statement, vouched.Why.String())
}

func TestAPartOfTheTimeBelowTheLimitOfDetectionSaysNothingOfTheRest(t *testing.T) {
	var tape breathing.Tape
	require.NoError(t, tape.Sampled(time.Hour, breathing.BelowDetection(0.1)))
	gap(t, &tape, time.Hour, "port lost")
	a, err := tape.Last(2*time.Hour, breathing.FullScale(20))
	require.NoError(t, err)
	require.False(t, a.Below)
	require.Equal(t, "between 0 and 11 ppm", a.Text("ppm").String())

	var rest breathing.Tape
	require.NoError(t, rest.Unexposed(time.Hour, "A. Example"))
	require.NoError(t, rest.Sampled(time.Hour, breathing.BelowDetection(0.1)))
	a, err = rest.Last(2*time.Hour, breathing.FullScale(20))
	require.NoError(t, err)
	require.Equal(t, "below 0.05 ppm", a.Text("ppm").String(), "an hour of at most 0.1 ppm in two")
	require.InDelta(t, 1, a.Coverage, 1e-12, "of the hour with exposure")
}

// A concentration that rises by 1 ppm a minute has an average over 5 minutes that lies 2.5 ppm below it.
func TestAForecastHoldsFarBeyondItsWindow(t *testing.T) {
	var rising []float64
	for i := range 21 {
		rising = append(rising, float64(i))
	}
	at := func(limit float64, base time.Duration, values ...float64) (breathing.Forecast, error) {
		return lay(t, 0, values...).Forecast(limit, 5*time.Minute, base, breathing.WorstObserved())
	}
	for in, limit := range map[time.Duration]float64{0: 17.5 - 0.01, 15 * time.Second: 17.75 - 0.03, 5 * time.Minute: 22.5 - 0.01,
		27*time.Minute + 30*time.Second: 45 - 0.01, time.Hour: 77.5 - 0.01} {
		f, err := at(limit, 5*time.Minute, rising...)
		require.NoError(t, err)
		require.True(t, f.Reached, "%g ppm", limit)
		require.Equal(t, in, f.In, "%g ppm", limit)
	}
	f, err := at(77.5+0.01, 5*time.Minute, rising...)
	require.NoError(t, err)
	require.False(t, f.Reached, "an hour, and no longer")
	f, err = at(0.5, 5*time.Minute, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2)
	require.NoError(t, err)
	require.False(t, f.Reached)

	// The line goes through the latest spans that make up the time, at least two.
	for _, c := range []struct {
		base   time.Duration
		values []float64
		can    bool
	}{{5 * time.Minute, []float64{1, 2, 3, 4, 5, 6}, true}, {5 * time.Minute, []float64{1, 2, 3, 4, 5}, false},
		{2 * time.Minute, []float64{1, 2, 3}, true}, {time.Minute, []float64{1, 2, 3}, false}} {
		require.Equal(t, c.can, second(at(15, c.base, c.values...)) == nil, "%+v", c)
	}
	// What lay before them does not count: steady for a while, and then rising.
	f, err = at(8-0.01, 3*time.Minute, 5, 5, 5, 5, 5, 5, 5, 6, 7, 8)
	require.NoError(t, err)
	require.Equal(t, 2*time.Minute+45*time.Second, f.In, "after 2:30 the five minutes hold 16.75 + 23.125 of 40 ppm·min")
}

func TestASensorBelowOneCountsToo(t *testing.T) {
	small := breathing.Sensor{Detection: 0.05, FullScale: 0.5}
	level, says := small.Level(0.5)
	require.True(t, says)
	require.Equal(t, breathing.OverRange(0.5), level)
	level, says = small.Level(0.49)
	require.True(t, says)
	require.Equal(t, breathing.Measured(0.49), level)
	require.Contains(t, small.Supports(0.6, "ppm", false).String(), "range ends at 0.5 ppm, the limit is 0.6 ppm")
	require.Equal(t, breathing.OverRange(0.5), small.Peak(breathing.Minute{High: 0.5}))
	require.Equal(t, breathing.Measured(0.49), small.Peak(breathing.Minute{High: 0.49}))
	require.NoError(t, second(breathing.MolarVolume(-273, 0.5)))
	require.NoError(t, second(breathing.Mixture([]breathing.Part{{0, 0.5, 0.5}})))
	gas := breathing.Gas{Agent: acetic(), Tape: tapeOf(t, block{time.Hour, 1}), Unit: unit(t, "Pa")}
	mass := limitOf(t, breathing.ShortTerm, time.Hour)
	mass.Unit = unit(t, "mg/m3")
	require.ErrorContains(t, second(gas.Judge(mass)), "expected ppm or mg/m3", "neither a mass nor a volume")
}

// Readings count for the time up to the next, if both are good and no further apart than the longest silence, 30 s.
func TestTheTimeBetweenTwoReadingsIsReadByBoth(t *testing.T) {
	p := probe(breathing.Sensor{Detection: 1, FullScale: 20})
	for _, c := range []struct {
		apart         time.Duration
		first, second bool
		read          time.Duration
	}{{30 * time.Second, true, true, 30 * time.Second}, {31 * time.Second, true, true, 0}, {10 * time.Second, false, true, 0},
		{10 * time.Second, true, false, 10 * time.Second}} {
		course := breathing.Begin(0).Read(p, 0, 12, c.first).Read(p, c.apart, 12, c.second).End(p, time.Minute)
		require.Len(t, course.Minutes(), 1)
		require.Equal(t, c.read, course.Minutes()[0].Known, "%+v", c)
	}
	course := breathing.Begin(0)
	for i, v := range []float64{12, 0.5, 20, 18, 3, 3, 3} {
		course = course.Read(p, time.Duration(i)*10*time.Second, v, true)
	}
	require.Equal(t, []breathing.Minute{minuteOf(40*time.Second, 10*time.Second, 10*time.Second, 20)}, bare(course.Minutes()))
	require.InDelta(t, (12+18+3+3)/4.0, course.Minutes()[0].Mean(), 1e-9)
	require.Equal(t, 1, course.Length())

	two := course.End(p, 2*time.Minute).Minutes()
	peak, err := p.Highest(two)
	require.NoError(t, err)
	require.Equal(t, 2*time.Minute, peak.Length())
	a, err := peak.Peak(breathing.FullScale(20))
	require.NoError(t, err)
	require.InDelta(t, 0.5, a.Coverage, 1e-9, "the second of two minutes was not read")
}

func minuteOf(known, below, over time.Duration, high float64) breathing.Minute {
	return breathing.Minute{Known: known, Below: below, Over: over, High: high}
}

// bare leaves out what only the mean shows.
func bare(minutes []breathing.Minute) (out []breathing.Minute) {
	for _, m := range minutes {
		out = append(out, minuteOf(m.Known, m.Below, m.Over, m.High))
	}
	return out
}
