package discover

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"time"

	"wetside/sensors"
	"wetside/sensors/dialect"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Question is a register of a Modbus probe, as the probe's paper tells of it.
type Question struct {
	Baud     int
	Format   string // one of [Formats]
	Register dialect.Register
	Unit     string // of the value; empty for a state
}

// Formats are the character formats that a question may be sent in: data bits, parity
// and stop bits. "MODBUS over Serial Line" V1.02, section 2.5.1, has even parity by
// default; common practice is none.
func Formats() []string { return []string{"8N1", "8E1", "8O1", "8N2"} }

// ErrNoAnswer is wrapped when a question was sent and no answer understood.
var ErrNoAnswer = phrase.Errorf("no answer was understood")

// patience is how long one question may take to be answered.
const patience = time.Second

// Ask puts one question on a line again and again until it is answered, for as long as
// o.Each. It reads registers and writes none. The error wraps [ErrNoAnswer], or is one
// of an [sensors.Opener] or of what the question says.
func Ask(ctx context.Context, o Options, q Question) (heard Heard, err error) {
	master, settings, err := q.prepare(o.Path)
	if err != nil {
		return Heard{}, err
	}
	line, err := o.Opener.Open(ctx, settings)
	if err != nil {
		return Heard{}, err
	}
	defer func() { err = errors.Join(err, line.Close()) }()
	over := o.Clock.After(cmp.Or(o.Each, 4*time.Second))
	var last sensors.Frame
	for {
		send, failed, wait := master.Poll(o.Clock.Now())
		if len(failed) > 0 {
			last = failed[len(failed)-1]
		}
		if len(send) > 0 {
			if err := line.Write(send); err != nil {
				return Heard{}, phrase.Errorf("the question can't be sent on %s: %w", o.Path, err)
			}
		}
		select {
		case <-ctx.Done():
			return Heard{}, ctx.Err()
		case <-over:
			return Heard{}, q.unanswered(o.Path, last)
		case data, open := <-line.Chunks():
			if !open {
				return Heard{}, phrase.Errorf("%s went away while it was asked: %w", o.Path, cmp.Or(line.Err(), sensors.ErrGone))
			}
			for _, f := range master.Feed(o.Clock.Now(), data) {
				if f.Result == sensors.FrameGood && len(f.Measurements) > 0 {
					return q.answered(o.Path, f), nil
				}
				last = f
			}
		case <-o.Clock.After(max(wait, time.Millisecond)):
		}
	}
}

func (q Question) prepare(path string) (*dialect.Modbus, sensors.LineSettings, error) {
	settings := sensors.LineSettings{Path: path, Baud: q.Baud}
	if !slices.Contains(Formats(), q.Format) {
		return nil, settings, phrase.Errorf("unknown character format %q: expected one of %s", q.Format, phrase.Listed(Formats()))
	}
	settings, err := settings.Framed(q.Format)
	if err != nil {
		return nil, settings, err
	}
	if q.Unit != "" {
		if _, err := quantity.ParseUnit(q.Unit); err != nil {
			return nil, settings, err
		}
	}
	master, err := dialect.NewModbus(dialect.ModbusOptions{Registers: []dialect.Register{q.Register}, AnswerWithin: patience, Baud: q.Baud})
	return master, settings, err
}

func (q Question) answered(path string, f sensors.Frame) Heard {
	r := q.Register
	return Heard{Port: path, Baud: q.Baud, Format: q.Format, Dialect: "modbus", Sample: f.Text, Channels: []Channel{
		{Address: r.Address(), Unit: q.Unit, Last: f.Measurements[0].Value, Count: 1, Kinds: kindsOf(q.Unit, ""), Register: &r},
	}}
}

func (q Question) unanswered(path string, last sensors.Frame) error {
	switch last.Result {
	case sensors.FrameException:
		return phrase.Errorf("%w on %s: the probe is there, but refuses: %s. Check table, number and type of the register; some "+
			"data sheets count registers from 1", ErrNoAnswer, path, last.Text)
	case sensors.FrameNoAnswer, "":
		return phrase.Errorf("%w on %s at %d baud, %s, from unit %d: see that the probe has power, that its two wires are not exchanged, "+
			"and what its data sheet says of speed, format and unit address", ErrNoAnswer, path, q.Baud, q.Format, q.Register.Unit)
	}
	return phrase.Errorf("%w on %s at %d baud, %s: something answers, but not as expected (%s). Try another speed or format", ErrNoAnswer,
		path, q.Baud, q.Format, last.Result)
}

// Beside joins what was asked on the same line before: registers asked at another speed
// or format can't stand beside each other, and the newest answer to each counts.
func (h Heard) Beside(before Heard) Heard {
	if before.Dialect != h.Dialect || before.Baud != h.Baud || before.Format != h.Format {
		return h
	}
	kept := slices.DeleteFunc(slices.Clone(before.Channels), func(c Channel) bool {
		return slices.ContainsFunc(h.Channels, func(d Channel) bool { return c.Address == d.Address })
	})
	h.Channels = append(kept, h.Channels...)
	return h
}
