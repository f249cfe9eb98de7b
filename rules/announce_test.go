package rules_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

const probe sensors.ChannelID = "developer-tray"

// developerRoom has one developer with invented times, 2:00 at 20 °C and 1:00 at 30 °C.
func developerRoom(t *testing.T) rules.Room {
	table, err := chem.NewTable("invented times", []chem.Point{{At: 20, Time: 2 * time.Minute}, {At: 30, Time: time.Minute}})
	require.NoError(t, err)
	unit, err := quantity.ParseUnit("C")
	require.NoError(t, err)
	traits, known := sensors.BathTemperature.Traits()
	require.True(t, known)
	return rules.Room{ID: "room", Name: "Room", Volume: 30,
		Channels: []sensors.Channel{{ID: probe, Name: "Developer tray", Kind: sensors.BathTemperature, Unit: unit, Traits: traits}},
		Baths: []rules.Bath{{ID: "developer", Name: "Developer", Role: rules.Developer, Channel: probe, Accuracy: 0.1, Developing: table},
			{ID: "fixer", Name: "Fixer", Role: rules.Fixer}}}
}

func at(d time.Duration) sensors.Instant {
	return sensors.Instant{Wall: time.Date(2026, 3, 4, 18, 0, 0, 0, time.UTC).Add(d), Mono: d}
}

// look is the developer of the room at a temperature and a moment.
func look(room rules.Room, board rules.Board, c float64, now sensors.Instant) rules.BathView {
	board.Readings = map[sensors.ChannelID]sensors.Reading{probe: {Channel: probe, At: now, Raw: c, Value: c, Grade: sensors.Good}}
	snap, _, _ := rules.Evaluate(room, board, now)
	return snap.Baths[0]
}

func do(t *testing.T, room rules.Room, board rules.Board, act rules.Act, now sensors.Instant) rules.Board {
	c := rules.Command{Room: room.ID, Person: "Ada", Act: act}
	require.NoError(t, rules.Check(room, board, c))
	after, err := rules.Apply(board, rules.Done{Command: c, Record: 7, At: now.Wall}, now)
	require.NoError(t, err)
	return after
}

func TestATimeIsToBeAnnouncedUntilSomebodyHasAndAgainWhenItHasMovedFarEnough(t *testing.T) {
	room := developerRoom(t)
	board := holds(rules.NewBoard(), "developer", rules.Portion{Record: 7, Filled: at(0).Wall})
	view := look(room, board, 20, at(time.Minute))
	require.True(t, view.Announce, "nothing has been told yet")
	require.Nil(t, view.Told)

	board = do(t, room, board, rules.AnnounceTime{Bath: "developer", Seconds: 120}, at(2*time.Minute))
	view = look(room, board, 20, at(3*time.Minute))
	require.False(t, view.Announce)
	require.Equal(t, &rules.Told{Time: 2 * time.Minute, At: at(2 * time.Minute).Wall, By: "Ada"}, view.Told)
	require.False(t, look(room, board, 21.4, at(4*time.Minute)).Announce, "9 % less: 2:00 x 2^-0.14")
	require.True(t, look(room, board, 21.6, at(5*time.Minute)).Announce, "10.5 % less: 2:00 x 2^-0.16")
	room.Announce = 0.2
	require.False(t, look(room, board, 21.6, at(5*time.Minute)).Announce, "the place wants to hear of 20 %")
	room.Announce = 0

	board = holds(board, "developer", rules.Portion{Record: 8, Filled: at(7 * time.Minute).Wall})
	require.True(t, look(room, board, 20, at(8*time.Minute)).Announce, "what was told of the last bath is not told of this one")
}

// Where no time is published, nobody is told to announce one; who warms or cools the fixer announces nothing either.
func TestATrayOutOfItsRangeIsToBeWarmedOrCooled(t *testing.T) {
	room := developerRoom(t)
	room.Baths[0].Band = sensors.Range{Low: 22, High: 28}
	room.Baths[1].Channel, room.Baths[1].Band = probe, sensors.Range{Low: 22, High: 28}
	for _, as := range []struct {
		first, then float64
		acts        [2]string
	}{
		{21, 21, [2]string{"Put hot water round the tray, or announce the time for this temperature.", "Put hot water round the tray."}},
		{21.9, 22.1, [2]string{"Put hot water round the tray, or announce the time for this temperature.", "Put hot water round the tray."}},
		{19, 19, [2]string{"Put hot water round the tray: until then no developing time is known.", "Put hot water round the tray."}},
		{29, 29, [2]string{"Cool the tray, or announce the time for this temperature.", "Cool the tray."}},
		{28.1, 27.9, [2]string{"Cool the tray, or announce the time for this temperature.", "Cool the tray."}},
		{31, 31, [2]string{"Cool the tray: until then no developing time is known.", "Cool the tray."}},
	} {
		board := holds(holds(rules.NewBoard(), "developer", rules.Portion{Record: 7, Filled: at(0).Wall}), "fixer",
			rules.Portion{Record: 8, Filled: at(0).Wall})
		var memory rules.Memory
		var said []string
		c := as.first
		for minute := range 4 {
			now := at(time.Duration(minute) * time.Minute)
			board.Readings = map[sensors.ChannelID]sensors.Reading{probe: {Channel: probe, At: now, Raw: c, Value: c, Grade: sensors.Good}}
			board.Memory = memory
			var snap *rules.Snapshot
			snap, memory, _ = rules.Evaluate(room, board, now)
			said = nil
			for _, a := range snap.Alarms {
				said = append(said, a.Act.String())
			}
			c = as.then
		}
		require.Subset(t, said, as.acts[:], "%v °C", c)
	}
}

func TestAnAnnouncementThatMakesNoSenseIsRefused(t *testing.T) {
	room := developerRoom(t)
	for _, c := range []struct {
		act  rules.AnnounceTime
		want string
	}{
		{rules.AnnounceTime{Bath: "soup", Seconds: 60}, "no bath"},
		{rules.AnnounceTime{Bath: "fixer", Seconds: 60}, "only a developing time"},
		{rules.AnnounceTime{Bath: "developer"}, "no time to announce"},
	} {
		require.ErrorContains(t, rules.Check(room, rules.NewBoard(), rules.Command{Person: "Ada", Act: c.act}), c.want)
	}
}

func TestWhatTheShelfKnowsReachesTonightsTime(t *testing.T) {
	room, now := developerRoom(t), at(time.Minute)
	board := rules.NewBoard()
	shelf := func(k rules.Known) rules.Board {
		board.Shelf.Filled = map[string]rules.Portion{"developer": {Record: 3, What: "print developer", By: "Ada", Filled: at(0).Wall, Known: &k}}
		return board
	}
	plain := look(room, shelf(rules.Known{}), 20, now).Recommendation
	require.Equal(t, []phrase.Sentence{phrase.Say("strength"), phrase.Say("use")}, plain.Unknown())
	exact, ok := plain.Time()
	require.True(t, ok)
	require.Equal(t, 2*time.Minute, exact)

	used := chem.BathUse{Used: 0.5, Capacity: 1, Words: phrase.Say("10 sheets 8x10")}
	room.Baths[0].Slowing = 0.2
	slowed, ok := look(room, shelf(rules.Known{Made: 0.1, Aim: 0.1, Use: used}), 20, now).Recommendation.Time()
	require.True(t, ok)
	require.InDelta(t, 132, slowed.Seconds(), 0.5, "half of the capacity and 20 %% when used up: 10 %% more")

	weak := look(room, shelf(rules.Known{Made: 100.0 / 1100, Aim: 0.1, Use: used}), 20, now).Recommendation
	require.Contains(t, weak.Refusal().String(), "9.09 % instead of 10 %", "100 mL and 1000 mL for 1+9, and no second dilution is published")

	room.Baths[0].Published = []chem.DilutionTime{{Parts: chem.Parts{Concentrate: 1, Water: 7}, Time: 60 * time.Second},
		{Parts: chem.Parts{Concentrate: 1, Water: 15}, Time: 95 * time.Second}}
	longer, ok := look(room, shelf(rules.Known{Made: 100.0 / 1100, Aim: 0.1}), 20, now).Recommendation.Time()
	require.True(t, ok)
	require.Greater(t, longer, exact, "weaker takes longer")

	emergence := chem.Emergence{Fresh: 12 * time.Second, FreshAt: 20, Now: []time.Duration{18 * time.Second}}
	tired, ok := look(room, shelf(rules.Known{Made: 0.1, Aim: 0.1, Emergence: emergence}), 20, now).Recommendation.Time()
	require.True(t, ok)
	require.Greater(t, tired, 150*time.Second, "an image that comes half as late again")

}

// A time that goes from 1:21 to 1:23 and back within a minute can't be announced, and no print shows it. It follows a
// bath that really cools, and the stated range holds what the last reading alone would give.
func TestADevelopingTimeStandsStillWhileReadingsScatter(t *testing.T) {
	room := developerRoom(t)
	board := holds(rules.NewBoard(), "developer", rules.Portion{Record: 7, Filled: at(0).Wall})
	now := time.Duration(0)
	read := func(c float64) chem.Recommendation {
		now += time.Second
		board.Readings = map[sensors.ChannelID]sensors.Reading{probe: {Channel: probe, At: at(now), Raw: c, Value: c, Grade: sensors.Good}}
		snap, memory, _ := rules.Evaluate(room, board, at(now))
		board.Memory = memory
		return snap.Baths[0].Recommendation
	}
	given := func(r chem.Recommendation) float64 {
		given, ok := r.Time()
		require.True(t, ok)
		return given.Seconds()
	}
	// Two minutes at 20 °C and one at 30 °C: half for each ten degrees.
	by := func(c float64) float64 { return 120 * math.Exp2(-(c-20)/10) }
	require.InDelta(t, by(22.4), given(read(22.4)), 0.5)
	for _, c := range []float64{22.3, 22.5, 22.21, 22.59} {
		r := read(c)
		low, high := r.Interval()
		require.InDelta(t, by(22.4), given(r), 0.5, "%v", c)
		require.LessOrEqual(t, low.Seconds(), by(c))
		require.GreaterOrEqual(t, high.Seconds(), by(c))
	}
	require.InDelta(t, by(22.1), given(read(22.1)), 0.5, "it has really cooled")
	read(20.1)
	require.False(t, read(19.9).Refusal().IsZero(), "no time is published for the bath as it is now")
	require.InDelta(t, by(20), given(read(20)), 0.5, "one is again")
}
