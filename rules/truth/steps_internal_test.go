package truth

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
)

const (
	moves = 176 // the first slot in which a step moves that is looked for at slot 200
	looks = 200
)

// heldBy is a watch at slot 200 of channels that were filled as given.
func heldBy(list ...*track) *Watch {
	w := NewWatch(nil)
	for _, t := range list {
		w.tracks[t.channel.ID] = t
		w.order = append(w.order, t.channel.ID)
	}
	w.slot = looks
	return w
}

func instantOf(slot int64) sensors.Instant {
	mono := time.Duration(slot) * slotWidth
	return sensors.Instant{Mono: mono, Wall: time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC).Add(mono)}
}

// stepsBy is a value that takes another one within the two minutes of a step.
func stepsBy(before, after float64) func(int64) float64 {
	return func(n int64) float64 {
		if n < moves+6 {
			return before
		}
		return after
	}
}

// A step of a bath in steps of 0.01 K: 0.36 K at least into the air, or 1.02 K to anywhere.
func TestAStepOfABathIsSuspectedIntoTheAirOrFarAway(t *testing.T) {
	for name, c := range map[string]struct {
		before, after, air, step float64
		inAir, jumped            bool
	}{
		"into the air":                {21, 20, 20, 0.01, true, false},
		"nearly into it":              {21, 20.24, 20, 0.01, true, false},
		"not into it":                 {21, 20.26, 20, 0.01, false, false},
		"a little into it":            {20.46, 20.09, 20, 0.01, true, false},
		"hardly a step":               {20.46, 20.11, 20, 0.01, false, false},
		"up into it":                  {19, 20, 20, 0.01, true, false},
		"back from it":                {20.24, 25, 20, 0.01, false, false},
		"from beside it":              {20.26, 25, 20, 0.01, false, true},
		"a kelvin and a bit":          {22, 23.03, 20, 0.01, false, true},
		"a kelvin":                    {22, 23.01, 20, 0.01, false, false},
		"coarse, into the air":        {22, 20, 20, 0.5, true, true},
		"coarse, nearly":              {22, 20.49, 20, 0.5, true, false},
		"coarse, not":                 {22, 20.51, 20, 0.5, false, false},
		"coarse, by less":             {20.88, 20, 20, 0.5, false, false},
		"coarse, and far away":        {22, 24.1, 20, 0.5, false, true},
		"coarse, and not so far":      {22, 23.9, 20, 0.5, false, false},
		"within a fifth it is fine":   {21, 20.1, 20, 0.2, true, false},
		"beyond a fifth it is coarse": {19.3, 19.95, 20, 0.4, false, false},
	} {
		bath := tracked(t, sensors.BathTemperature, 100, looks, stepsBy(c.before, c.after))
		bath.live.step = c.step
		w := heldBy(bath, tracked(t, sensors.AirTemperature, 100, looks, flatAt(c.air)))
		x, suspected := w.stepped(bath, instantOf(looks))
		require.Equal(t, c.inAir || c.jumped, suspected, name)
		require.Equal(t, c.inAir, x.inAir, name)
		require.Equal(t, c.jumped, x.jumped, name)
		if suspected {
			require.Equal(t, instantOf(moves).Wall, x.From, name)
			require.InDelta(t, c.after-c.air, x.apart, 1e-9, name)
		}
	}
}

// The air cools by 0.2 K a minute from slot 160 to 175. A slow probe that lies in it comes after it by 0.3 K; a bath was farther away.
func TestAProbeThatLiesInTheAirAndComesAfterItIsNotTakenForABath(t *testing.T) {
	air := tracked(t, sensors.AirTemperature, 100, looks, func(n int64) float64 { return max(19.5, 20-0.033*float64(max(0, n-160))) })
	for before, suspected := range map[float64]bool{20: false, 20.3: true} {
		x := tracked(t, sensors.BathTemperature, 100, looks, stepsBy(before, 19.5))
		_, found := heldBy(x, air).stepped(x, instantOf(looks))
		require.Equal(t, suspected, found, before)
	}
}

func TestAnEntryOfTenMinutesBeforeExplainsAStep(t *testing.T) {
	for slot, explains := range map[int64]bool{moves - actSlots - 1: false, moves - actSlots: true, looks: true} {
		bath := tracked(t, sensors.BathTemperature, 100, looks, stepsBy(22, 20))
		w := heldBy(bath, tracked(t, sensors.AirTemperature, 100, looks, flatAt(20)))
		w.acts = []doing{{bath.channel.ID, slot}}
		_, suspected := w.stepped(bath, instantOf(looks))
		require.Equal(t, !explains, suspected, slot)
	}
	bath := tracked(t, sensors.BathTemperature, 100, looks, stepsBy(22, 23.5))
	x, suspected := heldBy(bath).stepped(bath, instantOf(looks))
	require.True(t, suspected && x.jumped && !x.inAir, "a room without a probe of its air")
	late := tracked(t, sensors.AirTemperature, 190, looks, flatAt(23.5))
	x, suspected = heldBy(bath, late).stepped(bath, instantOf(looks))
	require.True(t, suspected && x.jumped && !x.inAir, "one that was not read yet before the step")
}

// exchangedTo are two baths that take on each other's level, but for something.
func TestTwoBathsThatTakeOnEachOthersLevelWereExchanged(t *testing.T) {
	two := func(a, b func(int64) float64) (*track, *track) {
		first, second := tracked(t, sensors.BathTemperature, 100, looks, a), tracked(t, sensors.BathTemperature, 100, looks, b)
		first.channel.ID, second.channel.ID = "DEV", "STP"
		return first, second
	}
	for name, c := range map[string]struct {
		a, b  func(int64) float64
		step  float64
		acted sensors.ChannelID
		found bool
	}{
		"each other's":      {stepsBy(22, 20), stepsBy(20, 22), 0.01, "", true},
		"nearly":            {stepsBy(22, 20.24), stepsBy(20, 21.76), 0.01, "", true},
		"one does not":      {stepsBy(22, 20.26), stepsBy(20, 22), 0.01, "", false},
		"the other not":     {stepsBy(22, 20), stepsBy(20, 21.74), 0.01, "", false},
		"too near":          {stepsBy(20.44, 20), stepsBy(20, 20.44), 0.01, "", false},
		"near":              {stepsBy(20.46, 20), stepsBy(20, 20.46), 0.01, "", true},
		"too coarse":        {stepsBy(22, 20), stepsBy(20, 22), 0.5, "", false},
		"the first filled":  {stepsBy(22, 20), stepsBy(20, 22), 0.01, "DEV", false},
		"the second filled": {stepsBy(22, 20), stepsBy(20, 22), 0.01, "STP", false},
		"the second moves": {stepsBy(22, 20), func(n int64) float64 {
			return stepsBy(20, 22)(n) + 0.02*float64(n-looks+6)
		}, 0.01, "", false},
	} {
		a, b := two(c.a, c.b)
		a.live.step, b.live.step = c.step, c.step
		w := heldBy(a, tracked(t, sensors.WaterTemperature, 100, looks, stepsBy(20, 22)), b)
		if c.acted != "" {
			w.acts = []doing{{c.acted, moves - actSlots}}
		}
		found := w.exchanged(instantOf(looks))
		require.Equal(t, c.found, len(found) == 1, name)
		if c.found {
			require.Equal(t, []sensors.ChannelID{"DEV", "STP"}, found[0].Channels, name)
			require.Equal(t, instantOf(moves).Wall, found[0].From, name)
			require.Equal(t, name != "near", found[0].Percent() == 99, "two that are near to each other may have met by chance")
			require.Contains(t, found[0].Basis.String(), "has a chance of 0.2 in 100", "(2·0.25 K of 10 K)², half a per mille rounded down")
		}
	}
}

func TestAStepIntoTheAirIsFollowedWhileItComesNearer(t *testing.T) {
	bath := tracked(t, sensors.BathTemperature, 100, looks, stepsBy(22, 20.05))
	w := heldBy(bath, tracked(t, sensors.AirTemperature, 100, looks, flatAt(20)))
	id := bath.channel.ID
	for name, c := range map[string]struct {
		first  suspicion
		apart  float64
		begun  int64
		waited bool
	}{
		"first seen":      {suspicion{}, 0.05, looks, false},
		"it came nearer":  {suspicion{inAir: true, apart: 0.2, begun: 195}, 0.05, 195, true},
		"it was far away": {suspicion{inAir: false, apart: 0.9, begun: 195}, 0.05, looks, true},
	} {
		w.suspicions = map[sensors.ChannelID]suspicion{}
		if c.waited {
			c.first.step = w.edge(bath)
			w.suspicions[id] = c.first
		}
		require.Empty(t, w.suspect(bath, instantOf(looks)), name)
		require.InDelta(t, c.apart, w.suspicions[id].apart, 1e-9, name)
		require.Equal(t, c.begun, w.suspicions[id].begun, name)
	}
}

// A step of 1 K beside a quarter of a step of 0.01 K, the least that counts as usual; an even drift is left out of it.
func TestAChangeIsMeasuredBesideThoseOfTheHourBefore(t *testing.T) {
	for name, c := range map[string]struct {
		value        func(n int64) float64
		from         int64
		moved, times float64
	}{
		"a step of still water":    {stepsBy(20, 21), 100, 1, 1 / (stepShare * 0.01)},
		"a step on an even drift":  {func(n int64) float64 { return stepsBy(20, 21)(n) + 0.01*float64(n) }, 100, 1.18, 1 / (stepShare * 0.01)},
		"too little of it is seen": {stepsBy(20, 21), 400, 0, 0},
		"a value that stood":       {flatAt(20), 100, 0, 0},
		"a step where an even drift doubles": {func(n int64) float64 {
			return stepsBy(20, 21)(n) + 0.01*float64(n) + 0.01*max(0, float64(n)-178.5)
		}, 100, 1 + 0.01*18 + 0.01*9, 1 / (18 * 0.01 / 2)},
		"a step at the top of a hill, of 18 slots between the middles": {func(n int64) float64 {
			return stepsBy(20, 21)(n) - 0.004*min(math.Abs(float64(n)-178.5), 30)
		}, 100, 1, 1 / (18 * 0.004)},
	} {
		x := tracked(t, sensors.WaterTemperature, c.from, 560, func(n int64) float64 { return c.value(n - 300) })
		got := x.changed(moves+300-quietSlots, moves+300+6)
		require.InDelta(t, c.moved, got.moved, 1e-6, name)
		require.InDelta(t, c.times, got.times, 1e-3*c.times, name)
		require.Zero(t, x.changed(moves+300-quietSlots, 560), "%s: nothing was read after", name)
	}
}

// The tray of the developer is filled, and it is the probe of the fixer that answers: once is chance, the other way round as well is not.
func TestABathThatIsFilledIsAnsweredByItsOwnProbe(t *testing.T) {
	for name, c := range map[string]struct {
		own, other, third float64 // by how much they step
		acted             int64   // when something was done to the other as well, zero for never
		answered          bool
	}{
		"the other answers":        {0, 0.81, 0, 0, true},
		"too little":               {0, 0.79, 0, 0, false},
		"its own too":              {0.26, 2, 0, 0, false},
		"its own a little":         {-0.24, 2, 0, 0, true},
		"two answer":               {0, 2, 2, 0, false},
		"the other was filled too": {0, 2, 0, moves - actSlots/2, false},
		"long before":              {0, 2, 0, moves - actSlots/2 - 1, true},
	} {
		var list []*track
		for i, by := range []float64{c.own, c.other, c.third} {
			bath := tracked(t, sensors.BathTemperature, 100, looks, stepsBy(20, 20+by))
			bath.channel.ID = []sensors.ChannelID{"DEV", "STP", "FX1"}[i]
			list = append(list, bath)
		}
		w := heldBy(append(list, tracked(t, sensors.WaterTemperature, 100, looks, stepsBy(20, 25)))...)
		if c.acted > 0 {
			w.acts = append(w.acts, doing{"STP", c.acted})
		}
		other, answered := w.answered(doing{"DEV", moves})
		require.Equal(t, c.answered, answered, name)
		if answered {
			require.Equal(t, sensors.ChannelID("STP"), other, name)
		}
		w.acts = append(w.acts, doing{"DEV", moves})
		require.Empty(t, w.misplaced(instantOf(looks)), "%s: once", name)
		require.Equal(t, c.answered, len(w.wrong) == 1, name)
		w.wrong = []misplaced{{"FX1", "DEV", instantOf(moves).Wall}, {"STP", "DEV", instantOf(moves).Wall}}
		found := w.misplaced(instantOf(looks))
		require.Equal(t, c.answered, len(found) == 1, name)
		if c.answered {
			require.Equal(t, []sensors.ChannelID{"STP", "DEV"}, found[0].Channels, name)
			require.Equal(t, 99, found[0].Percent(), name)
		}
	}
	for after, kept := range map[time.Duration]int{12 * time.Hour: 1, 12*time.Hour + 1: 0} {
		w := heldBy()
		w.wrong = []misplaced{{"STP", "DEV", instantOf(looks).Wall.Add(-after)}}
		w.misplaced(instantOf(looks))
		require.Len(t, w.wrong, kept, after)
	}
}

// A bath that had 22 stepped at slot 176, which was seen at slot 200. What it does then tells where its probe is.
func TestWhatAProbeDoesAfterAStepTellsWhereItIs(t *testing.T) {
	level := func(v, slope float64) func(int64) float64 {
		return func(n int64) float64 { return v + slope*float64(n-looks) }
	}
	for name, c := range map[string]struct {
		bath, air  func(int64) float64
		apart      float64 // from the air after the step
		jumped     bool
		after      int64 // slots since it was seen
		acted      int64
		done, back bool
		what       FindingKind
	}{
		"it hangs in the air":           {level(20, 0), level(20, 0), 0, false, hangSlots, 0, true, false, OutOfBath},
		"not for long enough":           {level(20, 0), level(20, 0), 0, false, hangSlots - 1, 0, false, false, ""},
		"it keeps its distance":         {level(20.29, 0), level(20, 0), 0.2, false, hangSlots, 0, true, false, OutOfBath},
		"it came nearer":                {level(20.09, 0), level(20, 0), 0.25, false, hangSlots, 0, true, false, OutOfBath},
		"it left the air":               {level(20.31, 0), level(20, 0), 0.2, false, hangSlots, 0, false, false, ""},
		"it left, and time is up":       {level(20.31, 0), level(20, 0), 0.2, false, actSlots, 0, true, false, ""},
		"it left after a jump":          {level(20.31, 0), level(20, 0), 0.2, true, actSlots, 0, true, false, Jump},
		"it comes after air that cools": {level(20.27, -0.03), level(20, -0.03), 0, false, hangSlots, 0, true, false, OutOfBath},
		"too far after it":              {level(20.29, -0.03), level(20, -0.03), 0, false, hangSlots, 0, false, false, ""},
		"warmed beside warming air":     {level(20.27, 0.03), level(20, 0.03), 0, false, hangSlots, 0, false, false, ""},
		"it returned":                   {level(21.76, 0), level(20, 0), 0, false, 20, 0, true, true, OutOfBath},
		"not quite":                     {level(21.74, 0), level(20, 0), 0, false, 20, 0, false, false, ""},
		"it passes by":                  {level(22, 0.02), level(20, 0), 0, false, 20, 0, false, false, ""},
		"a jump that went back":         {level(22, 0), level(20, 0), 0.5, true, actSlots, 0, true, true, OutOfBath},
		"an entry explains it":          {level(20, 0), level(20, 0), 0, true, actSlots, moves - actSlots, true, false, ""},
		"an entry long before does not": {level(20, 0), level(20, 0), 0, true, actSlots, moves - actSlots - 1, true, false, OutOfBath},
	} {
		bath := tracked(t, sensors.BathTemperature, 100, looks+c.after, c.bath)
		w := heldBy(bath, tracked(t, sensors.AirTemperature, 100, looks+c.after, c.air))
		w.slot, w.acts = looks+c.after, []doing{{bath.channel.ID, c.acted}}
		x := suspicion{Finding: Finding{Channels: []sensors.ChannelID{bath.channel.ID}, From: instantOf(moves).Wall}, channel: bath.channel,
			step: edge{before: level22(), from: moves}, apart: c.apart, follows: follows, inAir: true, jumped: c.jumped, begun: looks}
		found, done := w.resolve(x, bath, instantOf(w.slot))
		require.Equal(t, c.done, done, name)
		require.Equal(t, c.what != "", len(found) == 1, name)
		if c.what != "" {
			require.Equal(t, c.what, found[0].What, name)
			require.Equal(t, c.back, !found[0].To.IsZero(), name)
			if name == "it hangs in the air" {
				require.Equal(t, "bath-temperature left 22.0 °C within two minutes and has followed the room air since: its probe may be out of "+
					"the liquid.", found[0].Text.String())
				require.Equal(t, 95, found[0].Percent(), "one in twenty levels lies as near to the air, 0.5 K of 10 K")
			}
		}
	}
}

func level22() level { return level{mean: 22, quiet: true, known: true} }

// Half a minute each, a lag of five minutes between them; fifty such pairs in the hour before are enough.
func TestABriefChangeIsMeasuredBesideTheLargestOfTheHourBefore(t *testing.T) {
	const lag = 30
	for from, known := range map[int64]bool{until - briefSlots - lag - 49: true, until - briefSlots - lag - 48: false} {
		_, _, enough := tracked(t, sensors.WaterTemperature, from, until, flatAt(20)).usualBrief(until, lag)
		require.Equal(t, known, enough, from)
	}
	require.Zero(t, tracked(t, sensors.WaterTemperature, until-50, 600, func(n int64) float64 { return 20 + float64(n/until) }).briefChange(
		until-briefSlots, until), "too little was heard before")
	wave := func(n int64) float64 { return 20 + 0.2*float64(n/lag%2) }
	size, most, known := tracked(t, sensors.WaterTemperature, 210, 600, wave).usualBrief(until, lag)
	require.True(t, known)
	require.InDelta(t, 0.2, most, 1e-9)
	require.InDelta(t, 0.194, size, 0.003, "nearly all of them change by 0.2")
	for by, times := range map[float64]float64{0.44: 0.44 / 0.194, 0.26: 0} { // 1.25 times 0.2, and a quarter of a step
		x := tracked(t, sensors.WaterTemperature, 210, 600, func(n int64) float64 {
			if n >= until+20 {
				return 20 + by
			}
			return 20 + 0.2*float64(min(n, until-1)/lag%2) - 0.2*float64((until-1)/lag%2)
		})
		x.live.step = 0.1
		c := x.briefChange(until, until+lag)
		require.InDelta(t, times, c.times, 0.05*times, by)
		require.InDelta(t, 20+by, c.after, 1e-9, by)
	}
}

// Standing water goes to the temperature of the air within three hours: by 1.1 steps of a tenth, from 5 K off, in 2.2 % of that.
func TestHowSoonStandingWaterShowsThatItStands(t *testing.T) {
	for name, c := range map[string]struct {
		water, air float64
		since      int64 // from when on the air was read
		within     time.Duration
	}{
		"5 K off":              {18, 23, 100, stillWater * 22 / 1000},
		"the other way":        {18, 13, 100, stillWater * 22 / 1000},
		"0.25 K off":           {18, 18.25, 100, stillWater * 44 / 100},
		"as near as its steps": {18, 18.1, 100, mostFlat}, "nobody reads the air": {18, 23, looks, mostFlat},
	} {
		water := tracked(t, sensors.WaterTemperature, 100, looks, flatAt(c.water))
		water.live.step = 0.1
		w := heldBy(water, tracked(t, sensors.AirTemperature, c.since, looks, flatAt(c.air)))
		require.InDelta(t, c.within.Seconds(), w.driftsWithin(water).Seconds(), 1e-3, name)
	}
	alone := tracked(t, sensors.WaterTemperature, 100, looks, flatAt(18))
	require.Equal(t, mostFlat, heldBy(alone).driftsWithin(alone))
}
