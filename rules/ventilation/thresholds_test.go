package ventilation_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// The room of the truth table: commissioned at 300 m³/h and -5 Pa, stopped below 30, low below 240.
func roomOf(t *testing.T, r room) ventilation.Evidence {
	return ventilation.Evidence{Limits: limits(t), Signs: r.signs(t), UsualPressure: pressureOf(-5), MostCO2: ventilation.Known(1800.0)}
}

// Each figure beside which a sign counts as contradicting or confirming a flow, from both sides.
func TestASignCountsFromItsFigureOn(t *testing.T) {
	const moving, low, stopped, disputed = ventilation.Moving, ventilation.Low, ventilation.Stopped, ventilation.Disputed
	for _, c := range []struct {
		what  string
		room  room
		state ventilation.State
		stand bool // one of the signs says that no air moves
		says  string
	}{
		{"a quarter of 300 apart", room{flow: "290", second: "215"}, moving, false, "confirmed by Velocity pressure"},
		{"more than a quarter", room{flow: "290", second: "214"}, disputed, false, "Velocity pressure reads 214"},
		{"a quarter the other way", room{flow: "240", second: "315"}, moving, false, "confirmed by Velocity pressure"},
		{"more the other way", room{flow: "240", second: "316"}, disputed, false, "reads 316"},
		{"neither is enough", room{flow: "100", second: "239"}, low, false, "Too little air"},
		{"one is enough", room{flow: "100", second: "240"}, disputed, false, "reads 240"},
		{"the other says that the air stands", room{flow: "290", second: "29"}, disputed, true, "reads 29"},
		{"the first says so", room{flow: "29", second: "290"}, disputed, true, "reads 290"},
		{"the other moves, just", room{flow: "100", second: "30"}, low, false, "confirmed by Velocity pressure"},
		{"the other does not", room{flow: "100", second: "29.9"}, low, false, "Only one reading"},
		{"enough, and the fan off", room{flow: "240", fan: "off"}, disputed, true, "Fan switch is off"},
		{"too little to say so", room{flow: "239", fan: "off"}, low, false, "Only one reading"},
		{"enough, and a still hood", room{flow: "240", left: "0.09"}, disputed, true, "the hood draws 0.09 m/s at most"},
		{"and one that draws a little", room{flow: "240", left: "0.1"}, moving, false, "confirmed by the hood"},
		{"too little, and a still hood", room{flow: "239", left: "0.09"}, low, false, "Only one reading"},
		{"none, and a hood that draws", room{flow: "29", left: "0.2"}, disputed, true, "the hood draws 0.20 m/s at most"},
		{"and one that may", room{flow: "29", left: "0.19"}, stopped, false, "No air moves"},
		{"little, and a hood that draws", room{flow: "30", left: "0.2"}, low, false, "confirmed by the hood"},
		{"as much CO2 as there can be", room{flow: "290", co2: "1800"}, moving, false, "Only one reading"},
		{"more", room{flow: "290", co2: "1801"}, disputed, false, "Carbon dioxide reads 1801 ppm"},
		{"more, with too little air", room{flow: "239", co2: "1801"}, low, false, "Only one reading"},
		{"half of the usual pressure", room{flow: "290", pressure: "-2.5"}, moving, false, "confirmed by Room pressure"},
		{"less than half", room{flow: "290", pressure: "-2.4"}, moving, false, "Only one reading"},
		{"two signs against it", room{flow: "290", fan: "off", co2: "1801"}, disputed, true,
			"but Fan switch is off and Carbon dioxide reads 1801 ppm."},
		{"fan off, flow suspected", room{flow: "?", fan: "off"}, ventilation.NotProven, false,
			"Airflow unknown: Exhaust duct is suspect (stuck)."},
	} {
		p := ventilation.Prove(roomOf(t, c.room))
		require.Equal(t, c.state, p.State, c.what)
		require.Equal(t, c.stand, p.MayStand, c.what)
		require.Contains(t, p.Sentence.String()+" "+p.Basis.String(), c.says, c.what)
		require.NotContains(t, p.Sentence.String(), "which does not prove a flow", c.what)
	}
}

// At least 1 Pa shows that air is drawn out, and only where a pressure is usual.
func TestARoomPressureConfirmsWhereOneIsUsual(t *testing.T) {
	for _, c := range []struct {
		now      string
		usual    ventilation.Optional[quantity.Pascal]
		confirms bool
	}{{"-1", pressureOf(-1), true}, {"-0.9", pressureOf(-1), false}, {"-5", ventilation.Optional[quantity.Pascal]{}, false}} {
		e := roomOf(t, room{flow: "290", pressure: c.now})
		e.UsualPressure = c.usual
		require.Equal(t, c.confirms, ventilation.Prove(e).Basis.String() == "Measured by Exhaust duct, confirmed by Room pressure.", "%+v", c)
	}
}

// Of two fan contacts the one that is on shows power alone: it does not stand for air that moves.
func TestAFanThatIsOnDoesNotSpeakForOneThatIsOff(t *testing.T) {
	e := roomOf(t, room{flow: "290", fan: "off"})
	e.Signs = append(e.Signs, ventilation.GoodSign(ventilation.FanContact, "Second fan", 1))
	require.Equal(t, ventilation.Disputed, ventilation.Prove(e).State)
}

func TestAnEvidenceContradictsItselfFromItsFigureOn(t *testing.T) {
	none := ventilation.Limits{}
	for _, c := range []struct {
		what   string
		room   room
		change func(*ventilation.Evidence)
		want   []ventilation.Conflict
	}{
		{"fan on, just stopped", room{flow: "29.9", fan: "on"}, nil, []ventilation.Conflict{ventilation.CommandNoFlow}},
		{"fan on, just moving", room{flow: "30", fan: "on"}, nil, nil},
		{"fan off, just moving", room{flow: "30", fan: "off"}, nil, []ventilation.Conflict{ventilation.FlowNoCommand}},
		{"fan off, nothing to judge by", room{flow: "30", fan: "off"}, func(e *ventilation.Evidence) { e.Limits = none }, nil},
		{"twice the usual", room{flow: "290", pressure: "-10"}, nil, nil},
		{"more", room{flow: "290", pressure: "-10.1"}, nil, []ventilation.Conflict{ventilation.MakeUpBlocked}},
		{"half a pascal above", room{flow: "30", pressure: "0.5"}, nil, nil},
		{"more", room{flow: "30", pressure: "0.6"}, nil, []ventilation.Conflict{ventilation.RoomPushesOut}},
		{"more, stopped", room{flow: "29.9", pressure: "0.6"}, nil, nil},
		{"more, no flow known", room{pressure: "0.6"}, nil, nil},
		{"more, nothing to judge by", room{flow: "30", pressure: "0.6"}, func(e *ventilation.Evidence) { e.Limits = none }, nil},
		{"half of the best place", room{flow: "290", left: "0.25", middle: "0.5"}, nil, nil},
		{"less", room{flow: "290", left: "0.24", middle: "0.5"}, nil, []ventilation.Conflict{ventilation.HoodUneven}},
		{"disputed", room{flow: "290", fan: "off", pressure: "0.6"}, nil, nil},
		{"fan off, the room drawn down", room{flow: "290", fan: "off", pressure: "-5"}, nil, []ventilation.Conflict{ventilation.FlowNoCommand}},
		{"disputed, make-up blocked", room{flow: "290", fan: "off", co2: "2500", pressure: "-11"}, nil,
			[]ventilation.Conflict{ventilation.MakeUpBlocked}},
	} {
		e := roomOf(t, c.room)
		if c.change != nil {
			c.change(&e)
		}
		var got []ventilation.Conflict
		for _, each := range ventilation.Prove(e).Contradictions {
			got = append(got, each.Conflict)
		}
		require.Equal(t, c.want, got, c.what)
	}
	for usual, from := range map[quantity.Pascal]quantity.Pascal{0.5: -2, 0: -2, -1: -3, -2: -4, -5: -10} {
		require.InDelta(t, float64(from), float64(ventilation.BlockedFrom(usual)), 1e-12, "the usual, and 2 Pa or as much again")
	}
}

func TestMakeUpIsShortBelowWhatIsAsked(t *testing.T) {
	for _, c := range []struct {
		share, flow float64
		short       bool
	}{{90, 290, false}, {89.9, 290, true}, {50, 30, true}, {50, 29.9, false}} {
		e := ventilation.Evidence{Limits: limits(t), MakeUpSource: "a code", MakeUpAsked: 90,
			Signs: append(flowOf(c.flow), ventilation.GoodSign(ventilation.MakeUpSign, "Supply", c.share))}
		require.Equal(t, c.short, len(ventilation.Prove(e).Contradictions) == 1, "%+v", c)
	}
}

func TestABlockedRoomSaysWhatIsLeftOfTheFlow(t *testing.T) {
	said := func(e ventilation.Evidence) string { return ventilation.Prove(e).Contradictions[0].Sentence.String() }
	e := roomOf(t, room{flow: "120", pressure: "-11.04"})
	require.Equal(t, "The room is at -11.0 Pa, usually -5.0 Pa, and the flow is 40 % of the commissioned one: make-up air can't get in; "+
		"look for a covered grille or a sealed door.", said(e))
	const closed = "and the fan runs against a closed room: make-up air"
	e.Limits = ventilation.Limits{}
	require.Contains(t, said(e), closed, "no flow to judge by")
	require.Contains(t, said(roomOf(t, room{pressure: "-11"})), closed, "no flow known")
	require.Contains(t, said(roomOf(t, room{flow: "290", pressure: "4.04"})), "the room is 4.0 Pa above its neighbours")
}

// A trace gas of 500 ppm falls at six changes an hour; the sensor is off all the time by 0.95 of what it may be.
func TestADecayHoldsTheTruthWhicheverWayItsSensorIsOff(t *testing.T) {
	const changes, background, may = 6.0, 420.0, 30.0
	for _, off := range []float64{-0.95 * may, 0.95 * may} {
		test := ventilation.DecayTest{Background: background, SensorError: may, RoomEmpty: true}
		for minute := range 15 {
			at := time.Duration(minute) * time.Minute
			test.Points = append(test.Points, ventilation.DecayPoint{After: at,
				Concentration: background + off + 500*math.Exp(-changes*at.Hours())})
		}
		d, err := test.AirChanges()
		require.NoError(t, err)
		require.True(t, d.Low <= changes && changes <= d.High, "%+v", d)
		near := math.Min(float64(d.High)-changes, changes-float64(d.Low))
		require.Less(t, near, 0.02, "the interval ends where such a sensor puts the truth")
	}
	zero := ventilation.DecayTest{SensorError: 10, RoomEmpty: true, Background: 100, Points: []ventilation.DecayPoint{
		{0, 500}, {time.Minute, 269}, {2 * time.Minute, 171.5}, {3 * time.Minute, 130.1}, {4 * time.Minute, 130}}}
	d, err := zero.AirChanges()
	require.NoError(t, err)
	require.Len(t, d.Used, 4, "three times the error is too near")
	flat := ventilation.DecayTest{RoomEmpty: true, Points: []ventilation.DecayPoint{{0, 500}, {60, 500}, {120, 500}}}
	require.Error(t, second(flat.AirChanges()))
}

func second[T any](_ T, err error) error { return err }

func TestFlowsAndVolumesBelowOneCountToo(t *testing.T) {
	changes, err := ventilation.AirChanges(0.5, 0.25)
	require.NoError(t, err)
	require.InDelta(t, 2, float64(changes), 1e-12)
	share, err := ventilation.MakeUp(0.5, 0.5)
	require.NoError(t, err)
	require.InDelta(t, 100, float64(share), 1e-12)
	require.InDelta(t, 0.5, float64(ventilation.RequiredLimits(0.5).Low), 1e-12)
	little := ventilation.Evidence{Limits: ventilation.RequiredLimits(0.5), Signs: flowOf(0.4)}
	require.Equal(t, ventilation.Low, ventilation.Prove(little).State)
	require.NoError(t, second(ventilation.Zone{Volume: 0.5, Flow: 0.5, Background: 0.5, Start: 0.5, Emission: 0.5}.At(time.Minute)))
	require.NoError(t, second(ventilation.People{Number: 1, Each: 0.5}.SteadyRise(0.5)))
	require.Error(t, second(ventilation.People{Each: 0.5}.SteadyRise(0.5)))
	require.NoError(t, second(ventilation.People{Number: 1, Each: 0.5}.OutdoorAir(0.5)))
	for room, want := range map[quantity.Pascal]ventilation.Leak{-0.6: ventilation.Inward, -0.5: ventilation.Balanced,
		0.5: ventilation.Balanced, 0.6: ventilation.Outward} {
		require.Equal(t, want, ventilation.LeakAt(room, 0.5))
	}
}

func TestTheMostDirectProbesComeFirst(t *testing.T) {
	list := []sensors.Kind{sensors.VelocityPressure, sensors.RoomPressure, sensors.DuctVelocity, sensors.VolumeFlow, sensors.DuctVelocity}
	var places []int
	for probe := range ventilation.Directly(list, func(k *sensors.Kind) sensors.Kind { return *k }) {
		for i := range list {
			if probe == &list[i] {
				places = append(places, i)
			}
		}
	}
	require.Equal(t, []int{3, 2, 4, 0}, places)
	for kind, zero := range map[sensors.Kind]float64{sensors.VolumeFlow: 5, sensors.DuctVelocity: 0.1, sensors.VelocityPressure: 0.5} {
		probe := flowProbe(t, kind)
		require.NoError(t, second(probe.Flow(-zero, ventilation.Optional[quantity.Celsius]{})), kind)
		require.Error(t, second(probe.Flow(-zero-0.01, ventilation.Optional[quantity.Celsius]{})), kind)
		flow, err := probe.Flow(0.09, ventilation.Optional[quantity.Celsius]{})
		require.NoError(t, err)
		require.Positive(t, flow, kind)
	}
}

func TestAPurgeShowsWhatHasGoneAndWhatIsLeft(t *testing.T) {
	// A tenth of a cubic metre mixed half as well as can be: after 0.2 m³, 1 - 1/e of the old air has gone.
	c, err := ventilation.Purge{Volume: 0.1, Remove: 90, Mixing: 2, LongestGap: time.Hour}.Start()
	require.NoError(t, err)
	require.Zero(t, c.Removed())
	c = c.Observe(evening(), ventilation.Known(quantity.CubicMetrePerHour(0.2))).Observe(evening().Add(time.Hour),
		ventilation.Known(quantity.CubicMetrePerHour(0.3)))
	require.InDelta(t, 63.212, float64(c.Removed()), 0.001, "the lower of the two flows, over a gap just as long as it may be")
	left, known := c.Remaining()
	require.True(t, known)
	require.InDelta(t, (0.2*math.Log(10)-0.2)/0.3, left.Hours(), 1e-6)
	for flow, want := range map[quantity.CubicMetrePerHour]bool{1 / 23.9: true, 1 / 24.1: false, 1 / 24.9: false} {
		c, err := ventilation.Purge{Volume: 1, Remove: 63.2120558828557678, Mixing: 1, LongestGap: 1}.Start()
		require.NoError(t, err)
		_, known := c.Observe(evening(), ventilation.Known(flow)).Remaining()
		require.Equal(t, want, known, "a day, and no longer")
	}
	require.NoError(t, second(ventilation.PurgeTime(0.5, 0.5, 10)))
	require.Error(t, second(ventilation.PurgeTime(0.5, 0.5, 10.1)))
}

func TestARequirementHasItsLimits(t *testing.T) {
	row := func(k ventilation.Kind, v float64) ventilation.Requirement {
		return ventilation.Requirement{Kind: k, Value: v, Source: "a code"}
	}
	for v, can := range map[float64]bool{0: false, 0.5: true, 200: true, 200.5: false} {
		require.Equal(t, can, row(ventilation.MakeUpShare, v).Check() == nil, v)
	}
	for kind, lacks := range map[ventilation.Kind]string{ventilation.AirChangeRate: "a code: room volume", ventilation.FloorFlow: "floor area",
		ventilation.SurfaceFlow: "solution surface"} {
		_, err := ventilation.Strictest([]ventilation.Requirement{row(kind, 0.5)}, ventilation.Room{})
		require.ErrorContains(t, err, lacks)
		d, err := ventilation.Strictest([]ventilation.Requirement{row(kind, 0.5)}, ventilation.Room{Volume: 0.5, Floor: 0.5, Surface: 0.5})
		require.NoError(t, err)
		require.Zero(t, d.MakeUpBinding)
	}
	first, again := row(ventilation.AirChangeRate, 6), row(ventilation.AirChangeRate, 6)
	again.Source = "another code"
	share, more := row(ventilation.MakeUpShare, 80), row(ventilation.MakeUpShare, 80)
	more.Source = "another code"
	d, err := ventilation.Strictest([]ventilation.Requirement{first, again, share, more}, ventilation.Room{Volume: 30})
	require.NoError(t, err)
	require.Equal(t, "a code", d.Binding.Source, "of equal rows the first")
	require.Equal(t, "a code", d.MakeUpBinding.Source)
	l, err := ventilation.LimitsFor(300, 40, 0)
	require.NoError(t, err, "nothing is required, so no guard band is asked")
	require.Equal(t, limits(t), l)
	l, err = ventilation.LimitsFor(300, 10, 270) // 270/0.9
	require.NoError(t, err)
	require.InDelta(t, 300, float64(l.Low), 1e-9)
	require.Contains(t, l.Derivation.String(), "with a guard band of 10.0 %")
	l, err = ventilation.LimitsFor(300, 0.5, 280)
	require.NoError(t, err)
	require.Contains(t, l.Derivation.String(), "with a guard band of 0.5 %")
	l, err = ventilation.LimitsFor(300, 0, 240)
	require.NoError(t, err)
	require.Equal(t, limits(t), l, "as much as low is already")
}

// Five lines across a side below 30 in, six up to 36 in, seven above.
func TestASideHasItsLines(t *testing.T) {
	for side, lines := range map[quantity.Metre]int{0.1: 5, 0.761: 5, 0.762: 6, 0.914: 6, 0.915: 7} {
		points, err := ventilation.RectangularTraverse(side, 0.1)
		require.NoError(t, err)
		require.Len(t, points, 5*lines, "%v m", side)
	}
	for _, c := range []struct {
		points         int
		even, instead  quantity.Percent
		want, together float64
	}{{11, 50, 0, 5, 0}, {12, 50, 0, 3, 0}, {24, 50, 0, 3, 0}, {25, 50, 0, 2, 0}, {25, 49.9, 0, 4, 0}, {12, 50, 4, 5, 0}} {
		require.InDelta(t, c.want, float64(ventilation.TraverseUncertainty(c.points, c.even, c.instead)), 1e-9, "%+v", c)
	}
	one := commissioning(t)
	one.Points, one.Velocities = one.Points[:1], []quantity.MetrePerSecond{0.5}
	one.AtProbe = 0.5
	require.NoError(t, second(one.Evaluate()))
	one.Points, one.Velocities = nil, nil
	require.ErrorContains(t, second(one.Evaluate()), "0 velocities for 0 traverse points")
}

// 90 seconds, or a hundredth of a run, may lie between the stops of one timer.
func TestATimerIsAsEvenAsItsSlack(t *testing.T) {
	for _, c := range []struct {
		minutes []float64
		found   bool
	}{{[]float64{120, 121.5, 118.5}, true}, {[]float64{120, 121.6, 118.4}, false}, {[]float64{300, 303, 297}, true},
		{[]float64{300, 303.1, 296.9}, false}} {
		_, found := ventilation.FindTimedStop(evenings(c.minutes...), evening(), evening())
		require.Equal(t, c.found, found, "%+v", c)
	}
	stop, _ := ventilation.FindTimedStop(evenings(120, 120, 120), evening(), evening())
	for end, warns := range map[time.Duration]bool{2 * time.Hour: false, 2*time.Hour + 1: true} {
		_, warned := stop.Warning(evening().Add(end))
		require.Equal(t, warns, warned)
	}
	for now, still := range map[time.Duration]bool{121*time.Minute + 29*time.Second: true, 121*time.Minute + 30*time.Second: false} {
		_, found := ventilation.FindTimedStop(evenings(120, 120, 120), evening(), evening().Add(now))
		require.Equal(t, still, found, now)
	}
}

func TestATrendHasItsLeast(t *testing.T) {
	low := quantity.CubicMetrePerHour(240)
	fall := func(days int, each ...float64) (ventilation.Trend, error) {
		var list []ventilation.DayFlow
		for i, f := range each {
			list = append(list, ventilation.DayFlow{At: evening().AddDate(0, 0, days*i), Flow: quantity.CubicMetrePerHour(f)})
		}
		return ventilation.FitTrend(list, ventilation.Limits{Low: low})
	}
	require.ErrorContains(t, second(fall(7, 300, 290, 280, 270)), "at least 5 sessions, there are 4")
	require.ErrorContains(t, second(fall(3, 300, 299, 298, 297, 296)), "at least two weeks, there are 12 days")
	trend, err := fall(4, 300, 297, 294, 290, 286)
	require.NoError(t, err)
	require.False(t, trend.Falling, "less than a twentieth")
	trend, err = fall(4, 300, 296, 292.1, 288, 284)
	require.NoError(t, err)
	require.True(t, trend.Falling, "a twentieth")
	at, meets := trend.ReachesLow.Get()
	require.True(t, meets)
	require.WithinDuration(t, evening().AddDate(0, 0, 60), at, 12*time.Hour)
	require.Contains(t, trend.Sentence().String(), "from 5 sessions over 16 days")
	for _, low = range []quantity.CubicMetrePerHour{0, 290} { // no limit, and one that was passed long ago
		trend, err = fall(4, 300, 290, 280, 270, 260)
		require.NoError(t, err)
		require.True(t, trend.Falling)
		require.False(t, trend.ReachesLow.IsKnown())
	}
	low = 240
	trend, err = fall(200, 300, 297, 294, 291, 270)
	require.NoError(t, err)
	require.False(t, trend.ReachesLow.IsKnown())
}
