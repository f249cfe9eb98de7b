package truth_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/truth"
	"wetside/sensors"
)

// heard is a watch that takes a value a beat, and the first finding of a time with when it came.
type heard struct {
	t     *testing.T
	watch *truth.Watch
	book  truth.Book
	of    sensors.ChannelID
	beat  time.Duration
	now   time.Duration
}

func hear(t *testing.T, c sensors.Channel, beat time.Duration) *heard {
	list := []sensors.Channel{c}
	return &heard{t: t, watch: truth.NewWatch(list), book: truth.Open(list), of: c.ID, beat: beat}
}

func (h *heard) says(number int, value func(i int) float64) (first truth.Finding, at time.Duration) {
	for i := range number {
		h.now += h.beat
		h.watch.Take(reading(h.of, value(i), h.now))
		for _, f := range h.watch.Find(h.book, instant(h.now)) {
			if at == 0 {
				first, at = f, h.now
			}
		}
	}
	return first, at
}

func always(v float64) func(int) float64 { return func(int) float64 { return v } }

// A duct velocity that swings to and fro once in a hundred seconds: two turns in a hundred readings leave each value with a
// chance of 0.04 a reading, and a run of 565 comes by chance once in 10 000 000 000 times (ln 1e-10 / ln 0.96 = 564.05).
func TestAFlatLineIsCalledWhenChanceNoLongerExplainsIt(t *testing.T) {
	h := hear(t, channel(t, "VEL", sensors.DuctVelocity), time.Second)
	slow := func(i int) float64 {
		switch {
		case i%100 == 0:
			return 4.01
		case i%100 < 50:
			return 4.05
		}
		return 4
	}
	_, at := h.says(1800, slow)
	require.Zero(t, at)
	after, known := h.watch.FlatAfter("VEL")
	require.True(t, known)
	require.InDelta(t, 564, after.Seconds(), 12)

	stops := h.now
	f, at := h.says(900, always(4.2))
	require.Equal(t, truth.FlatLine, f.What)
	require.InDelta(t, 564, (at - stops).Seconds(), 20)
	require.Equal(t, instant(stops+time.Second).Wall, f.From)
	require.InDelta(t, 0.99, f.Confidence, 1e-9)
	require.Equal(t, "VEL has sent one and the same value for 9 minutes.", f.Text.String())
	require.Contains(t, f.Basis.String(), "swung to and fro 20 times in 1000 readings, so a live probe changes its value in 4 of 100")
}

// One that swings with every reading leaves its value with a chance of 0.9 at most.
func TestAFlatLineTellsHowOftenALiveProbeChangesItsValue(t *testing.T) {
	h := hear(t, channel(t, "VEL", sensors.DuctVelocity), time.Second)
	h.says(1800, func(i int) float64 { return 4 + 0.1*float64(i%4/2)*float64(2-i%2) })
	f, _ := h.says(180, always(4))
	require.Contains(t, f.Basis.String(), "so a live probe changes its value in 90 of 100; now it has not in 12")
}

// A probe of which each reading swings by one from the last, and then by less: of the noise, a tenth is a fall and more is not, and
// in thirty readings the fall has to be larger. Twenty degrees of freedom fall to a fiftieth once in 4e13 times, to a twelfth
// once in 70 000 000 (chi square, worked out).
func TestNoiseIsLostAtATenthAndOnlyBeyondChance(t *testing.T) {
	for _, c := range []struct {
		beat  time.Duration
		share float64
		lost  bool
	}{{time.Second, 0.09, true}, {time.Second, 0.11, false}, {6 * time.Second, 0.02, true}, {6 * time.Second, 0.08, false}} {
		h := hear(t, channel(t, "VEL", sensors.DuctVelocity), c.beat)
		swing := func(by float64) func(int) float64 { return func(i int) float64 { return 4 + by*float64(i%2) } }
		h.says(2, swing(0.01)) // its resolution
		_, at := h.says(int(24*time.Minute/c.beat), swing(1))
		require.Zero(t, at)
		quiet := h.now
		f, at := h.says(int(9*time.Minute/c.beat), swing(math.Sqrt(c.share)))
		require.Equal(t, c.lost, at > 0, "%+v: %v", c, f.Text)
		if c.lost {
			require.Equal(t, truth.LostNoise, f.What)
			require.Less(t, at-quiet, 7*time.Minute)
			require.InDelta(t, 0, f.From.Sub(instant(quiet).Wall).Minutes(), 3.1)
			require.GreaterOrEqual(t, f.From, instant(quiet).Wall)
		}
	}
}

// Two minutes at the end of what a channel can be; a probe of what moves with the air is at rest at its lower one.
func TestAValueAtTheEndOfItsRangeIsStuckAfterTwoMinutes(t *testing.T) {
	bath, duct := channel(t, "DEV", sensors.BathTemperature), channel(t, "VEL", sensors.DuctVelocity)
	room, gas := channel(t, "AIR", sensors.AirTemperature), channel(t, "CO2", sensors.CarbonDioxide)
	for name, c := range map[string]struct {
		channel sensors.Channel
		value   float64
		stuck   bool
	}{
		"upper end": {bath, bath.Plausible.High, true}, "lower end": {bath, bath.Plausible.Low, true},
		"near it": {bath, bath.Plausible.High - 0.01, false}, "above the lower": {bath, bath.Plausible.Low + 0.01, false},
		"frost": {room, room.Plausible.Low, true},
		"air":   {duct, duct.Plausible.High, true}, "still air": {duct, duct.Plausible.Low, false},
		"a contact":                         {channel(t, "FAN", sensors.FanCommand), 1, false},
		"a gas, of which there may be more": {gas, gas.Plausible.High, false},
	} {
		h := hear(t, c.channel, time.Second)
		f, at := h.says(130, always(c.value))
		require.Equal(t, c.stuck, at > 0, name)
		if c.stuck {
			require.Equal(t, truth.EndStop, f.What, name)
			require.InDelta(t, 125, at.Seconds(), 5, name)
		}
	}
}

func TestTwoReferencesAreFarEnoughApartInBoth(t *testing.T) {
	point := func(raw, is float64) truth.Point { return truth.Point{Raw: raw, True: is} }
	for _, c := range []struct {
		a, b truth.Point
		can  bool
	}{{point(0, 0), point(5, 5), true}, {point(0, 0), point(4.9, 5), false}, {point(0, 0), point(5, 4.9), false},
		{point(0, 0), point(-5, -5), true}, {point(0, 0), point(20, 10), true}, {point(0, 0), point(20, 9.9), false},
		{point(0, 0), point(10, 20), true}, {point(0, 0), point(10, 20.1), false}} {
		_, _, err := truth.Through(c.a, c.b)
		require.Equal(t, c.can, err == nil, "%+v", c)
	}
}

func TestActsOnAProbeHaveTheirLimits(t *testing.T) {
	b := truth.Open(room(t))
	b = do(t, b, truth.FitProbe{Channel: "DEV", Probe: "P-1", Accuracy: 0.3, From: start()}, stamp(1, day))
	now, range_ := stamp(2, 10*day), channel(t, "DEV", sensors.BathTemperature).Plausible
	span := range_.High - range_.Low
	correction := func(slope, offset float64, from time.Time) truth.Act {
		return truth.SetCorrection{Channel: "DEV", Slope: slope, Offset: offset, From: from, Why: "read against ice"}
	}
	fit := func(accuracy float64, from time.Time) truth.Act {
		return truth.FitProbe{Channel: "DEV", Probe: "P-2", Accuracy: accuracy, From: from}
	}
	hand := func(value, uncertainty float64) truth.Act {
		return truth.HandReading{Channel: "DEV", Value: value, With: "glass", Uncertainty: uncertainty}
	}
	check := func(change func(*truth.CheckProbe)) truth.Act {
		a := truth.CheckProbe{Channel: "DEV", Method: truth.Reference, Instrument: "R-1", Reference: 20, AsFound: 20}
		change(&a)
		return a
	}
	left := range_.Low - span
	for name, c := range map[string]struct {
		act truth.Act
		can bool
	}{
		"slope 0.5": {correction(0.5, 0, time.Time{}), true}, "below": {correction(0.49, 0, time.Time{}), false},
		"slope 2": {correction(2, 0, time.Time{}), true}, "above": {correction(2.01, 0, time.Time{}), false},
		"the whole span off": {correction(1, -span, time.Time{}), true}, "more": {correction(1, span+0.1, time.Time{}), false},
		"of the air, from -10 °C to 50 °C": {truth.SetCorrection{Channel: "AIR", Slope: 1, Offset: 60, Why: "compared"}, true},
		"of the air, more":                 {truth.SetCorrection{Channel: "AIR", Slope: 1, Offset: 60.1, Why: "compared"}, false},
		"five years back":                  {correction(1, 0, now.At.AddDate(-5, 0, 0)), true},
		"more than five years":             {correction(1, 0, now.At.AddDate(-5, 0, 0).Add(-time.Second)), false},
		"a minute ahead":                   {correction(1, 0, now.At.Add(time.Minute)), true},
		"more than a minute":               {correction(1, 0, now.At.Add(time.Minute+1)), false},
		"as sure as can be":                {fit(0, time.Time{}), true}, "less than that": {fit(-0.1, time.Time{}), false},
		"as unsure as can be": {fit(span, time.Time{}), true}, "more unsure": {fit(span+0.1, time.Time{}), false},
		"with the last change": {fit(0.5, start()), true}, "before it": {fit(0.5, start().Add(-1)), false},
		"by hand, a quarter": {hand(20, span/4), true}, "more than a quarter": {hand(20, span/4+0.1), false},
		"by hand, at the end": {hand(range_.High, 0), true}, "by hand, beyond": {hand(range_.High+0.1, 0), false},
		"found far off":       {check(func(c *truth.CheckProbe) { c.AsFound = range_.High + span }), true},
		"found farther off":   {check(func(c *truth.CheckProbe) { c.AsFound = range_.High + span + 0.1 }), false},
		"left far off":        {check(func(c *truth.CheckProbe) { c.AsLeft = &left }), true},
		"reference as unsure": {check(func(c *truth.CheckProbe) { c.Uncertainty = span }), true},
		"more unsure still":   {check(func(c *truth.CheckProbe) { c.Uncertainty = span + 0.1 }), false},
		"a quarter corrected": {check(func(c *truth.CheckProbe) { c.Correct, c.AsFound = true, 20-span/4 }), true},
		"more corrected":      {check(func(c *truth.CheckProbe) { c.Correct, c.AsFound = true, 20-span/4-0.1 }), false},
		"more, not corrected": {check(func(c *truth.CheckProbe) { c.AsFound = 20 - span/4 - 0.1 }), true},
		"due at once":         {check(func(c *truth.CheckProbe) { c.Next = now.At }), false},
		"due a moment later":  {check(func(c *truth.CheckProbe) { c.Next = now.At.Add(1) }), true},
		"due in ten years":    {check(func(c *truth.CheckProbe) { c.Next = now.At.Add(10 * 366 * day) }), true},
		"due later":           {check(func(c *truth.CheckProbe) { c.Next = now.At.Add(10*366*day + 1) }), false},
		"no instrument in ice": {check(func(c *truth.CheckProbe) {
			c.Method, c.Instrument, c.Reference, c.AsFound = truth.IcePoint, "", 0, 0
		}), true},
		"no zero of a bath": {check(func(c *truth.CheckProbe) { c.Method, c.Reference = truth.ZeroPoint, 0 }), false},
		"zero of a gas":     {truth.CheckProbe{Channel: "SO2", Method: truth.ZeroPoint}, true},
		"zero at one":       {truth.CheckProbe{Channel: "SO2", Method: truth.ZeroPoint, Reference: 1}, false},
	} {
		require.Equal(t, c.can, b.Check(c.act, now) == nil, "%s: %v", name, b.Check(c.act, now))
	}
}

// An ice point and a comparison of one device, within 31 days, make a slope.
func TestASlopeIsSuggestedByTwoChecksThatBelongTogether(t *testing.T) {
	ice := truth.CheckProbe{Channel: "DEV", Method: truth.IcePoint, AsFound: 0.4}
	warm := truth.CheckProbe{Channel: "DEV", Method: truth.Reference, Instrument: "R-1", Reference: 20, AsFound: 20.8}
	fitted := do(t, truth.Open(room(t)), truth.FitProbe{Channel: "DEV", Probe: "P-1"}, stamp(1, 0))
	suggested := func(b truth.Book) bool { _, _, ok := life(t, b, "DEV").Suggested(); return ok }
	first := do(t, fitted, ice, stamp(2, day))
	require.True(t, suggested(do(t, first, warm, stamp(3, 32*day))))
	require.False(t, suggested(do(t, first, warm, stamp(3, 32*day+1))), "longer than 31 days ago")
	again := do(t, first, ice, stamp(3, 2*day))
	require.False(t, suggested(again), "twice in ice")
	require.True(t, suggested(do(t, do(t, first, warm, stamp(3, 2*day)), warm, stamp(4, 3*day))), "the one before the last is looked past")
	other := do(t, first, truth.FitProbe{Channel: "DEV", Probe: "P-2"}, stamp(3, 2*day))
	require.False(t, suggested(do(t, other, warm, stamp(4, 3*day))), "another device was in the ice")
	near := warm
	near.Reference, near.AsFound = 4, 4.4
	require.False(t, suggested(do(t, first, near, stamp(3, 2*day))), "too near to each other")
}

func TestTheLastCheckIsThatOfTheDeviceThatIsFitted(t *testing.T) {
	ice := truth.CheckProbe{Channel: "DEV", Method: truth.IcePoint, AsFound: 0.1, Next: start().Add(90 * day)}
	b := do(t, truth.Open(room(t)), truth.FitProbe{Channel: "DEV", Probe: "P-1", Accuracy: 0.2}, stamp(1, 0))
	b = do(t, b, ice, stamp(2, 5*day))
	c, ok := life(t, b, "DEV").Last()
	require.True(t, ok)
	require.True(t, c.Verdict.Known)
	for from, counts := range map[time.Duration]bool{5 * day: true, 5*day + time.Second: false} { // fitted with the check, and after it
		exchanged := do(t, b, truth.FitProbe{Channel: "DEV", Probe: "P-2", From: start().Add(from)}, stamp(3, 6*day))
		_, ok := life(t, exchanged, "DEV").Last()
		require.Equal(t, counts, ok, from)
		_, _, due := life(t, exchanged, "DEV").Due(start())
		require.Equal(t, counts, due)
		_, ok = life(t, exchanged, "DEV").LastBefore(start().Add(7 * day))
		require.Equal(t, counts, ok)
		_, ok = life(t, exchanged, "DEV").LastBefore(start().Add(5*day + 1))
		require.True(t, ok, "the check was of the device of then")
	}
	_, ok = life(t, b, "DEV").LastBefore(start().Add(5 * day))
	require.False(t, ok, "before, and not at")
	out := do(t, b, truth.RemoveProbe{Channel: "DEV", Why: "broken"}, stamp(3, 6*day))
	_, _, due := life(t, out, "DEV").Due(start())
	require.False(t, due)
	require.NotContains(t, out.Unchecked(start().Add(9*day)), life(t, out, "DEV").Channel)
	require.Len(t, truth.Open(room(t)).Unchecked(start()), len(room(t)))
	require.Len(t, b.Unchecked(start().Add(9*day)), len(room(t))-1)
}

func TestEveryKindHasItsMethods(t *testing.T) {
	for kind, want := range map[sensors.Kind][]truth.Method{
		sensors.FanCommand:      {truth.Switching},
		sensors.BathTemperature: {truth.IcePoint, truth.Reference},
		sensors.AirTemperature:  {truth.IcePoint, truth.Reference},
		sensors.DuctVelocity:    {truth.ZeroPoint, truth.Reference},
		sensors.SulfurDioxide:   {truth.ZeroPoint, truth.Reference}, sensors.RelativeHumidity: {truth.Reference},
	} {
		require.Equal(t, want, truth.Methods(kind), kind)
	}
}

// Comparisons of a probe good to 0.3 with a thermometer good to 0.1: 0.4 may lie between them. Without scatter there is no doubt.
func TestADriftIsWhatAccuracyDoesNotExplain(t *testing.T) {
	drift := func(number int, days, off, rises float64) (truth.Finding, bool) {
		b := do(t, truth.Open(room(t)), truth.FitProbe{Channel: "DEV", Probe: "P-1", Accuracy: 0.3}, stamp(1, 0))
		for i := range number {
			share := float64(i) / float64(number-1)
			raw := 20 + off + rises*share
			b = do(t, b, truth.HandReading{Channel: "DEV", Value: 20, With: "glass", Uncertainty: 0.1, Raw: &raw},
				stamp(uint64(i+2), time.Duration(share*days*float64(day))))
		}
		return truth.DriftOf(life(t, b, "DEV"))
	}
	for _, c := range []struct {
		number           int
		days, off, rises float64
		says             string
	}{
		{5, 3, 0.41, 0, "reads off by +0.41 K"}, {5, 3, -0.41, 0, "reads off by -0.41 K"}, {5, 3, 0.39, 0, ""},
		{4, 3, 0.41, 0, ""}, {5, 2.9, 0.41, 0, ""},
		{5, 3, 0, 0.41, "has drifted against hand readings by +0.41 K in 3 days"}, {5, 3, 0, 0.39, ""},
		{5, 3, 0, -0.41, "has drifted against hand readings by -0.41 K in 3 days"},
	} {
		f, ok := drift(c.number, c.days, c.off, c.rises)
		require.Equal(t, c.says != "", ok, "%+v", c)
		require.Contains(t, f.Text.String(), c.says, "%+v", c)
	}
	// A probe of which no accuracy is stated may be off by five steps of 0.1; before it was fitted another was, and without a reading of
	// the probe there is nothing to compare.
	for off, found := range map[float64]bool{0.49: false, 0.51: true} {
		raw := 20 + off
		b := do(t, truth.Open(room(t)), truth.FitProbe{Channel: "DEV", Probe: "P-0"}, stamp(1, 0))
		for i := range 5 {
			far := 25.0
			b = do(t, b, truth.HandReading{Channel: "DEV", Value: 20, With: "glass", Raw: &far}, stamp(uint64(i+2), time.Duration(i)*day))
		}
		b = do(t, b, truth.FitProbe{Channel: "DEV", Probe: "P-1"}, stamp(8, 5*day))
		for i := range 10 {
			h := truth.HandReading{Channel: "DEV", Value: 20, With: "glass"}
			if i != 5 {
				h.Raw = &raw
			}
			b = do(t, b, h, stamp(uint64(i+9), time.Duration(6+i)*day))
		}
		_, ok := truth.DriftOf(life(t, b, "DEV"))
		require.Equal(t, found, ok, off)
	}
	// Nine differences of 0.6 that scatter by 0.1: student's t for 99 % and 8 degrees of freedom is 3.355 (published tables).
	b := do(t, truth.Open(room(t)), truth.FitProbe{Channel: "DEV", Probe: "P-1", Accuracy: 0.3}, stamp(1, 0))
	for i, off := range []float64{0.1, -0.1, 0.1, -0.1, 0, -0.1, 0.1, -0.1, 0.1} {
		raw := 20.6 + off
		b = do(t, b, truth.HandReading{Channel: "DEV", Value: 20, With: "glass", Uncertainty: 0.1, Raw: &raw},
			stamp(uint64(i+2), time.Duration(i)*day))
	}
	f, ok := truth.DriftOf(life(t, b, "DEV"))
	require.True(t, ok)
	require.Equal(t, "9 comparisons; their mean difference lies between +0.49 and +0.71 with 99 % confidence; probe and thermometer may "+
		"differ by 0.40 anyway", f.Basis.String())
}

// Nine differences that rise by 0.1 a day and scatter by 0.1: student's t for 99 % and 7 degrees of freedom is 3.499 (published tables);
// the standard error of the slope, 0.0138, is worked out apart.
func TestADriftIsStatedWithTheIntervalOfItsSlope(t *testing.T) {
	b := do(t, truth.Open(room(t)), truth.FitProbe{Channel: "DEV", Probe: "P-1", Accuracy: 0.3}, stamp(1, 0))
	for i, off := range []float64{0.1, -0.1, 0.1, -0.1, 0, -0.1, 0.1, -0.1, 0.1} {
		raw := 20 + 0.1*float64(i) + off
		b = do(t, b, truth.HandReading{Channel: "DEV", Value: 20, With: "glass", Uncertainty: 0.1, Raw: &raw},
			stamp(uint64(i+2), time.Duration(i)*day))
	}
	f, ok := truth.DriftOf(life(t, b, "DEV"))
	require.True(t, ok)
	require.Equal(t, "9 comparisons; the line through their differences changes by +0.100 a day, between +0.052 and +0.148 with 99 % "+
		"confidence; probe and thermometer may differ by 0.40 anyway", f.Basis.String())
	found := truth.NewWatch(room(t)).Find(b, instant(time.Hour))
	require.Len(t, found, 1)
	require.Equal(t, truth.Drift, found[0].What)
}

func TestAHandReadingBesideASilentProbeHasNoneToCompare(t *testing.T) {
	c := channel(t, "DEV", sensors.BathTemperature)
	act := truth.HandReading{Channel: "DEV", Value: 20, With: "glass"}
	for name, r := range map[string]struct {
		reading sensors.Reading
		has     bool
	}{
		"as old as may be": {reading("DEV", 20.4, time.Hour-c.Silence), true},
		"older":            {reading("DEV", 20.4, time.Hour-c.Silence-1), false},
		"of another":       {reading("STP", 20.4, time.Hour), false},
		"no number":        {reading("DEV", math.NaN(), time.Hour), false},
		"doubted":          {sensors.Reading{Channel: "DEV", At: instant(time.Hour), Raw: 20.4, Grade: sensors.Suspect}, true},
		"missing":          {sensors.Reading{Channel: "DEV", At: instant(time.Hour), Raw: 20.4, Grade: sensors.Missing}, false},
	} {
		h, ok := truth.Beside(act, c, r.reading, instant(time.Hour)).(truth.HandReading)
		require.True(t, ok)
		require.Equal(t, r.has, h.Raw != nil, name)
		said := h.What(func(sensors.ChannelID) string { return "Developer" }).String()
		require.Equal(t, r.has, said == "a hand reading at Developer was recorded beside the reading of the probe", said)
	}
}

// When a doubt is over: by the readings themselves, by another device, or by a person who put the probe right.
func TestADoubtEndsWithTheFirstThatEndsIt(t *testing.T) {
	at := func(m int) time.Time { return start().Add(time.Duration(m) * time.Minute) }
	f := truth.Finding{ID: "a", What: truth.FlatLine, Channels: []sensors.ChannelID{"VEL"}, From: at(10), Confidence: 0.9, Doubts: true}
	over := f
	over.To = at(30)
	confirm := func(still bool) truth.Act { return truth.ConfirmFinding{Finding: f, Why: "seen", Still: still} }
	person := truth.Stamp{Person: "Ida", At: at(20)}
	for name, c := range map[string]struct {
		book truth.Book
		to   time.Time
	}{
		"it lasts":          {truth.Open(room(t)).Offered(f), time.Time{}},
		"by itself":         {truth.Open(room(t)).Offered(over), at(30)},
		"put right":         {truth.Open(room(t)).Offered(f).With(confirm(false), person), at(20)},
		"put right earlier": {truth.Open(room(t)).Offered(over).With(confirm(false), person), at(20)},
		"still wrong":       {truth.Open(room(t)).Offered(f).With(confirm(true), person), time.Time{}},
		"exchanged": {truth.Open(room(t)).Offered(f).With(truth.FitProbe{Channel: "VEL", Probe: "P-1", From: at(15)}, person),
			at(15)},
		"fitted before": {truth.Open(room(t)).Offered(f).With(truth.FitProbe{Channel: "VEL", Probe: "P-1", From: at(10)}, person),
			time.Time{}},
		"another's device": {truth.Open(room(t)).Offered(f).With(truth.FitProbe{Channel: "DEV", Probe: "P-1", From: at(15)}, person),
			time.Time{}},
	} {
		doubts := c.book.Doubts("VEL")
		require.Len(t, doubts, 1, name)
		require.Equal(t, c.to, doubts[0].To, name)
		_, suspected := c.book.Suspected("VEL")
		require.Equal(t, c.to.IsZero(), suspected, name)
		r := c.book.Unbelieved(reading("VEL", 4, time.Hour))
		require.Equal(t, c.to.IsZero(), r.Grade == sensors.Suspect, name)
	}
	d := truth.Doubt{From: at(10), To: at(20)}
	for span, touches := range map[[2]int]bool{{0, 10}: false, {0, 11}: true, {19, 30}: true, {20, 30}: false, {12, 13}: true} {
		require.Equal(t, touches, d.Touches(at(span[0]), at(span[1])), span)
	}
	require.True(t, truth.Doubt{From: at(10)}.Touches(at(50), at(60)), "it lasts")
	require.Equal(t, "flat line, 90 % likely", truth.Doubt{Finding: f}.Why().String())

	again := truth.Open(room(t)).Offered(f).With(confirm(true), person)
	require.NoError(t, again.Check(confirm(false), person), "what was still wrong may be put right later")
	dismissed := truth.Open(room(t)).Offered(f).With(truth.DismissFinding{Finding: f, Why: "still air"}, person)
	require.Empty(t, dismissed.Doubts("VEL"))
}

// Ten readings over the last two minutes, at least from their first fifth to their last quarter, in steps of 0.1.
func TestSteadyIsNeitherTrendNorScatterOverTwoMinutes(t *testing.T) {
	readings := func(first, last time.Duration, number int, trend, scatter float64) []truth.Moment {
		var list []truth.Moment
		for i := range number {
			share := float64(i) / float64(number-1)
			age := first - time.Duration(share*float64(first-last))
			list = append(list, truth.Moment{At: start().Add(-age), Value: 20 + trend*share + scatter*float64(1-2*(i%2))})
		}
		return list
	}
	s := time.Second
	for name, c := range map[string]struct {
		list          []truth.Moment
		known, steady bool
	}{
		"all of it":        {readings(120*s, 0, 21, 0, 0), true, true},
		"ten":              {readings(120*s, 0, 10, 0, 0), true, true},
		"nine":             {readings(120*s, 0, 9, 0, 0), false, false},
		"from 96 s":        {readings(96*s, 0, 20, 0, 0), true, true},
		"from 95 s":        {readings(95*s, 0, 20, 0, 0), false, false},
		"until 30 s":       {readings(120*s, 30*s, 20, 0, 0), true, true},
		"until 31 s":       {readings(120*s, 31*s, 20, 0, 0), false, false},
		"a tenth in it":    {readings(120*s, 0, 21, 0.099, 0), true, true},
		"more than that":   {readings(120*s, 0, 21, -0.101, 0), true, false},
		"scatters by 0.19": {readings(120*s, 0, 200, 0, 0.19), true, true},
		"by 0.21":          {readings(120*s, 0, 200, 0, 0.21), true, false},
	} {
		got := truth.Steady(c.list, start(), 0.1)
		require.Equal(t, c.known, got.Known, name)
		require.Equal(t, c.steady, got.Steady, name)
		require.Equal(t, len(c.list), got.N, name)
	}
}
