package daemon

import (
	"context"
	"encoding/json"
	"slices"
	"time"

	"wetside/chem/ledger"
	"wetside/daemon/history"
	"wetside/dashboard/class"
	"wetside/rules"
	"wetside/rules/record"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

const (
	// warmUp is how much of the readings before a moment is gone through again: as much as a trend remembers.
	warmUp = 25 * time.Minute
	// thenStep is how often the rules look at the room on the way there; before the last looks every
	// other time, which is as often as a trend takes a reading.
	thenStep  = 15 * time.Second
	lastLooks = 20
	// around is how far from a moment what was said is told.
	around = 45 * time.Minute
)

var _ class.Then = lookBack{}

// Then works out again what the board of a room showed at a moment, from the records
// up to it and the readings before it, by the settings in force now.
func (p lookBack) Then(ctx context.Context, q class.ThenQuery) (class.Moment, error) {
	r, err := p.room(q.Room)
	if err != nil {
		return class.Moment{}, err
	}
	board, err := p.boardThen(ctx, r, q.At)
	if err != nil {
		return class.Moment{}, err
	}
	replay, err := p.replay(ctx, r, q.At)
	if err != nil {
		return class.Moment{}, err
	}
	first, err := p.store.Records(ctx, history.Query{Limit: 1})
	if err != nil || len(first) == 0 {
		return class.Moment{}, err
	}
	out := class.Moment{Begun: first[0].At, Readings: replay.readings}
	snapshot := replay.evaluate(r.config.Room, board)
	snapshot.Alarms, snapshot.Aside = nil, nil // the record says which stood
	out.Snapshot = snapshot
	if out.Said, err = p.said(ctx, r, q.At); err != nil {
		return class.Moment{}, err
	}
	if out.Alarms, err = p.chronicle.Up(ctx, q.Room, q.At); err != nil {
		return class.Moment{}, err
	}
	since, err := p.chronicle.Settings(ctx, q.At, p.clock.Now().Wall)
	out.SettingsChanged = len(since) > 1
	return out, err
}

// boardThen is the board as its records had brought it to a moment.
func (p lookBack) boardThen(ctx context.Context, r *room, at time.Time) (rules.Board, error) {
	board, err := p.boards.at(ctx, r, at)
	if err != nil {
		return board, err
	}
	board.History = rules.HistoryView{Kept: true}
	board.Shelf = p.shelf.inRoomAt(ctx, r.config.ID, at)
	return board, nil
}

// linesThen notes on the board how its lines were. One of which nothing is recorded is taken to
// be live while any of its channels is heard.
func (r *replay) linesThen(room rules.Room, board rules.Board, now sensors.Instant) {
	for _, l := range room.Lines {
		status := sensors.LineStatus{ID: l.ID, State: sensors.StateSilent}
		for _, id := range l.Channels {
			if reading, heard := board.Readings[id]; heard && now.Since(reading.At) < time.Minute {
				status.State = sensors.StateLive
			}
		}
		for _, said := range r.lines {
			if said.line == l.ID && !said.at.After(now.Wall) {
				status.State = said.state
			}
		}
		board.Lines[l.ID] = status
	}
}

// isTold says of a kind of record whether it tells of baths, trays and air, or is what a person
// told that changes no judgement, such as a complaint. Alarms and probes stand elsewhere on the page.
func isTold(k record.Kind) bool {
	return record.Judging(record.Trays, record.Stock, record.Air)(k) || k.Judges == record.Nothing && k.Least != record.Program
}

// said are the records around a moment of what the board told and what people told it.
func (p lookBack) said(ctx context.Context, r *room, at time.Time) ([]class.Said, error) {
	kinds := record.Names(slices.Concat(rules.Kinds(), ledger.Kinds()), isTold)
	records, err := p.store.Records(ctx, history.Query{Room: r.config.ID, Kinds: kinds, From: at.Add(-around), To: at.Add(around)})
	if err != nil {
		return nil, errUnread(err)
	}
	var list []class.Said
	for _, rec := range records {
		list = append(list, p.saidBy(r, rec))
	}
	return list, nil
}

// saidBy tells a record; of one that can't be read it tells when and by whom.
func (p lookBack) saidBy(r *room, rec history.Record) class.Said {
	said := class.Said{At: rec.At}
	content, err := p.kinds.Decode(rec.Kind, rec.Content)
	if err != nil {
		return said
	}
	switch content := content.(type) {
	case ledger.Content:
		said.Text = content.Act.Sentence()
	case rules.Act:
		said.Text = rules.Done{Command: rules.Command{Room: r.config.ID, Person: rec.Person, Act: content}, Record: rec.Number,
			At: rec.At}.Sentence(r.config.Room)
	case rules.Event:
		said.Subject, said.From, said.To, said.Text = content.Subject, content.From, content.To, phrase.Plain(content.Cause)
	}
	return said
}

// replay is what the probes of a room said before a moment, as far as the board shows it: of
// all that a channel said between two looks at the room, the last reading and the last good one.
type replay struct {
	from     time.Time
	readings int
	steps    [][]sensors.Reading // by look
	lines    []lineThen          // in the order in which they were recorded
}

// lineThen is what the board recorded of a line.
type lineThen struct {
	at    time.Time
	line  sensors.LineID
	state sensors.LineState
}

func (p lookBack) replay(ctx context.Context, r *room, at time.Time) (replay, error) {
	out := replay{from: at.Add(-warmUp), steps: make([][]sensors.Reading, warmUp/thenStep+1)}
	err := p.store.Look(ctx, func(l *history.Look) error {
		for _, c := range r.config.Channels {
			course := channelCourse{Channel: c, replay: &out}
			query := history.RunQuery{Channel: c.ID, From: out.from, To: at.Add(time.Millisecond)}
			if err := l.Pass(history.Pass{RunQuery: query, Values: course.take}); err != nil {
				return phrase.Errorf("the readings of %s can't be read: %w", c.Name, err)
			}
			course.look()
		}
		return nil
	})
	if err == nil {
		out.lines, err = p.linesSaid(ctx, r.config.ID, out.from, at)
	}
	return out, err
}

// linesSaid are the states of lines that the board recorded: a line whose plug is pulled is lost at
// once, while its last readings are still new.
func (p lookBack) linesSaid(ctx context.Context, room string, from, at time.Time) ([]lineThen, error) {
	records, err := p.store.Records(ctx, history.Query{Room: room, Kinds: []string{rules.LineState}, From: from, To: at.Add(time.Millisecond)})
	if err != nil {
		return nil, errUnread(err)
	}
	var lines []lineThen
	for _, rec := range records {
		var e rules.Event
		if json.Unmarshal(rec.Content, &e) == nil {
			lines = append(lines, lineThen{rec.At, sensors.LineID(e.Subject), sensors.LineState(e.To)})
		}
	}
	return lines, nil
}

// channelCourse is what one channel said, going from one look at the room to the next.
type channelCourse struct {
	sensors.Channel
	*replay
	step             int
	last, good       sensors.Reading // since the look before
	heard, heardWell bool
}

// take goes on by some samples.
func (c *channelCourse) take(values history.Values) {
	for i := range values.Len() {
		v := values.At(i)
		if v.Imported {
			continue // no board ever showed it
		}
		at := time.UnixMilli(v.UnixMilli).UTC()
		if step := int((at.Sub(c.from) + thenStep - 1) / thenStep); step != c.step {
			c.look()
			c.step = step
		}
		c.readings++
		c.last, c.heard = sensors.Reading{Channel: c.ID, At: c.instant(at), Raw: v.Raw, Grade: v.Grade, Reason: values.Reason(i)}, true
		if v.Grade == sensors.Good {
			c.good, c.heardWell = c.last, true
		}
	}
}

// look keeps what the look at the room shows.
func (c *channelCourse) look() {
	if c.heardWell && c.last.Grade != sensors.Good {
		c.keep(c.good)
	}
	if c.heard {
		c.keep(c.last)
	}
	c.heard, c.heardWell = false, false
}

func (c *channelCourse) keep(r sensors.Reading) {
	if c.step < len(c.steps) {
		r.Value = c.Correct(c.Unit.ToBase(r.Raw), r.At.Wall)
		c.steps[c.step] = append(c.steps[c.step], r)
	}
}

// instant counts the monotonic time of the replay from an hour before its beginning.
func (r *replay) instant(at time.Time) sensors.Instant {
	return sensors.Instant{Wall: at, Mono: at.Sub(r.from) + time.Hour}
}

// evaluate lets the rules look at the room all the way, and gives what they say at its end. What
// was breathed is not worked out again: averages of a day do not follow from the last minutes.
func (r *replay) evaluate(room rules.Room, board rules.Board) *rules.Snapshot {
	snapshot := &rules.Snapshot{}
	room.Gases = nil
	board.Lines = map[sensors.LineID]sensors.LineStatus{}
	for step, readings := range r.steps {
		for _, reading := range readings {
			board.Take(reading)
		}
		if step%2 == 1 && len(r.steps)-step > lastLooks {
			continue
		}
		now := r.instant(r.from.Add(time.Duration(step) * thenStep))
		r.linesThen(room, board, now)
		snapshot, board.Memory, _ = rules.Evaluate(room, board, now)
	}
	return snapshot
}
