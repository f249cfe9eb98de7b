package rules_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/rules"
	"wetside/sensors"
)

// behind is the way of a print through baths; those that are filled stand ready, of a fixer with its share of concentrate.
func behind(paper chem.Paper, filled map[rules.Role][]chem.Strength) map[chem.Stage]time.Duration {
	var s rules.Snapshot
	for _, role := range []rules.Role{rules.StopBath, rules.Fixer, rules.Fixer, rules.WashAid, rules.Wash} {
		b := rules.BathView{Bath: rules.Bath{Role: role}}
		if shares := filled[role]; len(shares) > 0 {
			b.Portion = &rules.Portion{Known: &rules.Known{Made: shares[0]}}
			filled[role] = shares[1:]
		}
		s.Baths = append(s.Baths, b)
	}
	line, _ := s.WetLine(paper)
	times := map[chem.Stage]time.Duration{}
	for _, t := range line.Written() {
		times[t.Stage] = t.Time
	}
	return times
}

// An hour of washing without wash aid and five minutes in one fixer, three in each of two (the sources stand beside the
// published times): what is not in its tray tonight does nothing for a print.
func TestAPrintStaysLongerWhereABathIsLeftOut(t *testing.T) {
	type filled = map[rules.Role][]chem.Strength
	all := behind(chem.FibreDoubleWeight, filled{rules.Fixer: {0.2, 0.2}, rules.WashAid: {0.1}})
	require.Equal(t, 3*time.Minute, all[chem.FirstFixing])
	require.Equal(t, 3*time.Minute, all[chem.SecondFixing])
	require.Equal(t, 20*time.Minute, all[chem.Washing])

	less := behind(chem.FibreDoubleWeight, filled{rules.Fixer: {0.2}})
	require.Equal(t, 5*time.Minute, less[chem.FirstFixing])
	require.NotContains(t, less, chem.SecondFixing, "its tray is empty")
	require.NotContains(t, less, chem.WashAiding)
	require.Equal(t, time.Hour, less[chem.Washing])

	before := behind(chem.FibreDoubleWeight, filled{})
	require.Contains(t, before, chem.SecondFixing, "before the set-up the room has two")
}

// Resin-coated paper stays half a minute in rapid fixer 1+4 and a minute at 1+9 (from memory). A fixer of which a label
// alone is known may be the weaker one.
func TestAFixerOfUnknownStrengthIsTakenAsTheWeakerOne(t *testing.T) {
	for share, stays := range map[chem.Strength]time.Duration{0.2: 30 * time.Second, 0.1: time.Minute, 0: time.Minute} {
		times := behind(chem.ResinCoated, map[rules.Role][]chem.Strength{rules.Fixer: {share, share}})
		require.InDelta(t, stays.Seconds(), times[chem.FirstFixing].Seconds(), 1e-6, "share %v", share)
	}
	times := behind(chem.ResinCoated, nil)
	require.InDelta(t, 60, times[chem.FirstFixing].Seconds(), 1e-6, "before it is poured the board promised half of what it takes at 1+9")
}

// The readings of a tray at rest scatter by a tenth or so. A time that follows each of them can't be read.
func TestATimeBehindTheDeveloperStandsStillWhileReadingsScatter(t *testing.T) {
	const inFixer sensors.ChannelID = "fixer-tray"
	room := developerRoom(t)
	fixer := room.Channels[0]
	fixer.ID, room.Baths[1].Channel = inFixer, inFixer
	room.Channels = append(room.Channels, fixer)
	board := holds(rules.NewBoard(), "fixer", rules.Portion{Record: 7, Filled: at(0).Wall})
	now := time.Duration(0)
	fixing := func(c float64) time.Duration {
		now += time.Second
		board.Readings = map[sensors.ChannelID]sensors.Reading{inFixer: {Channel: inFixer, At: at(now), Raw: c, Value: c, Grade: sensors.Good}}
		snap, memory, _ := rules.Evaluate(room, board, at(now))
		board.Memory = memory
		times := snap.BehindDeveloper(chem.FibreDoubleWeight)
		require.Equal(t, chem.FirstFixing, times[1].Stage)
		return times[1].Time
	}
	cold := fixing(18)
	require.Equal(t, 345*time.Second, cold, "300 s, twice as long for each 10 degrees below 20: 344.6 s")
	for _, c := range []float64{18.1, 17.9, 18.19, 17.82} {
		require.Equal(t, cold, fixing(c), "%v", c)
	}
	require.Equal(t, 355*time.Second, fixing(17.7), "it has really cooled: 351.9 s")
	board = holds(board, "fixer", rules.Portion{Record: 8, Filled: at(now).Wall})
	require.Equal(t, 350*time.Second, fixing(17.8), "another bath is in the tray: 349.4 s")
}
