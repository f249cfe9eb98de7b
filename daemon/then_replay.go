package daemon

import (
	"context"
	"encoding/json"
	"time"

	"wetside/daemon/history"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// replay is what the probes of a room said before a moment, as far as the board shows it: of
// all that a channel said between two looks at the room, the last reading and the last good one.
type replay struct {
	from, at time.Time
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
	out := replay{from: at.Add(-warmUp), at: at, steps: make([][]sensors.Reading, warmUp/thenStep+1)}
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
		return nil, phrase.Errorf("the record book can't be read: %w", err)
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

// evaluate lets the rules look at the room all the way, and gives what they say at its end.
func (r *replay) evaluate(room rules.Room, board rules.Board) (snapshot rules.Snapshot) {
	for step, readings := range r.steps {
		for _, reading := range readings {
			board.Take(reading)
		}
		now := r.instant(r.from.Add(time.Duration(step) * thenStep))
		board.Lines = linesThen(room, board, now)
		for _, said := range r.lines {
			if status, known := board.Lines[said.line]; known && !said.at.After(now.Wall) {
				status.State = said.state
				board.Lines[said.line] = status
			}
		}
		snapshot, board.Memory, _ = rules.Evaluate(room, board, now)
	}
	return snapshot
}
