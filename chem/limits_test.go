package chem_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// The published times, each read where its source says (the standing of each is beside it in the program).
func TestThePublishedTimesOfEachStage(t *testing.T) {
	s, m := time.Second, time.Minute
	for _, c := range []struct {
		way  chem.Way
		want []chem.StageTime
	}{
		{chem.Way{Paper: chem.ResinCoated}, []chem.StageTime{{Stage: chem.Stopping, Time: 10 * s},
			{Stage: chem.FirstFixing, Time: 30 * s, Most: 2 * m}, {Stage: chem.Washing, Time: 2 * m}}},
		{chem.Way{Paper: chem.FibreSingleWeight}, []chem.StageTime{{Stage: chem.Stopping, Time: m},
			{Stage: chem.FirstFixing, Time: 5 * m, Most: 10 * m}, {Stage: chem.Washing, Time: 60 * m}}},
		{chem.Way{Paper: chem.FibreDoubleWeight, TwoBaths: true, WashAid: true}, []chem.StageTime{{Stage: chem.Stopping, Time: m},
			{Stage: chem.FirstFixing, Time: 3 * m, Most: 5 * m}, {Stage: chem.SecondFixing, Time: 3 * m, Most: 5 * m},
			{Stage: chem.Rinsing, Time: 5 * m}, {Stage: chem.WashAiding, Time: 3 * m}, {Stage: chem.Washing, Time: 20 * m}}},
	} {
		var got []chem.StageTime
		for _, each := range chem.PublishedTimes(c.way) {
			got = append(got, chem.StageTime{Stage: each.Stage, Time: each.Time, Most: each.Most})
		}
		require.Equal(t, c.want, got, "%+v", c.way)
	}
}

// US Army TM 11-2323 and MD0954: from 35 to 75 °F.
func TestTheBathsBehindTheDeveloperHaveTheirLimits(t *testing.T) {
	w := chem.Way{Paper: chem.FibreDoubleWeight}
	for f, says := range map[float64]string{34.9: "colder than any published time", 35: "", 75: "", 75.1: "the gelatin softens"} {
		got := stage(t, lineAt(w, quantity.FromFahrenheit(f)), chem.Washing).Refusal.String()
		require.Equal(t, says == "", got == "", "%v °F: %s", f, got)
		require.Contains(t, got, says)
	}
	require.Contains(t, stage(t, lineAt(w, 25), chem.Washing).Refusal.String(), "above 23.9 °C")
	require.Contains(t, stage(t, lineAt(w, 1.2), chem.Washing).Refusal.String(), "1.2 °C is colder")
	require.Contains(t, stage(t, lineAt(w, 10), chem.Washing).Causes[0].String(), "10.0 °C instead of 20 °C")
	require.Empty(t, stage(t, lineAt(w, 20), chem.Washing).Causes)
	require.Contains(t, stage(t, lineAt(w, 9.9), chem.FirstFixing).Refusal.String(), "the print would need 10:04")
}

// A clearing time that was taken once, fresh or now, tells nothing about how the bath has aged.
func TestOneClearingTimeAloneTellsNothing(t *testing.T) {
	l := lineAt(chem.Way{Paper: chem.FibreDoubleWeight}, 20)
	for _, c := range []struct{ fresh, now time.Duration }{{30 * time.Second, 0}, {0, 30 * time.Second},
		{30 * time.Second, 30 * time.Second}} {
		l.ClearingFresh, l.ClearingNow = c.fresh, c.now
		fix := stage(t, l, chem.FirstFixing)
		require.Equal(t, 5*time.Minute, fix.Time)
		require.Empty(t, fix.Causes)
	}
	l.ClearingFresh, l.ClearingNow = 30*time.Second, 59*time.Second
	require.Equal(t, 590*time.Second, stage(t, l, chem.FirstFixing).Time)
	l.PaperClears, l.ClearingFresh = 301*time.Second, 0
	require.Contains(t, stage(t, l, chem.FirstFixing).Refusal.String(), "should not lie there for more than 10:00", "twice 301 s")
	own := l
	own.Own = []chem.StageTime{{Stage: chem.FirstFixing, Time: 20 * time.Minute}}
	require.Equal(t, 630*time.Second, stage(t, own, chem.FirstFixing).Time, "nobody says how long is too long")
	l.PaperClears = 30 * time.Second
	require.Equal(t, time.Minute, stage(t, l, chem.FirstFixing).Time)
	require.Equal(t, chem.Secondary, stage(t, l, chem.FirstFixing).Standing)
}

func TestWhatCannotBeMixedTimedOrReadIsRefusedAtItsLimit(t *testing.T) {
	for _, c := range []struct {
		what string
		can  bool
		err  error
	}{
		{"a hundredth of a hundredth of a part", true, second(chem.NewParts(1e-4, 0))},
		{"less", false, second(chem.NewParts(0.9e-4, 0))},
		{"ten thousand parts", true, second(chem.NewParts(1e4, 1e4))},
		{"more concentrate", false, second(chem.NewParts(1.01e4, 1))},
		{"more water", false, second(chem.NewParts(1, 1.01e4))},
		{"less than no water", false, second(chem.NewParts(1, -0.5))},
		{"100,000 litres", true, second(parts(t, "1+1").Plan(1e8))},
		{"more litres", false, second(parts(t, "1+1").Plan(1.01e8))},
		{"neat", true, second(chem.PercentPlan(100, 100, 1))},
		{"half a per cent", true, second(chem.PercentPlan(0.5, 0.5, 1))},
		{"half a per cent wanted of none", false, second(chem.PercentPlan(0, 0, 1))},
		{"above a hundred", false, second(chem.PercentPlan(100.5, 1, 1))},
		{"5 mm", true, second(chem.ParseSheet("0.5x0.5cm"))},
		{"4.9 mm wide", false, second(chem.ParseSheet("0.49x1cm"))},
		{"4.9 mm high", false, second(chem.ParseSheet("1x0.49cm"))},
		{"3 m", true, second(chem.ParseSheet("3x3m"))},
		{"3.01 m wide", false, second(chem.ParseSheet("3.01x1m"))},
		{"3.01 m high", false, second(chem.ParseSheet("1x3.01m"))},
		{"a day", true, second(chem.ParseTime("1440:00"))},
		{"longer", false, second(chem.ParseTime("1440:01"))},
		{"a factor of 1.1", true, second(chem.NewFactor(1.1, phrase.Say("x")))},
		{"a factor of one", false, second(chem.NewFactor(1, phrase.Say("x")))},
		{"a factor of 200", true, second(chem.NewFactor(200, phrase.Say("x")))},
		{"more than 200", false, second(chem.NewFactor(200.5, phrase.Say("x")))},
		{"an unknown factor", false, second(chem.Factor{Value: 1}.Time(time.Second))},
		{"half a part", true, second(chem.Mixed(chem.Share{Factor: factor(t, 6), Parts: 0.5}))},
		{"no part of one agent", false, second(chem.Mixed(chem.Share{Factor: factor(t, 6), Parts: 1}, chem.Share{Factor: factor(t, 6)}))},
		{"no factor of one agent", false, second(chem.Mixed(chem.Share{Factor: factor(t, 6), Parts: 1},
			chem.Share{Factor: chem.Factor{Value: 1}, Parts: 1}))},
		{"nobody", false, second(chem.Booking{SheetsEach: 1, Sheet: sheet(t, "8x10in")}.Area())},
		{"no sheets", false, second(chem.Booking{Students: 1, Sheet: sheet(t, "8x10in")}.Area())},
		{"no size", false, second(chem.Booking{Students: 1, SheetsEach: 1}.Area())},
		{"a size", true, second(chem.Booking{Students: 1, SheetsEach: 1, Sheet: sheet(t, "8x10in")}.Area())},
	} {
		require.Equal(t, c.can, c.err == nil, "%s: %v", c.what, c.err)
	}
	_, err := parts(t, "1+1").Plan(1.01e8)
	require.ErrorContains(t, err, "at most 100000 L")
	require.ErrorContains(t, second(chem.PercentPlan(0, 0, 1)), "0 % is not a solution to dilute")
	thirds, err := chem.NewParts(1.0/3, 2.0/3)
	require.NoError(t, err)
	require.Equal(t, "0.3333+0.6667", thirds.String())
}

func second[T any](_ T, err error) error { return err }

func TestAFilmRuleNeedsAllItsFigures(t *testing.T) {
	good := chem.Reuse{Added: 0.1, Every: 1, Most: 1, Source: "x"}
	for _, c := range []struct {
		change func(*chem.Reuse)
		can    bool
	}{
		{func(*chem.Reuse) {}, true}, {func(r *chem.Reuse) { r.Added = 0 }, true}, {func(r *chem.Reuse) { r.Added = 1 }, true},
		{func(r *chem.Reuse) { r.Added = 1.1 }, false}, {func(r *chem.Reuse) { r.Added = -0.1 }, false},
		{func(r *chem.Reuse) { r.Every = 0 }, false}, {func(r *chem.Reuse) { r.Most = 0 }, false},
		{func(r *chem.Reuse) { r.Source = " " }, false},
	} {
		r := good
		c.change(&r)
		_, err := r.Factor(1)
		require.Equal(t, c.can, err == nil, "%+v", r)
	}
	for _, c := range []struct {
		idle       chem.Idle
		tank, days float64
		want       float64
	}{{chem.Idle{Share: 100, Days: 0.5}, 0.5, 0.5, 0.5}, {chem.Idle{Share: 0.5, Days: 1}, 1000, 0, 0},
		{chem.Idle{Share: 3, Days: 2}, 1000, 5, 75},
		{chem.Idle{Share: 101, Days: 1}, 1, 1, -1}, {chem.Idle{Days: 1}, 1, 1, -1}, {chem.Idle{Share: 1}, 1, 1, -1},
		{chem.Idle{Share: 1, Days: 1}, 0, 1, -1}, {chem.Idle{Share: 1, Days: 1}, 1, -1, -1}} {
		add, err := c.idle.Add(quantity.Millilitre(c.tank), c.days)
		require.Equal(t, c.want < 0, err != nil, "%+v", c)
		require.InDelta(t, max(c.want, 0), float64(add), 1e-9, "%+v", c)
	}
	for _, r := range []chem.Replenisher{{}, {PerRoll: -1}} {
		require.Error(t, second(r.After(1)))
	}
	require.NoError(t, second(chem.Replenisher{PerRoll: 0.5}.After(0.5)))
	require.Error(t, second(chem.Replenisher{PerRoll: 1}.After(quantity.SquareMetre(math.Inf(1)))))
	whole := chem.Machine{Path: 0.5, Dwell: 1, PerMetre: 0.5}
	require.NoError(t, second(whole.PerMinute()))
	for _, spoil := range []func(*chem.Machine){func(m *chem.Machine) { m.Path = 0 }, func(m *chem.Machine) { m.Dwell = 0 },
		func(m *chem.Machine) { m.PerMetre = 0 }} {
		m := whole
		spoil(&m)
		require.Error(t, second(m.PerMinute()))
	}
}

func TestTheEndsOfTheTwoTapsCanBeReached(t *testing.T) {
	for target, hot := range map[quantity.Celsius]float64{10: 0, 50: 1000} {
		blend, err := chem.Taps{Hot: 50, Cold: 10, Target: target}.Blend(1000)
		require.NoError(t, err)
		require.InDelta(t, hot, float64(blend.Hot), 1e-9)
		require.InDelta(t, 1000-hot, float64(blend.Cold), 1e-9)
	}
	plan, err := parts(t, "1+1").Plan(1000)
	require.NoError(t, err)
	for shelf, can := range map[quantity.Celsius]bool{9: false, 10: true, 30: true, 31: false} { // the water has to be 40 °C less the shelf
		_, err := chem.Taps{Hot: 30, Cold: 10, Target: 20}.BlendFor(plan, shelf)
		require.Equal(t, can, err == nil, "%v °C: %v", shelf, err)
	}
	_, err = chem.Taps{Hot: 30, Cold: 10, Target: 20}.BlendFor(plan, 7.8)
	require.EqualError(t, err, "the water would have to be 32.2 °C, and the taps give 10.0 to 30.0 °C")
	for c, can := range map[quantity.Celsius]bool{-0.1: false, 0: true, 0.5: true, 100: true, 100.1: false} {
		_, err := chem.MixTemperature(chem.VolumeAt{Volume: 0.5, Temperature: c})
		require.Equal(t, can, err == nil, "%v °C", c)
	}
	require.Error(t, second(chem.Taps{Hot: 20, Cold: 20, Target: 20}.Blend(1)))
	require.NoError(t, second(chem.Taps{Hot: 20.5, Cold: 20, Target: 20}.Blend(0.5)))
	require.Error(t, second(chem.Taps{Hot: 30, Cold: 20, Target: 20}.Blend(quantity.Millilitre(math.Inf(1)))))
	require.Error(t, second(chem.MixTemperature(chem.VolumeAt{Volume: quantity.Millilitre(math.Inf(1)), Temperature: 20})))
	bath := chem.VolumeAt{Volume: 1000, Temperature: 20}
	none, err := chem.Jacket(bath, 20, 15)
	require.NoError(t, err)
	require.Zero(t, none)
	_, err = chem.Jacket(bath, 21, 21)
	require.ErrorContains(t, err, "water at 21.0 °C cannot warm a bath to 21.0 °C")
	require.Error(t, second(chem.Jacket(bath, 21, 101)))
}

func TestADoubtNamesItsFigures(t *testing.T) {
	pair := func(at20, at30 float64) []string {
		table, err := chem.NewTable("invented", []chem.Point{{At: 20, Time: inMinutes(at20)}, {At: 30, Time: inMinutes(at30)}})
		require.NoError(t, err)
		var said []string
		for _, d := range table.Doubts() {
			said = append(said, d.String())
		}
		return said
	}
	require.Empty(t, pair(10, 10*math.Exp(-0.41)))
	require.Equal(t, []string{"the times change by 3.9 % per °C; published tables have 4 to 12.5 %: check for a misprint"},
		pair(10, 10*math.Exp(-0.39)))
	require.Empty(t, pair(10, 10*math.Exp(-1.24)))
	require.Len(t, pair(10, 10*math.Exp(-1.26)), 1)
	require.Len(t, pair(10, 10), 1, "as long at 30 as at 20 °C is flat, and not longer")

	table, err := chem.NewTable("invented", []chem.Point{{At: 19, Time: inMinutes(10 * math.Exp(0.08))},
		{At: 20, Time: inMinutes(10 * math.Exp(0.15))},
		{At: 21, Time: inMinutes(10 * math.Exp(-0.08))}})
	require.NoError(t, err)
	require.Contains(t, table.Doubts()[len(table.Doubts())-1].String(), "20 °C 11:37 lies 11 % off the line", "two thirds of exp 0.15")
}

func TestAPrintWindowIsOpenAtOneEndAndClosedAtTheOther(t *testing.T) {
	for _, c := range []struct {
		black, at time.Duration
		want      chem.PullVerdict
	}{{0, time.Second, 0}, {time.Second, 0, 0}, {1, 1, chem.InWindow}, {2, 1, chem.PulledEarly}, {2, 4, chem.TooLong}} {
		require.Equal(t, c.want, chem.PrintWindow{FullBlack: c.black}.Judge(c.at), "%+v", c)
	}
}

func TestATableHoldsToTheSecondDecimalBeyondItsEnds(t *testing.T) {
	for at, can := range map[quantity.Celsius]bool{19.994: false, 19.9951: true, 24.0049: true, 24.006: false} {
		_, err := rowR6(t).At(at)
		require.Equal(t, can, err == nil, "%v", at)
	}
	_, err := rowR6(t).At(24.0061)
	require.EqualError(t, err, "24.0061 °C lies above the table's last point, 24.0000 °C")
	_, err = chem.NewTable("x", []chem.Point{{At: 20, Time: time.Hour}, {At: 22, Time: -1}})
	require.ErrorContains(t, err, "point 2 (22 °C)")
	_, err = chem.NewTable("x", []chem.Point{{At: 20, Time: time.Hour}, {At: 101, Time: 1}})
	require.ErrorContains(t, err, "point 2: 101 °C is not a bath temperature: it must be between 0 and 100 °C")
	_, err = chem.ParseParts("1:1")
	var colon *chem.ColonRatioError
	require.ErrorAs(t, err, &colon)
	require.Equal(t, []chem.Parts{parts(t, "1+0"), parts(t, "1+1")}, colon.Readings())
	require.True(t, chem.IsRefusal(second(chem.Table{}.At(20))))
}

func TestABathIsEnoughForExactlyWhatIsLeft(t *testing.T) {
	b := chem.Bath{Volume: 0.5, Capacity: chem.Capacity{PerLitre: 2000, Source: "x"}, Used: 0.5}
	l, err := b.Lasts(chem.Booking{Students: 1, SheetsEach: 2, Sheet: chem.Sheet{Area: 0.25}})
	require.NoError(t, err)
	require.Equal(t, chem.Lasting{Enough: true, SheetsLeft: 2}, l)
	l, err = b.Lasts(chem.Booking{Students: 3, SheetsEach: 1, Sheet: chem.Sheet{Area: 0.25}})
	require.NoError(t, err)
	require.Equal(t, chem.Lasting{SheetsLeft: 2, Short: 0.125}, l)
	need, err := chem.Booking{Students: 1, SheetsEach: 1, Sheet: chem.Sheet{Area: 1}}.Need(chem.Capacity{PerLitre: 0.5, Source: "x"}, 0)
	require.NoError(t, err)
	require.Equal(t, chem.Need{Worked: 2000, Mix: 2000, Source: "x"}, need)
	one := chem.Booking{Students: 1, SheetsEach: 1, Sheet: chem.Sheet{Area: 1}}
	require.True(t, chem.IsRefusal(second(one.Need(chem.Capacity{PerLitre: 1}, 0))), "nobody says so")
	require.True(t, chem.IsRefusal(second(one.Need(chem.Capacity{Source: "x"}, 0))), "nothing is no capacity")
}

func TestAPointedTimeHasItsSecondReadingBelowSixty(t *testing.T) {
	for text, want := range map[string][]time.Duration{"9.59": {599 * time.Second, 575400 * time.Millisecond}, "9.60": {576 * time.Second}} {
		var ask *chem.AmbiguousTimeError
		require.ErrorAs(t, second(chem.ParseTime(text)), &ask)
		require.Equal(t, want, ask.Readings, text)
	}
}

// An image that was timed tells the age and the oxidation of the developer; without one nothing does.
func TestWhatNoFigureCoversIsNamed(t *testing.T) {
	in := chem.Inputs{Table: printTable(t), Temperature: chem.Measured(20, 0.3)}
	require.Equal(t, "not counted: the age of the developer, oxidation, agitation, strength, use", chem.Tonight(in).LeavesOut().String())
	for name, unusable := range map[string]chem.Emergence{"not timed": {Fresh: 10 * time.Second, FreshAt: 20},
		"never timed fresh": {FreshAt: 20, Now: []time.Duration{time.Second}}} {
		in.Emergence = unusable
		require.Contains(t, chem.Tonight(in).LeavesOut().String(), "the age of the developer", name)
	}
	in.Emergence = chem.Emergence{Fresh: 10 * time.Second, FreshAt: 20, Now: []time.Duration{11 * time.Second}}
	require.Equal(t, "not counted: agitation, strength, use", chem.Tonight(in).LeavesOut().String())
	require.Empty(t, chem.Refused(phrase.Say("x")).LeavesOut().String())
}
