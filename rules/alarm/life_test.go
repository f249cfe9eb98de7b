package alarm_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/alarm"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// arrows are the ways from state to state in the alarm state diagram of
// ANSI/ISA-18.2 and IEC 62682 (from memory), but for those of latched alarms. Shelving, suppression by design and
// taking out of service lead out of every state; from each of the three an alarm
// goes back to normal, or straight to unacknowledged where its condition holds.
func arrows() map[alarm.State][]alarm.State {
	diagram := map[alarm.State][]alarm.State{
		alarm.Normal: {alarm.Unacknowledged}, // A-B alarm occurs
		// B-C acknowledge, B-D return to normal
		alarm.Unacknowledged: {alarm.Acknowledged, alarm.Returned},
		// C-A return to normal, C-B raised again
		alarm.Acknowledged: {alarm.Normal, alarm.Unacknowledged},
		alarm.Returned:     {alarm.Normal, alarm.Unacknowledged}, // D-A acknowledge, D-B raised again
		alarm.Shelved:      {alarm.Normal, alarm.Unacknowledged}, // G un-shelve
		alarm.Suppressed:   {alarm.Normal, alarm.Unacknowledged}, // H un-suppress
		alarm.OutOfService: {alarm.Normal},                       // I return to service
	}
	aside := []alarm.State{alarm.Shelved, alarm.Suppressed, alarm.OutOfService}
	for state := range diagram {
		for _, to := range aside {
			if to != state {
				diagram[state] = append(diagram[state], to)
			}
		}
	}
	return diagram
}

// life drives two plain alarms and the child of one of them by random signals and acts.
type life struct {
	set         alarm.Set
	now         sensors.Instant
	signals     []alarm.Signal
	transitions []alarm.Transition
	diagram     map[alarm.State][]alarm.State
}

func newLife() *life {
	profile := alarm.Profile{OnDelay: 15 * time.Second, OffDelay: 10 * time.Second}
	return &life{now: sensors.Instant{Wall: time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC)}, diagram: arrows(), signals: []alarm.Signal{
		{ID: "port", Says: words("port"), Armed: true, Holds: alarm.False, Profile: profile},
		{ID: "probe", Says: words("probe"), Armed: true, Holds: alarm.False, Profile: profile, Parent: "port"},
		{ID: "gas", Says: words("gas"), Armed: true, Holds: alarm.False, Profile: profile},
	}}
}

func words(id string) alarm.Words {
	return alarm.Words{Text: phrase.Say("%s is wrong", id), Act: phrase.Say("look at %s", id), Cause: phrase.Say("%s was seen", id)}
}

func (l *life) step(seconds int) {
	l.now.Mono += time.Duration(seconds) * time.Second
	l.now.Wall = l.now.Wall.Add(time.Duration(seconds) * time.Second)
	var moved []alarm.Transition
	l.set, moved = alarm.Step(l.set, l.signals, l.now)
	l.transitions = append(l.transitions, moved...)
}

func (l *life) took(set alarm.Set, moved alarm.Transition, err error) {
	if err == nil {
		l.set = set
		l.transitions = append(l.transitions, moved)
	}
}

func (l *life) state(id string) alarm.State {
	if a, ok := l.set[id]; ok {
		return a.State
	}
	return alarm.Normal
}

func TestEveryPathIsAPathOfTheStandardsDiagram(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := newLife()
		by := alarm.By{Person: "invented volunteer", Note: "looked"}
		which := rapid.SampledFrom([]string{"port", "probe", "gas"})
		t.Repeat(map[string]func(*rapid.T){
			"time": func(t *rapid.T) { l.step(rapid.IntRange(1, 40).Draw(t, "seconds")) },
			"signal": func(t *rapid.T) {
				i := rapid.IntRange(0, 2).Draw(t, "which")
				l.signals[i].Holds = rapid.SampledFrom([]alarm.Truth{alarm.Unknown, alarm.False, alarm.True, alarm.Between}).Draw(t, "holds")
			},
			"arm": func(t *rapid.T) {
				armed := rapid.Bool().Draw(t, "armed")
				for i := range l.signals {
					l.signals[i].Armed = armed
				}
			},
			"acknowledge": func(t *rapid.T) { l.took(l.set.Acknowledge(which.Draw(t, "which"), by, l.now)) },
			"shelve": func(t *rapid.T) {
				until := l.now.Wall.Add(time.Duration(rapid.IntRange(1, 600).Draw(t, "seconds")) * time.Second)
				l.took(l.set.Shelve(which.Draw(t, "which"), alarm.Shelving{By: by, Until: until}, l.now))
			},
			"out of service": func(t *rapid.T) { l.took(l.set.TakeOutOfService(which.Draw(t, "which"), by, l.now)) },
			"put back":       func(t *rapid.T) { l.took(l.set.PutBack(which.Draw(t, "which"), by, l.now)) },
			"restart": func(t *rapid.T) {
				restored := alarm.Set{}
				for _, a := range l.set {
					restored = restored.Restore(*a)
				}
				l.set = restored
			},
			"": func(t *rapid.T) { l.check(t) },
		})
	})
}

// check follows each alarm along its transitions: each an arrow of the diagram,
// each beginning where the last one ended, the last one where the alarm stands.
func (l *life) check(t *rapid.T) {
	at := map[string]alarm.State{"port": alarm.Normal, "probe": alarm.Normal, "gas": alarm.Normal}
	for _, m := range l.transitions {
		if m.From != at[m.ID] {
			t.Fatalf("%s jumped from %q to %q", m.ID, at[m.ID], m.From)
		}
		if !slices.Contains(l.diagram[m.From], m.To) {
			t.Fatalf("%s went from %q to %q: no arrow of the diagram", m.ID, m.From, m.To)
		}
		if m.Cause.IsZero() || m.Alarm.State != m.To {
			t.Fatalf("%s went from %q to %q without a cause or its alarm", m.ID, m.From, m.To)
		}
		at[m.ID] = m.To
	}
	for id, state := range at {
		if l.state(id) != state {
			t.Fatalf("%s stands at %q but its transitions end at %q", id, l.state(id), state)
		}
	}
}

func TestNoiseWithinTheDeadbandCausesNoChatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		level := rapid.Float64Range(5, 500).Draw(t, "level")
		band, err := alarm.Flow.Below(level, 600)
		require.NoError(t, err)
		profile := alarm.Flow.Profile()
		profile.OnDelay, profile.OffDelay = 0, 0 // the deadband alone has to do it
		l := newLife()
		for range rapid.IntRange(10, 200).Draw(t, "readings") {
			value := rapid.Float64Range(band.Raise, band.Clear-1e-9).Draw(t, "value")
			l.signals = []alarm.Signal{{ID: "flow", Says: words("flow"), Armed: true, Holds: band.Truth(value), Profile: profile}}
			l.step(1)
		}
		require.Empty(t, l.transitions, "noise that never goes below the level raises nothing")
		l.signals[0].Holds = band.Truth(level - 1)
		l.step(1)
		for range 50 {
			l.signals[0].Holds = band.Truth(rapid.Float64Range(level-1, band.Clear-1e-9).Draw(t, "value"))
			l.step(1)
		}
		require.Len(t, l.transitions, 1, "once raised it stays until the value has left the deadband")
		l.signals[0].Holds = band.Truth(band.Clear)
		l.step(1)
		require.Equal(t, alarm.Returned, l.state("flow"))
	})
}

func TestNoiseWithDelaysIsBounded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := newLife()
		seconds := rapid.IntRange(60, 600).Draw(t, "seconds")
		for range seconds {
			l.signals[0].Holds = alarm.Of(rapid.Bool().Draw(t, "holds"))
			l.step(1)
		}
		// A raise needs 15 s of one truth and a return 10 s of the other: at most one pair in 25 s.
		own := slices.DeleteFunc(l.transitions, func(m alarm.Transition) bool { return m.ID != "port" })
		require.LessOrEqual(t, len(own), 2*(seconds/25+1))
	})
}

func TestOneCauseIsOneAlarm(t *testing.T) {
	l := newLife()
	l.step(1)
	l.signals[0].Holds, l.signals[1].Holds = alarm.True, alarm.True
	for range 60 {
		l.step(1)
	}
	require.Equal(t, alarm.Unacknowledged, l.state("port"))
	require.Equal(t, alarm.Suppressed, l.state("probe"), "a lost port explains its silent probes")
	l.signals[0].Holds = alarm.False
	l.step(1)
	require.Equal(t, alarm.Normal, l.state("probe"), "a probe gets its whole delay to come back")
	for range 14 {
		l.step(1)
	}
	require.Equal(t, alarm.Normal, l.state("probe"))
	l.step(1)
	require.Equal(t, alarm.Unacknowledged, l.state("probe"), "what the port no longer explains is an alarm of its own")
}

func TestWhatPeopleWereToldOfStandsWhileItsCauseIsOnlySuspected(t *testing.T) {
	l := newLife()
	l.signals[1].Holds = alarm.True
	l.step(1)
	l.step(15)
	require.Equal(t, alarm.Unacknowledged, l.state("probe"))
	for _, moment := range []alarm.Truth{alarm.Unknown, alarm.True} { // a moment is less than the port's delay
		l.signals[0].Holds, l.signals[1].Holds = moment, alarm.Unknown
		l.step(1)
		l.step(9)
		require.Equal(t, alarm.Unacknowledged, l.state("probe"))
		l.signals[0].Holds, l.signals[1].Holds = alarm.False, alarm.True
		l.step(1)
	}
	require.Len(t, l.transitions, 1, "raised once, neither dropped nor raised again")
	l.signals[0].Holds = alarm.True
	l.step(1)
	l.step(15)
	l.step(1)
	require.Equal(t, alarm.Unacknowledged, l.state("port"))
	require.Equal(t, alarm.Suppressed, l.state("probe"), "now one alarm says it")
}

func TestAChildOfAChildIsHeldByTheFirstCause(t *testing.T) {
	l := newLife()
	l.signals[2].Parent = "probe"
	l.signals[2].Holds = alarm.True
	l.step(1)
	l.step(15)
	l.signals[0].Holds, l.signals[1].Holds = alarm.True, alarm.True
	l.step(5)
	require.Equal(t, alarm.Suppressed, l.state("probe"))
	require.Equal(t, alarm.Unacknowledged, l.state("gas"), "the port is only suspected")
	l.step(15)
	l.step(1)
	require.Equal(t, alarm.Suppressed, l.state("gas"), "the port says it, by way of the probe")
}

func TestADelayWaitsWhileTheConditionCantBeTold(t *testing.T) {
	l := newLife()
	for range 3 { // five seconds of it, then nothing for a while
		l.signals[0].Holds = alarm.True
		l.step(1)
		l.step(4)
		require.Equal(t, alarm.Normal, l.state("port"))
		l.signals[0].Holds = alarm.Unknown
		l.step(1)
		l.step(100)
		require.Equal(t, alarm.Normal, l.state("port"), "what can't be told raises nothing")
	}
	l.signals[0].Holds = alarm.True
	l.step(1)
	require.Equal(t, alarm.Unacknowledged, l.state("port"), "together it has held for its delay")
}

func TestAShelvedAlarmComesBackAtItsEnd(t *testing.T) {
	l := newLife()
	by := alarm.By{Person: "invented keeper", Note: "cable on order"}
	l.signals[0].Holds = alarm.True
	l.step(1)
	l.step(20)
	l.took(l.set.Shelve("port", alarm.Shelving{By: by, Until: l.now.Wall.Add(time.Hour)}, l.now))
	require.Equal(t, "invented keeper", l.set.Apart()[0].By)
	l.step(3599)
	require.Equal(t, alarm.Shelved, l.state("port"))
	l.step(1)
	require.Equal(t, alarm.Unacknowledged, l.state("port"), "its condition still holds")

	for name, c := range map[string]struct {
		until time.Time
		by    alarm.By
	}{
		"no reason":   {l.now.Wall.Add(time.Hour), alarm.By{Person: "invented keeper"}},
		"no name":     {l.now.Wall.Add(time.Hour), alarm.By{Note: "cable on order"}},
		"end gone by": {l.now.Wall, by},
		"no real end": {l.now.Wall.Add(25 * time.Hour), by},
	} {
		_, _, err := l.set.Shelve("port", alarm.Shelving{By: c.by, Until: c.until}, l.now)
		require.Error(t, err, name)
	}
}

func TestAnAlarmThatIsNoLongerWatchedLeavesByTheDiagram(t *testing.T) {
	l := newLife()
	l.signals[0].Holds, l.signals[2].Holds = alarm.True, alarm.True
	l.step(1)
	l.step(20)
	l.signals = l.signals[1:]
	l.step(1)
	n := len(l.transitions)
	require.Equal(t, alarm.Unacknowledged, l.state("gas"), "the others stay")
	l.signals = l.signals[:1]
	l.step(1)
	l.transitions = l.transitions[:n]
	require.Equal(t, []alarm.State{alarm.OutOfService, alarm.Normal}, []alarm.State{l.transitions[n-2].To, l.transitions[n-1].To})
	require.Equal(t, alarm.Removed(), l.transitions[n-1].Cause)
	require.Empty(t, l.set, "nothing is left that a restart would bring back")
	require.Empty(t, alarm.Set{}.Restore(l.transitions[n-1].Alarm))
}

func TestAStepThatChangesNothingCostsNothing(t *testing.T) {
	l := newLife()
	for i := range l.signals {
		l.signals[i].Armed = false
	}
	l.step(1)
	require.Len(t, l.set, 3)
	require.LessOrEqual(t, testing.AllocsPerRun(100, func() { alarm.Step(l.set, l.signals, l.now) }), 1.0)
}

// comma writes 20,5.
type comma struct{ phrase.Inside }

func (comma) Sign(number string) string { return strings.Replace(number, ".", ",", 1) }

func TestAfterARestartAnAlarmHasTheFiguresOfThePlaceWhereItsWordsAreStillTheSame(t *testing.T) {
	l := newLife()
	says := words("port")
	says.Text = phrase.Say("port reads %.1f", 20.5)
	l.signals[0].Says, l.signals[0].Holds = says, alarm.True
	l.step(1)
	l.step(20)
	text, err := json.Marshal(l.set["port"])
	require.NoError(t, err)
	var recorded alarm.Alarm
	require.NoError(t, json.Unmarshal(text, &recorded))
	recorded.Act = phrase.Plain("look as an older version said")
	l.set = alarm.Set{}.Restore(recorded)
	l.signals[0].Holds = alarm.Unknown
	l.step(1)
	require.Equal(t, "port reads 20.5", l.set["port"].Text.By(comma{}), "what was recorded stays as it was written")
	l.signals[0].Holds = alarm.True
	l.step(1)
	require.Equal(t, "port reads 20,5", l.set["port"].Text.By(comma{}))
	require.Equal(t, "port reads 20.5", l.set["port"].Text.String())
	require.Equal(t, "look as an older version said", l.set["port"].Act.String())
}
