package rules_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/record"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// The room is looked at every five seconds, and every minute while nothing is told for long.
const (
	storyTick = 5 * time.Second
	longTick  = time.Minute
	longAhead = 30 * time.Minute
)

// said is what a channel says from a time on.
type said struct {
	value, to float64
	from, by  time.Duration
	grade     sensors.Grade
	reason    sensors.Reason
}

func (s said) at(now time.Duration) float64 {
	switch {
	case s.by <= s.from:
		return s.value
	case now >= s.by:
		return s.to
	}
	return s.value + (s.to-s.value)*float64(now-s.from)/float64(s.by-s.from)
}

// evening plays a story on a board, keeping a book as the room's loop would.
type evening struct {
	*testing.T
	line    line
	room    rules.Room
	board   rules.Board
	shown   *rules.Snapshot
	speaks  map[sensors.ChannelID]said
	book    []record.Record
	date    time.Time
	passed  time.Duration // from midnight
	booted  time.Duration // when the monotonic clock began
	stepped time.Duration // by which somebody has set the wall clock
}

func newEvening(t *testing.T, s story) *evening {
	e := &evening{T: t, room: storyRoom(), board: rules.NewBoard(), speaks: map[sensors.ChannelID]said{}, date: s.date}
	require.False(t, s.date.IsZero(), "a story has a date")
	if len(s.lines) > 0 {
		e.passed = s.lines[0].at
	} else {
		e.passed = 17 * time.Hour
	}
	e.booted = e.passed
	for i, d := range s.runs {
		stop := s.date.AddDate(0, 0, -7*(len(s.runs)-i)).Add(18*time.Hour + d)
		e.write(rules.FanRun, "", rules.Event{Run: &ventilation.Run{Start: stop.Add(-d), Stop: stop}})
	}
	e.board.History.Kept = true
	for _, r := range e.book {
		e.board = rules.Recall(e.board, r)
	}
	for _, l := range e.room.Lines {
		e.board.Lines[l.ID] = sensors.LineStatus{ID: l.ID, State: sensors.StateLive}
	}
	e.look()
	return e
}

func (e *evening) now() sensors.Instant {
	return sensors.Instant{Wall: e.date.Add(e.passed + e.stepped).UTC(), Mono: e.passed - e.booted}
}

// until lets the room live up to a time.
func (e *evening) until(at time.Duration) {
	for e.passed+storyTick <= at {
		if e.passed += storyTick; at-e.passed > longAhead {
			e.passed += longTick - storyTick
		}
		e.hear()
		e.look()
	}
}

func (e *evening) hear() {
	now := e.now()
	for _, c := range e.room.Channels {
		s, ok := e.speaks[c.ID]
		if ok && e.lineOf(c.ID).State == sensors.StateLive {
			v := s.at(e.passed)
			e.board.Take(sensors.Reading{Channel: c.ID, At: now, Raw: v, Value: v, Grade: s.grade, Reason: s.reason})
		}
	}
}

func (e *evening) lineOf(id sensors.ChannelID) sensors.LineStatus {
	for _, l := range e.room.Lines {
		if slices.Contains(l.Channels, id) {
			return e.board.Lines[l.ID]
		}
	}
	return sensors.LineStatus{}
}

// look takes one turn: judge, record, remember, show.
func (e *evening) look() {
	snapshot, memory, events := rules.Evaluate(e.room, e.board, e.now())
	for _, event := range events {
		e.write(event.Kind, event.Person, event)
	}
	e.board.Memory, e.shown = memory, snapshot
}

func (e *evening) write(kind, person string, content any) uint64 {
	data, err := json.Marshal(content)
	require.NoError(e, err)
	e.book = append(e.book, record.Record{Kind: kind, Number: uint64(len(e.book) + 1), Person: person, At: e.now().Wall, Content: data})
	return uint64(len(e.book))
}

// deeds are the verbs that change something.
func (e *evening) deeds() map[string]func(string) {
	return map[string]func(string){
		"say": e.say, "doubt": e.doubt,
		"mute": func(rest string) { delete(e.speaks, e.channel(rest)) },
		"line": e.setLine,
		"do":   e.do,
		"history": func(rest string) {
			e.board.History = rules.HistoryView{Kept: rest == "kept", Sentence: phrase.Say("the disk is full")}
		},
		"fill": func(rest string) {
			bath, what, _ := strings.Cut(rest, " ")
			e.pours(bath, rules.Portion{What: what, Record: e.write("bath found", "Ada", what)})
		},
		"empty":   func(bath string) { e.pours(bath, rules.Portion{}) },
		"cover":   func(bath string) { e.covers(bath, true) },
		"uncover": func(bath string) { e.covers(bath, false) },
		"restart": func(string) { e.restart() },
		"wall": func(rest string) {
			d, err := time.ParseDuration(rest)
			require.NoError(e, err)
			e.stepped += d
		},
	}
}

func (e *evening) pours(bath string, p rules.Portion) {
	e.board = holds(e.board, bath, p)
	e.look()
}

func (e *evening) covers(bath string, covered bool) {
	p, filled := e.board.Shelf.Filled[bath]
	require.True(e, filled, "line %d", e.line.number)
	p.Covered = covered
	e.pours(bath, p)
}

// holds is the board after the book of the shelf has said what is in a tray; the zero portion empties it.
func holds(board rules.Board, bath string, p rules.Portion) rules.Board {
	filled := maps.Clone(board.Shelf.Filled)
	if delete(filled, bath); p.Record != 0 {
		if filled == nil {
			filled = map[string]rules.Portion{}
		}
		p.Known = &rules.Known{}
		filled[bath] = p
	}
	board.Shelf.Filled = filled
	return board
}

func (e *evening) channel(name string) sensors.ChannelID {
	id := sensors.ChannelID(name)
	require.True(e, slices.ContainsFunc(e.room.Channels, func(c sensors.Channel) bool { return c.ID == id }), "line %d: no channel %q",
		e.line.number, name)
	return id
}

func (e *evening) say(rest string) {
	var id, by string
	s := said{from: e.passed, grade: sensors.Good}
	if n, _ := fmt.Sscanf(rest, "%s %g to %g by %s", &id, &s.value, &s.to, &by); n == 4 {
		s.by = clockTime(e.T, by)
	} else {
		require.Equal(e, 2, n, "line %d", e.line.number)
	}
	e.speaks[e.channel(id)] = s
	e.hear()
	e.look()
}

func (e *evening) doubt(rest string) {
	fields := strings.SplitN(rest, " ", 3)
	require.Len(e, fields, 3)
	s := said{from: e.passed, grade: sensors.Suspect, reason: sensors.Reason(fields[2])}
	_, err := fmt.Sscan(fields[1], &s.value)
	require.NoError(e, err)
	e.speaks[e.channel(fields[0])] = s
}

func (e *evening) setLine(rest string) {
	id, state, _ := strings.Cut(rest, " ")
	require.Contains(e, sensors.LineStates(), sensors.LineState(state))
	e.board.Lines[sensors.LineID(id)] = sensors.LineStatus{ID: sensors.LineID(id), State: sensors.LineState(state),
		LastError: phrase.Plain("the device is gone")}
	e.look()
}

// command reads a person, a kind of record in quotation marks, and its content.
func (e *evening) command(text string) rules.Command {
	person, rest, _ := strings.Cut(text, " ")
	parts := strings.SplitN(rest, `"`, 3)
	require.Len(e, parts, 3, "line %d", e.line.number)
	act, err := rules.DecodeAct(parts[1], json.RawMessage(strings.TrimSpace(parts[2])))
	require.NoError(e, err, "line %d", e.line.number)
	return rules.Command{Room: e.room.ID, Person: person, Act: act, At: e.now()}
}

func (e *evening) do(rest string) {
	c := e.command(rest)
	require.NoError(e, rules.Check(e.room, e.board, c), "line %d", e.line.number)
	number := e.write(c.Act.Kind(), c.Person, c.Act)
	done := rules.Done{Command: c, Record: number, At: e.now().Wall}
	require.NotEmpty(e, done.Sentence(e.room))
	var err error
	e.board, err = rules.Apply(e.board, done, e.now())
	require.NoError(e, err)
	e.look()
}

// restart loses the board and brings back what the book knows.
func (e *evening) restart() {
	lines, shelf := e.board.Lines, e.board.Shelf
	e.board = rules.NewBoard()
	e.board.Shelf = shelf // which has a book of its own
	lately, _ := rules.LatelyKinds()
	for _, kinds := range [][]string{rules.RecalledKinds(), lately} {
		for _, r := range e.book {
			if slices.Contains(kinds, r.Kind) {
				e.board = rules.Recall(e.board, r)
			}
		}
	}
	e.board.History.Kept, e.board.Lines, e.booted = true, lines, e.passed
	e.look()
}
