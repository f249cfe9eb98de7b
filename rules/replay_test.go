package rules_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/record"
	"wetside/sensors"
)

func recallEvent(t testing.TB, board rules.Board, kind string, e rules.Event) rules.Board {
	content, err := json.Marshal(e)
	require.NoError(t, err)
	return rules.Recall(board, record.Record{Kind: kind, Number: 1, At: noon().Wall, Content: content})
}

// trouble is something that goes wrong on one night, some minutes into the session,
// and the alarm that must tell of it.
type trouble struct {
	alarm    string
	from, to time.Duration
	play     func(y *year)
}

// troubles is what may happen; most nights nothing does.
func troubles() []trouble {
	return []trouble{
		{"air", 60 * time.Minute, 70 * time.Minute, func(y *year) { y.say["flow"], y.say["fan"], y.say["pressure"] = 0, 0, 0 }},
		{"make-up", 40 * time.Minute, 55 * time.Minute, func(y *year) { y.say["flow"], y.say["pressure"] = 200, -20 }},
		{"air-low", 30 * time.Minute, 50 * time.Minute, func(y *year) { y.say["flow"] = 190 }},
		{"line:trays", 20 * time.Minute, 24 * time.Minute, func(y *year) { y.gone = "trays" }},
		{"line:trays", 25 * time.Minute, 29 * time.Minute, func(y *year) { // heard, but without a value
			for _, id := range []sensors.ChannelID{"dev", "stop", "fix1", "fix2", "aid", "wash"} {
				delete(y.say, id)
			}
		}},
		{"channel:flow", 80 * time.Minute, 90 * time.Minute, func(y *year) { delete(y.say, "flow") }},
		{"bath:dev", 100 * time.Minute, 130 * time.Minute, func(y *year) { y.say["dev"] = 16.5 }},
		{"breathing:acid", 70 * time.Minute, 110 * time.Minute, func(y *year) { y.say["acid"] = 60 }},
	}
}

// year plays twelve months of a room with a class each Wednesday: noisy readings, a
// fan that is off between classes, and on every fourth night a trouble.
type year struct {
	*testing.T
	room   rules.Room
	board  rules.Board
	now    sensors.Instant
	dice   *rand.Rand
	say    map[sensors.ChannelID]float64
	gone   sensors.LineID
	raised map[string]int
	events map[string]int // by kind, while people are in the room
	record uint64
}

func (y *year) step(d time.Duration) {
	y.now.Mono, y.now.Wall = y.now.Mono+d, y.now.Wall.Add(d)
	for _, l := range y.room.Lines {
		state := sensors.StateLive
		if l.ID == y.gone {
			state = sensors.StateGone
		}
		y.board.Lines[l.ID] = sensors.LineStatus{ID: l.ID, State: state}
		for _, id := range l.Channels {
			if v, speaks := y.say[id]; speaks && l.ID != y.gone {
				y.board.Take(good(string(id), y.noisy(id, v), y.now))
			}
		}
	}
	_, memory, events := rules.Evaluate(y.room, y.board, y.now)
	y.board.Memory = memory
	for _, e := range events {
		y.events[e.Kind]++
		if e.Kind == rules.AlarmChange && e.To == string(alarm.Unacknowledged) {
			y.raised[e.Subject]++
		}
	}
}

// noisy adds the noise of a plain probe: 2 % of a flow, 0.1 K, half a pascal.
func (y *year) noisy(id sensors.ChannelID, v float64) float64 {
	n := y.dice.NormFloat64()
	switch id {
	case "flow":
		return max(0, v*(1+0.02*n))
	case "fan":
		return v
	case "pressure":
		return v + 0.5*n
	case "acid":
		return max(0, v+0.05*n)
	}
	return v + 0.1*n
}

func (y *year) do(act rules.Act) {
	y.record++
	c := rules.Command{Room: y.room.ID, Person: "invented volunteer", Act: act, At: y.now}
	if rules.Check(y.room, y.board, c) != nil {
		return
	}
	var err error
	y.board, err = rules.Apply(y.board, rules.Done{Command: c, Record: y.record, At: y.now.Wall}, y.now)
	require.NoError(y, err)
}

// fill pours a bath into a tray.
func (y *year) fill(bath string) {
	y.record++
	y.board = holds(y.board, bath, rules.Portion{Record: y.record, What: "invented bath"})
}

// calm is the room with everything as it should be.
func (y *year) calm(fan bool) {
	y.gone = ""
	y.say = map[sensors.ChannelID]float64{"dev": 20, "stop": 20, "fix1": 20, "fix2": 20, "aid": 20, "wash": 18, "acid": 0.5, "flow": 0,
		"fan": 0, "pressure": 0}
	if fan {
		y.say["flow"], y.say["fan"], y.say["pressure"] = 300, 1, -5
	}
}

// night plays one class of three hours in steps of fifteen seconds; whoever is there
// acknowledges within three minutes.
func (y *year) night(t *trouble) {
	y.calm(false)
	for range 20 {
		y.step(15 * time.Second)
	}
	y.calm(true)
	for range 100 {
		y.step(15 * time.Second)
	}
	for _, b := range []string{"dev", "stop", "fix1"} {
		y.fill(b)
	}
	for at := time.Duration(0); at < 3*time.Hour; at += 15 * time.Second {
		y.calm(true)
		if t != nil && at >= t.from && at < t.to {
			t.play(y)
		}
		y.step(15 * time.Second)
		if at%(3*time.Minute) == 0 {
			for _, a := range y.board.Memory.Alarms.Told() {
				y.do(rules.AcknowledgeAlarm{Alarm: a.ID, Done: "looked after it"})
			}
		}
	}
	y.calm(true)
	for _, b := range []string{"dev", "stop", "fix1"} {
		y.board = holds(y.board, b, rules.Portion{})
	}
	for range 120 {
		y.step(15 * time.Second)
	}
	y.calm(false)
	for range 60 {
		y.step(15 * time.Second)
	}
}

// TestAYearCountsItsAlarms: every trouble raises its alarm once, no other alarm comes
// up with it or on a quiet night, and the weeks between have none.
func TestAYearCountsItsAlarms(t *testing.T) {
	y := &year{T: t, dice: rand.New(rand.NewPCG(1, 2)), raised: map[string]int{}, events: map[string]int{}, record: 1}
	y.room, y.board = stage()
	y.now = sensors.Instant{Wall: time.Date(2026, 1, 7, 16, 30, 0, 0, time.UTC)} // a Wednesday
	want, book, nights, quiet := map[string]int{}, map[string]int{}, 0, 0
	for week := range 52 {
		if week >= 28 && week < 38 { // the summer break
			y.idle(7 * 24 * time.Hour)
			continue
		}
		var happens *trouble
		if all := troubles(); week%4 == 3 {
			happens = &all[week/4%len(all)]
			want[happens.alarm]++
		} else {
			quiet++
		}
		nights++
		began := y.now
		y.events = book
		y.night(happens)
		y.events = map[string]int{}
		y.idle(7*24*time.Hour - y.now.Since(began))
	}
	require.Equal(t, want, y.raised, "true ones found, false ones a night: none in %d nights, %d of them quiet", nights, quiet)
	require.Equal(t, 42, nights)
	// One run a night; a stop makes two of it, and a flow that is not known makes it none.
	require.Equal(t, nights+want["air"]-want["channel:flow"], book[rules.FanRun])
	require.LessOrEqual(t, book[rules.SessionPhase], 5*nights, "set-up, open, take-down, closed")
	t.Logf("%d nights, %d without trouble; alarms by kind %v; records by kind %v", nights, quiet, y.raised, book)
}

// idle lets the room stand, looked at every hour with the probes switched off half of the time.
func (y *year) idle(d time.Duration) {
	for n := 0; d > 0; n++ {
		y.calm(false)
		if n%20 > 10 {
			y.say = nil
		}
		step := time.Duration(math.Min(float64(d), float64(time.Hour)))
		y.step(step)
		d -= step
	}
}

func TestTheAlarmsOfAYearAreNamedWithoutTheDangerWord(t *testing.T) {
	room, board := stage()
	for _, b := range room.Baths {
		board = holds(board, b.ID, rules.Portion{Record: 1, What: "x", By: "Ada"})
	}
	now := noon()
	for range 20 { // nothing was ever heard: every probe is an alarm
		now.Mono += 5 * time.Second
		s, memory, _ := rules.Evaluate(room, board, now)
		board.Memory = memory
		for _, a := range s.Alarms {
			require.NotContains(t, a.Text.String()+a.Act.String(), "STOP")
			require.False(t, strings.HasSuffix(a.Text.String(), "."), "a headline")
			require.True(t, strings.HasSuffix(a.Act.String(), "."), "a sentence that says what to do")
		}
	}
	require.Len(t, board.Memory.Alarms.Told(), len(room.Channels))
}
