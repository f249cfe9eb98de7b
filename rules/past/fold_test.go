package past_test

import (
	"encoding/json"
	"fmt"
	"iter"
	"maps"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/coverage"
	"wetside/rules/past"
	"wetside/rules/record"
	"wetside/rules/session"
	"wetside/rules/ventilation"
)

func begin() time.Time { return time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC) }

// book is an invented record book.
type book struct {
	testing.TB
	past.Fold
	number uint64
}

func (b *book) write(kind string, minutes int, content any) {
	text, err := json.Marshal(content)
	require.NoError(b, err)
	b.number++
	require.NoError(b, b.Apply(record.Record{Number: b.number, Kind: kind, Room: "practice",
		At: begin().Add(time.Duration(minutes) * time.Minute), Content: text}))
}

// eveningsOf are all sessions that a book tells of.
func eveningsOf(f interface {
	Evenings(coverage.Span, time.Time) iter.Seq2[int, past.Evening]
}, now time.Time) (list []past.Evening) {
	for _, e := range f.Evenings(coverage.Span{From: begin().AddDate(-1, 0, 0), To: begin().AddDate(2, 0, 0)}, now) {
		list = append(list, e)
	}
	return list
}

func TestTheFoldTellsSettingsSessionsAndAlarmsAsOfAMoment(t *testing.T) {
	b := &book{TB: t}
	b.write(past.Kind, 0, past.Site{Zone: "UTC", Rooms: []past.Room{{ID: "practice", Volume: 30}}})
	s := session.Session{Phase: session.Open, Begun: begin().Add(time.Minute), Since: begin().Add(time.Minute)}
	b.write(rules.SessionPhase, 1, rules.Event{Session: &s})
	up := alarm.Alarm{ID: "air", State: alarm.Unacknowledged}
	b.write(rules.AlarmChange, 5, rules.Event{Subject: "air", From: string(alarm.Normal), To: string(alarm.Unacknowledged), Alarm: &up})
	b.write(rules.AlarmChange, 9, rules.Event{Subject: "air", From: string(alarm.Unacknowledged), To: string(alarm.Acknowledged),
		Alarm: &alarm.Alarm{ID: "air", By: "Ada"}})
	b.write(past.Kind, 20, past.Site{Zone: "UTC", Rooms: []past.Room{{ID: "practice", Volume: 60}}})
	require.NoError(t, b.Apply(record.Record{Number: 6, Kind: rules.SessionPhase, Content: json.RawMessage(`[7]`)}),
		"what makes no sense is passed over")
	s.Phase, s.Since = session.Closed, begin().Add(90*time.Minute)
	b.write(rules.SessionPhase, 90, rules.Event{Session: &s})

	evenings := eveningsOf(b, begin().Add(2*time.Hour))
	require.Len(t, evenings, 1)
	require.Equal(t, b.number, evenings[0].Record, "the last that was recorded of it")
	require.Equal(t, coverage.Span{From: begin().Add(time.Minute), To: begin().Add(90 * time.Minute)}, evenings[0].Span())
	require.Equal(t, []coverage.Span{evenings[0].Span()}, evenings[0].Open())
	room, known := evenings[0].Then()
	require.True(t, known)
	require.InDelta(t, 30, room.Volume, 0, "the settings of the session's day, not those of today")

	whole := coverage.Span{From: begin(), To: begin().Add(2 * time.Hour)}
	later := b.Alarms(whole, whole.To)
	require.Len(t, later, 1)
	require.Equal(t, "Ada", later[0].By)
	require.Zero(t, b.Alarms(whole, begin().Add(6*time.Minute))[0].Answered, "at that moment nobody had answered")
	require.Empty(t, b.Alarms(whole, begin()), "nor had it come up before")
	require.Empty(t, b.Alarms(coverage.Span{From: begin(), To: begin().Add(5 * time.Minute)}, whole.To))
}

// TestANameThatIsGivenLaterCountsFromItsEntryOn has an alarm that one press answered at 9 and a
// name for it at 30; a second name changes nothing.
func TestANameThatIsGivenLaterCountsFromItsEntryOn(t *testing.T) {
	b := &book{TB: t}
	up := alarm.Alarm{ID: "air", State: alarm.Unacknowledged, Raised: begin().Add(5 * time.Minute)}
	b.write(rules.AlarmChange, 5, rules.Event{Subject: "air", From: string(alarm.Normal), To: string(alarm.Unacknowledged), Alarm: &up})
	seen := up
	seen.State, seen.By, seen.Screen = alarm.Acknowledged, "somebody at lab computer", "lab computer"
	b.write(rules.AlarmChange, 9, rules.Event{Subject: "air", From: string(alarm.Unacknowledged), To: string(alarm.Acknowledged),
		Alarm: &seen})
	whole := coverage.Span{From: begin(), To: begin().Add(time.Hour)}
	require.Equal(t, "somebody at lab computer, not named yet", b.Alarms(whole, whole.To)[0].Seen().String())
	b.write(rules.AlarmSeenBy, 30, rules.NameSeer{Alarm: "air", Raised: up.Raised, Saw: "Ida"})
	b.write(rules.AlarmSeenBy, 31, rules.NameSeer{Alarm: "air", Raised: up.Raised, Saw: "Ben"})
	b.write(rules.AlarmSeenBy, 32, rules.NameSeer{Alarm: "air", Raised: begin(), Saw: "Eve"})
	require.Equal(t, "Ida", b.Alarms(whole, whole.To)[0].Seen().String())
	require.Empty(t, b.Alarms(whole, begin().Add(20*time.Minute))[0].By, "at that moment nobody had given a name")
	require.NotZero(t, b.Alarms(whole, begin().Add(20*time.Minute))[0].Answered)
}

func TestATrackTellsWhatTheBoardWouldHaveShown(t *testing.T) {
	track := past.Track{Silence: 30 * time.Second}
	track.Add(begin(), 21, true)
	track.Add(begin().Add(20*time.Second), 80, false)
	track.Add(begin().Add(40*time.Second), 22, true)
	for seconds, want := range map[int]float64{0: 21, 19: 21, 41: 22, 70: 22} {
		v, known := track.At(begin().Add(time.Duration(seconds) * time.Second))
		require.True(t, known, "%d s", seconds)
		require.InDelta(t, want, v, 0)
	}
	for _, seconds := range []int{-1, 20, 39, 71} {
		_, known := track.At(begin().Add(time.Duration(seconds) * time.Second))
		require.False(t, known, "%d s", seconds)
	}
}

func TestTheStatesOfTheAirAreKeptWithTheirReason(t *testing.T) {
	b := &book{TB: t}
	change := func(minute int, from, to ventilation.State, cause string) {
		b.write(rules.AirState, minute, rules.Event{From: string(from), To: string(to), Cause: cause})
	}
	change(0, "", ventilation.Moving, "Air is moving.")
	change(10, ventilation.Moving, ventilation.Disputed, "Exhaust duct reads 271 m³/h, but Fan switch is off.")
	change(25, ventilation.Disputed, ventilation.Stopped, "No air moves.")
	change(40, "", ventilation.NotProven, "Airflow unknown.") // the program was started again
	change(41, ventilation.NotProven, ventilation.Disputed, "but the hood draws 0.02 m/s at most")

	at := func(minute int) time.Time { return begin().Add(time.Duration(minute) * time.Minute) }
	whole := coverage.Span{From: begin(), To: at(60)}
	states := b.Air("practice", whole)
	require.Len(t, states, 5)
	require.Equal(t, "Exhaust duct reads 271 m³/h, but Fan switch is off.", states[1].Cause)
	require.Equal(t, at(25), states[1].To)
	require.True(t, states[2].Stopped)
	require.Zero(t, states[2].To, "nobody knows how long the air stood")
	require.Zero(t, states[4].To)
	require.Equal(t, at(60), states[4].Until(at(60)))
	require.Len(t, b.Air("practice", coverage.Span{From: at(10), To: at(25)}), 1, "a state that ended, or began, at an edge lies outside")
	require.Equal(t, []coverage.Span{{From: at(10), To: at(25)}, {From: at(41), To: at(60)}}, b.Disputed("practice", whole))
	require.Empty(t, b.Air("another room", whole))
	require.Equal(t, []string{"practice"}, b.AirRooms())
}

// TestCountsThatLaterOnesReplaceNeedNotBeRead folds random records of sessions, as a whole and
// with every count read at once.
func TestCountsThatLaterOnesReplaceNeedNotBeRead(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		lazy, eager := &past.Fold{}, &past.Fold{}
		for n := range rapid.IntRange(1, 40).Draw(rt, "records") {
			s := session.Session{Phase: rapid.SampledFrom([]session.Phase{session.Open, session.Closed}).Draw(rt, "phase"),
				Begun: begin().Add(time.Duration(rapid.IntRange(0, 3).Draw(rt, "begun")) * time.Hour), People: n}
			s.Since = s.Begun.Add(time.Duration(rapid.IntRange(0, 2).Draw(rt, "since")) * time.Minute)
			s.Title = rapid.SampledFrom([]string{"Class", `"phase":"`, `"begun":"x"`}).Draw(rt, "title")
			content, err := json.Marshal(rules.Event{Session: &s})
			require.NoError(rt, err)
			r := record.Record{Number: uint64(n + 1), Kind: rapid.SampledFrom([]string{rules.SessionCounts, rules.SessionCounts,
				rules.SessionPhase}).Draw(rt, "kind"),
				Room: rapid.SampledFrom([]string{"practice", "lab"}).Draw(rt, "room"), Content: content}
			require.NoError(rt, lazy.Apply(r))
			require.NoError(rt, eager.Apply(r))
			_ = eveningsOf(eager, begin())
		}
		now := begin().Add(9 * time.Hour)
		all := eveningsOf(lazy, now)
		require.ElementsMatch(rt, eveningsOf(eager, now), all)
		over := coverage.Span{From: begin().Add(time.Duration(rapid.IntRange(-1, 250).Draw(rt, "from")) * time.Minute)}
		over.To = over.From.Add(time.Duration(rapid.IntRange(1, 90).Draw(rt, "long")) * time.Minute)
		asked := maps.Collect(lazy.Evenings(over, now))
		for i, e := range all {
			if s := e.Span(); s.From.Before(over.To) && s.To.After(over.From) {
				require.Equal(rt, e, asked[i], "what touches a time is given with its place")
			} else if !e.Last.Phase.Running() && !s.To.Equal(over.From) {
				require.NotContains(rt, asked, i, "nor what ended before it")
			}
		}
	})
}

// What a fold keeps tells which counts it has read: those are no longer the last record of their session.
func TestOnlyCountsThatNothingReplacesAreRead(t *testing.T) {
	b := &book{TB: t}
	s := session.Session{Phase: session.Open, Begun: begin(), Since: begin()}
	read := func() uint64 { return b.Kept().Evenings[0].Record }
	count := func() {
		s.People++
		b.write(rules.SessionCounts, int(b.number), rules.Event{Session: &s})
	}
	b.write(rules.SessionPhase, 0, rules.Event{Session: &s})
	for range 3 {
		count()
	}
	require.Equal(t, uint64(1), read(), "the last counts may still be replaced, as those before were")
	s.Since = begin().Add(time.Minute)
	count()
	require.Equal(t, uint64(4), read(), "counts since another time replace none")
	s.Phase = session.Closed
	count()
	require.Equal(t, uint64(5), read(), "nor do those of another phase")
	s.Begun = begin().Add(-time.Hour)
	count()
	require.Equal(t, uint64(6), read(), "nor those of another session")
	for _, torn := range []string{`{"session":{"phase":"open","begun":"`, `{"session":{}}`, `{"phase":"open","phase":"open"}`} {
		require.NoError(t, b.Apply(record.Record{Number: 50, Kind: rules.SessionCounts, Room: "practice", Content: json.RawMessage(torn)}))
		require.NoError(t, b.Apply(record.Record{Number: 51, Kind: rules.SessionCounts, Room: "practice", Content: json.RawMessage(torn)}))
	}
	evenings := eveningsOf(b, begin().Add(time.Hour))
	require.Len(t, evenings, 2)
	require.Equal(t, []uint64{7, 6}, []uint64{evenings[0].Record, evenings[1].Record}, "what makes no sense takes the place of nothing")
}

func TestAFoldKeepsNoTextThatItsReaderWritesOver(t *testing.T) {
	var f past.Fold
	text := []byte(`{"zone":"UTC","rooms":null}`)
	require.NoError(t, f.Apply(record.Record{Number: 1, Kind: past.Kind, Content: text}))
	clear(text)
	require.JSONEq(t, `{"zone":"UTC","rooms":null}`, string(f.Settings.Versions[0].Text))
	require.Equal(t, f.Settings.Versions[0].Text, f.Kept().Settings[0].Content)
}

func TestATrackThatTakesAnotherTimeForgetsTheOneBefore(t *testing.T) {
	track := past.Track{Silence: time.Hour}
	track.Add(begin(), 21, true)
	track.Reset(30 * time.Second)
	_, known := track.At(begin())
	require.False(t, known)
	track.Add(begin(), 22, true)
	v, known := track.At(begin().Add(30 * time.Second))
	require.True(t, known)
	require.InDelta(t, 22, v, 0)
	_, known = track.At(begin().Add(31 * time.Second))
	require.False(t, known)
}

func ExampleAirMinutes() {
	open := coverage.Span{From: begin(), To: begin().Add(2 * time.Minute)}
	disputed := coverage.Span{From: begin().Add(time.Minute), To: begin().Add(90 * time.Second)}
	minutes := past.NewAirMinutes([]coverage.Span{open}, []coverage.Span{disputed})
	minutes.Add(begin().Add(10*time.Second), 8)
	minutes.Add(begin().Add(40*time.Second), 10)
	minutes.Add(begin().Add(70*time.Second), 12) // another sign contradicted the probe
	minutes.Add(begin().Add(time.Hour), 99)      // nobody was at work then
	for _, m := range minutes.List() {
		fmt.Println(m.At.Format("15:04"), m.Readings, m.Low, m.High)
	}
	fmt.Println(minutes.List()[0].Mean())
	// Output:
	// 17:00 2 8 10
	// 17:01 0 0 0
	// 9
}
