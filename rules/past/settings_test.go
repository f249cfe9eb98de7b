package past_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/breathing"
	"wetside/rules/coverage"
	"wetside/rules/dated"
	"wetside/rules/duty"
	"wetside/rules/past"
	"wetside/rules/record"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

func day(n int) time.Time { return begin().AddDate(0, 0, n) }

func minute(n int) time.Time { return begin().Add(time.Duration(n) * time.Minute) }

// configured is a site with one gas and three channels.
func configured(volume float64) past.Site {
	return past.Site{Zone: "UTC", Rooms: []past.Room{{ID: "practice", Volume: volume, DuctArea: 0.02, DuctFactor: 1, Apart: []string{"hood"},
		Gases: []past.Gas{{ID: "so2", Agent: "sulfur dioxide"}},
		Channels: []past.Channel{{ID: "velocity", Kind: string(sensors.DuctVelocity)}, {ID: "so2", Kind: string(sensors.SulfurDioxide)},
			{ID: "hood", Kind: string(sensors.VolumeFlow)}}}}}
}

func traverse(flow float64, measured time.Time) rules.CommissionAir {
	return rules.CommissionAir{Section: rules.Section{Shape: rules.RectangularDuct, Width: 0.2, Height: 0.1},
		Flow: quantity.CubicMetrePerHour(flow), Factor: 0.9, Instrument: "vane 7", Certificate: "C 12", Uncertainty: 4, Measured: measured,
		Next: day(365)}
}

func TestSettingsAreThoseOfTheConfigurationWithWhatPeopleEnteredSince(t *testing.T) {
	b := &book{TB: t}
	b.write(rules.CommissionAir{}.Kind(), -10, traverse(250, time.Time{}))
	require.Empty(t, b.Settings.Versions, "an entry counts once there are settings")
	require.Nil(t, b.Settings.At(begin()))
	require.Empty(t, b.Settings.Between(begin(), day(1)))
	b.write(past.Kind, 0, configured(30))
	room := func() past.Room {
		last := b.Settings.Versions[len(b.Settings.Versions)-1]
		var told past.Site
		require.NoError(t, json.Unmarshal(last.Text, &told))
		require.Equal(t, last.Site, told, "the text tells what holds")
		require.Equal(t, b.number, last.Record)
		r, known := last.Room("practice")
		require.True(t, known)
		return r
	}
	require.Equal(t, &past.Commissioned{Flow: 250, Date: minute(-10), Instrument: "vane 7", Certificate: "C 12", Record: 1, Uncertainty: 4,
		Next: day(365)}, room().Commissioned)
	require.InDelta(t, 0.02, room().DuctArea, 1e-12)
	require.InDelta(t, 0.9, room().DuctFactor, 1e-12)

	b.write(rules.CommissionAir{}.Kind(), 10, traverse(300, day(-30)))
	require.Len(t, b.Settings.Versions, 1, "a traverse from before the one that counts")
	b.write(rules.CommissionAir{}.Kind(), 11, traverse(0, time.Time{}))
	require.Len(t, b.Settings.Versions, 1, "it found no flow")
	b.write(rules.CommissionAir{}.Kind(), 12, traverse(280, time.Time{}))
	require.InDelta(t, 280, room().Commissioned.Flow, 0)

	b.write(rules.RequireAir{}.Kind(), 20, rules.RequireAir{Asked: ventilation.AirChangeRate, Value: 8,
		Amendment: rules.Amendment{Source: "school board", Edition: "2026"}})
	require.Equal(t, []ventilation.Requirement{{Kind: ventilation.AirChangeRate, Value: 8, Source: "school board", Edition: "2026",
		Term: dated.Term{Effective: minute(20), Record: b.number}}}, room().Required)
	b.write(rules.LimitGas{}.Kind(), 30, rules.LimitGas{Agent: "sulfur dioxide", Jurisdiction: "EU", Limit: breathing.ShortTerm, Minutes: 15,
		Value: 1, Unit: "ppm", Standing: breathing.Verified, Amendment: rules.Amendment{Source: "invented", Edition: "1"}})
	require.Equal(t, []past.Limit{{Jurisdiction: "EU", Edition: "1", Kind: string(breathing.ShortTerm), Minutes: 15, Value: 1, Unit: "ppm",
		Effective: minute(30), Standing: string(breathing.Verified), Source: "invented", Record: b.number}}, room().Gases[0].Limits)
	b.write(rules.StateUnexposed{}.Kind(), 40, rules.StateUnexposed{Why: "nobody works elsewhere with it"})
	require.Len(t, room().Unexposed, 1)
	require.Equal(t, minute(40), room().Unexposed[0].Effective)
	require.Len(t, b.Settings.Versions, 5)

	require.NoError(t, b.Apply(record.Record{Number: 99, Kind: rules.RequireAir{}.Kind(), Room: "another", Content: json.RawMessage(`{}`)}))
	require.NoError(t, b.Apply(record.Record{Number: 99, Kind: rules.RequireAir{}.Kind(), Room: "practice", Content: json.RawMessage(`[`)}))
	require.NoError(t, b.Apply(record.Record{Number: 99, Kind: past.Kind, Content: json.RawMessage(`[`)}))
	require.Len(t, b.Settings.Versions, 5, "what makes no sense is passed over")

	before := room()
	b.write(past.Kind, 50, configured(45))
	after := room()
	require.InDelta(t, 45, after.Volume, 0)
	before.Volume = 45
	require.Equal(t, before, after, "entries go on to count with another configuration")
	first, _ := b.Settings.Versions[0].Room("practice")
	require.Empty(t, first.Required, "and what was in force before stays as it was")
	require.Empty(t, first.Unexposed)
	require.Empty(t, first.Gases[0].Limits)
	require.InDelta(t, 250, first.Commissioned.Flow, 0)
	require.True(t, json.Valid(b.Settings.Versions[0].Text))
}

func TestATraverseLeavesTheDuctAloneWhereTheFlowItselfIsMeasured(t *testing.T) {
	b := &book{TB: t}
	site := configured(30)
	site.Rooms[0].Apart = nil // the probe of a flow is one of the exhaust
	b.write(past.Kind, 0, site)
	b.write(rules.CommissionAir{}.Kind(), 1, traverse(280, time.Time{}))
	room, _ := b.Settings.At(day(1)).Room("practice")
	require.InDelta(t, 280, room.Commissioned.Flow, 0)
	require.InDelta(t, 0.02, room.DuctArea, 0)
	require.InDelta(t, 1, room.DuctFactor, 0)
}

func TestSettingsOfAMomentAndOfATime(t *testing.T) {
	b := &book{TB: t}
	b.write(past.Kind, 0, configured(30))
	require.Len(t, b.Settings.Between(minute(-9), minute(-5)), 1, "the first that are known")
	for n, at := range []int{10, 20} {
		b.write(past.Kind, at, configured(float64(31+n)))
	}
	volumes := func(list []past.Version) (out []float64) {
		for _, v := range list {
			out = append(out, v.Rooms[0].Volume)
		}
		return out
	}
	for at, want := range map[int]float64{-5: 30, 0: 30, 9: 30, 10: 31, 19: 31, 20: 32, 99: 32} {
		require.InDelta(t, want, b.Settings.At(minute(at)).Rooms[0].Volume, 0, "at %d", at)
	}
	for _, c := range []struct {
		from, to int
		want     []float64
	}{{-9, -5, []float64{30}}, {-9, 0, []float64{30}}, {0, 10, []float64{30}}, {0, 11, []float64{30, 31}}, {10, 20, []float64{31}},
		{9, 21, []float64{30, 31, 32}}, {50, 60, []float64{32}}} {
		require.Equal(t, c.want, volumes(b.Settings.Between(minute(c.from), minute(c.to))), "from %d to %d", c.from, c.to)
	}
	corrected := b.Settings.Corrected(func(channel string) []sensors.Correction {
		return []sensors.Correction{{From: minute(3), Slope: 1, Offset: 0.5}}
	})
	require.Equal(t, []sensors.Correction{{From: minute(3), Slope: 1, Offset: 0.5}}, corrected.Versions[2].Rooms[0].Channels[0].Corrections)
	require.Empty(t, b.Settings.Versions[2].Rooms[0].Channels[0].Corrections, "the settings themselves are not changed")
}

func TestACorrectionThatAPersonPutInForceStandsAmongThoseOfTheConfiguration(t *testing.T) {
	own := []sensors.Correction{{From: day(1), Slope: 1, Offset: 1}, {From: day(3), Slope: 1, Offset: 3}}
	roomy := append(make([]sensors.Correction, 0, 8), own...) // there is space behind the last
	room := past.Room{Channels: []past.Channel{{ID: "dev", Corrections: roomy}}}
	of := func(string) []sensors.Correction {
		return []sensors.Correction{{From: day(3), Slope: 2}, {From: day(0), Slope: 3}}
	}
	require.Equal(t, []sensors.Correction{{From: day(0), Slope: 3}, own[0], own[1], {From: day(3), Slope: 2}},
		room.Corrected(of).Channels[0].Corrections, "of two from the same moment the later in the list counts")
	require.Equal(t, own, roomy, "the room itself is not changed")
}

func TestASiteHoldsAllOfAConfigurationThatAnEveningIsJudgedBy(t *testing.T) {
	ppm, err := quantity.ParseUnit("ppm")
	require.NoError(t, err)
	celsius, err := quantity.ParseUnit("degC")
	require.NoError(t, err)
	room := rules.Room{ID: "practice", Name: "Practice", Volume: 30, Floor: 12, Surface: 1.5,
		Duct:   rules.Duct{Area: 0.02, Factor: 0.9, Altitude: 300},
		Supply: "supply", Hood: rules.Hood{Left: "left", Right: "right"}, Airing: rules.Airing{Remove: 95, Mixing: 3},
		Required:     []ventilation.Requirement{{Kind: ventilation.FloorFlow, Value: 2, Source: "board", Edition: "3"}},
		Commissioned: rules.Commissioned{Flow: 280, Date: day(-9), Instrument: "vane", Certificate: "C", Uncertainty: 4, Next: day(356)},
		Gases: []rules.Gas{{Channel: "so2", Agent: breathing.Agent{Name: "sulfur dioxide", MolarMass: 64.07},
			Sensor: breathing.Sensor{Resolution: 0.1, Detection: 0.2, FullScale: 20}, Shift: 10 * time.Hour,
			Limits: []breathing.Limit{{Agent: "sulfur dioxide", Jurisdiction: "EU", Edition: "2017", Kind: breathing.ShortTerm,
				Window: 15 * time.Minute, Value: 1, Unit: ppm, Standing: breathing.Verified, Source: "directive"}}}},
		Channels: []sensors.Channel{{ID: "dev", Name: "Developer", Kind: sensors.BathTemperature, Unit: celsius,
			Traits:      sensors.Traits{Silence: 15 * time.Second, Plausible: sensors.Range{Low: 1, High: 60}},
			Corrections: []sensors.Correction{{From: day(-3), Slope: 1.01, Offset: -0.2}}}},
		Baths: []rules.Bath{{ID: "b1", Name: "Developer", Role: rules.Developer, Channel: "dev", Band: sensors.Range{Low: 18, High: 22}}}}
	week, err := duty.ParseInterval("7 days")
	require.NoError(t, err)
	got := past.Place{Zone: time.UTC, Rooms: []rules.Room{room, {ID: "bare"}},
		Keeping: []duty.Keeping{{Quantities: []string{"bath-temperature"}, For: week, Why: "k"}},
		Duties:  []duty.Duty{{ID: "eyewash", Name: "Eyewash", Owner: "Ada", Room: "practice", Every: week, Why: "d"}}}.Site()
	require.Equal(t, past.Site{Zone: "UTC", Keeping: []duty.Keeping{{Quantities: []string{"bath-temperature"}, For: duty.Interval{Days: 7},
		Why: "k"}},
		Duties: []duty.Duty{{ID: "eyewash", Name: "Eyewash", Every: duty.Interval{Days: 7}, Owner: "Ada", Room: "practice", Why: "d"}},
		Rooms: []past.Room{{ID: "practice", Name: "Practice", Volume: 30, Floor: 12, Surface: 1.5, Apart: []string{"left", "right", "supply"},
			DuctArea: 0.02, DuctFactor: 0.9, Altitude: 300, AiringRemove: 95, AiringMixing: 3,
			Required:     []ventilation.Requirement{{Kind: ventilation.FloorFlow, Value: 2, Source: "board", Edition: "3"}},
			Commissioned: &past.Commissioned{Flow: 280, Date: day(-9), Instrument: "vane", Certificate: "C", Uncertainty: 4, Next: day(356)},
			Gases: []past.Gas{{ID: "so2", Agent: "sulfur dioxide", MolarMass: 64.07, Resolution: 0.1, Detection: 0.2, FullScale: 20, Shift: 600,
				Limits: []past.Limit{{Jurisdiction: "EU", Edition: "2017", Kind: string(breathing.ShortTerm), Minutes: 15, Value: 1, Unit: "ppm",
					Standing: string(breathing.Verified), Source: "directive"}}}},
			Channels: []past.Channel{{ID: "dev", Name: "Developer", Kind: string(sensors.BathTemperature), Unit: celsius.String(),
				Silence: 15, Low: 1, High: 60, Corrections: []sensors.Correction{{From: day(-3), Slope: 1.01, Offset: -0.2}}}},
			Baths: []past.Bath{{ID: "b1", Name: "Developer", Role: string(rules.Developer), Channel: "dev", Low: 18, High: 22}}},
			{ID: "bare"}}}, got)
	require.Equal(t, room.Gases[0].Limits, got.Rooms[0].Gases[0].Rows(), "limits come back as they were")
	require.Equal(t, room.Required, got.Rooms[0].Required)
	traits, known := sensors.BathTemperature.Traits()
	require.True(t, known)
	traits.Silence, traits.Plausible = 15*time.Second, sensors.Range{Low: 1, High: 60}
	channel := room.Channels[0]
	channel.Traits = traits
	require.Equal(t, channel, got.Rooms[0].Channels[0].Sensor(), "a channel comes back with what its kind tells")
}

// Half an hour and ten seconds of 3 ppm with a minute of 6 in it: the worst quarter of an hour has 14 minutes
// of 3 and one of 6, 3.2 ppm; a ceiling is judged by the highest reading.
func TestAGasIsJudgedByTheLimitsOfTheSessionsDay(t *testing.T) {
	b := &book{TB: t}
	site := configured(30)
	site.Rooms[0].Channels[1].Unit, site.Rooms[0].Channels[1].Silence = "ppm", 15
	limit := func(kind breathing.LimitKind, minutes, value float64) past.Limit {
		return past.Limit{Jurisdiction: "EU", Edition: "1", Kind: string(kind), Minutes: minutes, Value: value, Unit: "ppm", Source: "invented",
			Standing: string(breathing.Verified)}
	}
	later := limit(breathing.ShortTerm, 10, 1)
	later.Effective = day(1)
	site.Rooms[0].Gases[0] = past.Gas{ID: "so2", Agent: "sulfur dioxide", MolarMass: 64.07, Resolution: 0.1, Detection: 0.1, FullScale: 20,
		Limits: []past.Limit{limit(breathing.Ceiling, 0, 5), limit(breathing.ShortTerm, 15, 3.3), later}}
	b.write(past.Kind, -5, site)
	s := session.Session{Phase: session.Open, Begun: begin(), Since: begin()}
	b.write(rules.SessionPhase, 0, rules.Event{Session: &s})
	s.Phase, s.Since = session.Closed, begin().Add(30*time.Minute+10*time.Second)
	b.write(rules.SessionPhase, 31, rules.Event{Session: &s})
	evening := eveningsOf(b, day(1))[0]
	room, _ := evening.Then()
	course, known := evening.GasCourse(room.Gases[0])
	require.True(t, known)
	for second := -60; second < 2000; second += 5 {
		ppm := 3.0
		if second >= 600 && second < 660 {
			ppm = 6
		}
		if second < 0 || second >= 1810 {
			ppm = 19 // outside of the session
		}
		course.Read(past.Reading{UnixMilli: begin().UnixMilli() + int64(second)*1000, Raw: ppm, Good: true})
	}
	minutes := course.Minutes()
	require.Len(t, minutes, 31)
	require.Equal(t, time.Minute, minutes[0].Known, "the reading at the very beginning counts")
	require.Equal(t, 5*time.Second, minutes[30].Known, "and tells of the time up to the next, the last of no time")
	require.InDelta(t, 3, minutes[30].High, 0, "a reading at the very end is one of the time after it")
	found, err := course.Judge(minutes, breathing.Vouched{})
	require.NoError(t, err)
	require.Len(t, found, 2, "the limit of the next day is not in force")
	require.Equal(t, breathing.Over, found[0].Verdict)
	require.Equal(t, breathing.Within, found[1].Verdict)
	require.InDelta(t, 3.2, found[1].Average.High, 0.02)
	s.Begun, s.Since = minute(60), minute(90)
	b.write(rules.SessionPhase, 90, rules.Event{Session: &s})
	whole, known := eveningsOf(b, day(1))[1].GasCourse(room.Gases[0])
	require.True(t, known)
	require.Len(t, whole.Minutes(), 30, "no minute of it is cut short")
	_, known = evening.GasCourse(past.Gas{ID: "gone"})
	require.False(t, known, "its channel has left the settings")
}

func TestWhatWasPutAsideIsToldAsOfAMoment(t *testing.T) {
	b := &book{TB: t}
	change := func(minute int, from, to alarm.State) {
		b.write(rules.AlarmChange, minute, rules.Event{Subject: "air", From: string(from), To: string(to), Alarm: &alarm.Alarm{ID: "air"}})
	}
	change(5, alarm.Normal, alarm.Shelved)
	change(25, alarm.Shelved, alarm.Normal)
	change(40, alarm.Normal, alarm.OutOfService)
	over := func(from, to int) coverage.Span { return coverage.Span{From: minute(from), To: minute(to)} }
	all := b.Asides(over(0, 60), minute(60))
	require.Len(t, all, 2)
	require.Equal(t, minute(25), all[0].Back)
	require.Zero(t, all[1].Back)
	then := b.Asides(over(0, 60), minute(20))
	require.Len(t, then, 1)
	require.Zero(t, then[0].Back, "nobody knew then when it would be back")
	require.Empty(t, b.Asides(over(0, 5), minute(60)))
	require.Len(t, b.Asides(over(25, 60), minute(60)), 1, "the first was back by then")
	require.Empty(t, b.Asides(over(0, 60), minute(5)))
	require.Len(t, b.Asides(over(30, 60), minute(20)), 1, "nobody knew then that it would be back before")

	text, err := json.Marshal(rules.Event{Subject: "air", From: string(alarm.Normal), To: string(alarm.Shelved),
		Alarm: &alarm.Alarm{ID: "air"}})
	require.NoError(t, err)
	require.NoError(t, b.Apply(record.Record{Number: 9, Kind: rules.AlarmChange, Room: "lab", At: minute(30), Content: text}))
	var rooms []string
	for _, a := range b.Asides(over(0, 60), minute(60)) {
		rooms = append(rooms, a.Room)
	}
	require.Equal(t, []string{"practice", "lab", "practice"}, rooms, "in the order in which they were put aside")
}

func TestAnEntryEndsTheOneBefore(t *testing.T) {
	b := &book{TB: t}
	b.write(past.Kind, 0, configured(30))
	for at, value := range []float64{8, 10} {
		by := rules.Amendment{Source: "invented", Edition: "1"}
		b.write(rules.RequireAir{}.Kind(), at+1, rules.RequireAir{Asked: ventilation.AirChangeRate, Value: value, Amendment: by})
		b.write(rules.LimitGas{}.Kind(), at+1, rules.LimitGas{Agent: "sulfur dioxide", Jurisdiction: "EU", Limit: breathing.ShortTerm,
			Minutes: 15, Value: value, Unit: "ppm", Standing: breathing.Verified, Amendment: by})
	}
	room, _ := b.Settings.At(day(1)).Room("practice")
	require.Len(t, room.Required, 2)
	require.Equal(t, minute(2), room.Required[0].Until)
	require.Zero(t, room.Required[1].Until)
	require.Len(t, room.Gases[0].Limits, 2)
	require.Equal(t, minute(2), room.Gases[0].Limits[0].Until)
	require.Zero(t, room.Gases[0].Limits[1].Until)
}
