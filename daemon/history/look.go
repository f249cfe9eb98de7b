package history

import (
	"context"
	"database/sql"
	"math"
	"slices"
	"time"

	"wetside/daemon/history/pack"
	"wetside/sensors"
)

// Look is the file as it was at one moment, for whoever asks much of it: what was looked up
// once and the statements that were prepared serve every later question. It belongs to one
// goroutine.
type Look struct {
	view
	ending   context.Context
	channels map[sensors.ChannelID]channelInfo
	reasons  *reasons
	waiting  int64 // the oldest quarter of an hour that is not sealed
	// unattested are the days of which some samples wait to be attested; nil until it is asked.
	unattested map[int64]bool
	decoder    pack.Decoder
	samples    []pack.Sample
	day        []quarterSummary
}

// Look shows fn the file as it is now, whatever is written meanwhile.
func (s *Reader) Look(ctx context.Context, fn func(*Look) error) error {
	return s.view(ctx, func(v view) error {
		p := &prepared{querier: v.db, known: map[string]*sql.Stmt{}}
		defer p.close()
		l := &Look{view: view{context.WithoutCancel(ctx), p}, ending: ctx, channels: map[sensors.ChannelID]channelInfo{}}
		err := l.begin()
		if err == nil {
			err = fn(l)
		}
		return err
	})
}

func (l *Look) begin() (err error) {
	if l.reasons, err = l.words(); err != nil {
		return err
	}
	var oldest sql.NullInt64
	err = l.row("SELECT min(id) FROM tail").Scan(&oldest)
	if l.waiting = tailQuarter(oldest.Int64); !oldest.Valid {
		l.waiting = math.MaxInt64
	}
	return err
}

// Attested says whether all samples of the days that a time touches, up to its end, are packed and
// attested in the book: then they are no others than when the latest record that attests such a day
// was written, unless a later one says that they were deleted. It is not known of another database
// than a file.
func (l *Look) Attested(from, to time.Time) (bool, error) {
	t := spanOf(from, to)
	if _, end := t.quarters(); end > l.waiting {
		return false, nil
	}
	if l.unattested == nil {
		l.unattested = map[int64]bool{}
		if err := l.eachInteger("SELECT key FROM unattested", func(key int64) { l.unattested[blockNumber(key)] = true }); err != nil {
			return false, err
		}
	}
	for day := floorDiv(t.from, dayMillis); day <= floorDiv(t.to-1, dayMillis); day++ {
		if l.unattested[day] {
			return false, nil
		}
	}
	return true, nil
}

func (l *Look) channel(id sensors.ChannelID) (channelInfo, error) {
	if c, known := l.channels[id]; known {
		return c, nil
	}
	c, err := l.view.channel(id)
	if err == nil {
		l.channels[id] = c
	}
	return c, err
}

// unsealed is what is not sealed yet of a channel in the quarters that a span touches.
func (l *Look) unsealed(code int64, t span) (unsealed, error) {
	if _, end := t.quarters(); end <= l.waiting {
		return unsealed{}, nil
	}
	return l.view.unsealed(code, t)
}

// prepared keeps the statements of a transaction, so that each is read and planned once.
type prepared struct {
	querier
	known map[string]*sql.Stmt
}

// preparer is a transaction that prepares statements.
type preparer interface {
	PrepareContext(ctx context.Context, query string) (*sql.Stmt, error)
}

// QueryContext asks by the prepared statement. Whoever asks the same in the midst of an answer
// would end that answer: no reader here does.
func (p *prepared) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	stmt, known := p.known[query]
	if !known {
		tx, able := p.querier.(preparer)
		if !able {
			return p.querier.QueryContext(ctx, query, args...)
		}
		var err error
		if stmt, err = tx.PrepareContext(ctx, query); err != nil {
			return nil, err
		}
		p.known[query] = stmt
	}
	return stmt.QueryContext(ctx, args...)
}

func (p *prepared) close() {
	for _, stmt := range p.known {
		_ = stmt.Close() // it has only read
	}
}

// Pass asks for the samples of a channel over a time as runs, and for the samples themselves.
type Pass struct {
	RunQuery
	// Run is handed every run, in order; nil where none is asked for.
	Run func(Run)
	// Values is handed the samples, in order; nil where none are asked for.
	Values func(Values)
	// Wanted are the times of which the samples are asked for; empty for all. Those of the whole
	// quarters of an hour that such a time touches are handed on.
	Wanted []Stretch
}

// Stretch is a time from From up to, not including, To.
type Stretch struct{ From, To time.Time }

// wants says whether the samples of a quarter of an hour are asked for.
func (p *Pass) wants(quarter int64) bool {
	return p.Values != nil && (len(p.Wanted) == 0 || slices.ContainsFunc(p.Wanted, func(s Stretch) bool {
		first, end := spanOf(s.From, s.To).quarters()
		return quarter >= first && quarter < end
	}))
}

// Values are the samples of a quarter of an hour.
type Values struct {
	samples []pack.Sample
	reasons *reasons
}

// Value is a sample without its channel: short, as a history of years has hundreds of millions.
type Value struct {
	UnixMilli int64
	Raw       float64
	Grade     sensors.Grade
	Imported  bool
}

// Len is how many there are.
func (v Values) Len() int { return len(v.samples) }

// At gives the value at a place in the list.
func (v Values) At(i int) Value {
	s := &v.samples[i]
	return Value{s.At, s.Raw, sensors.Grade(s.Grade &^ importedBit), s.Grade&importedBit != 0}
}

// Reason says why one of them is not good.
func (v Values) Reason(i int) sensors.Reason { return v.reasons[v.samples[i].Word] }

// Pass reads a channel once for all that is asked of it. Where only runs are, and the roll-ups
// show that nothing was missing, samples are not unpacked.
func (l *Look) Pass(p Pass) error {
	if err := l.ending.Err(); err != nil {
		return err
	}
	c, err := l.channel(p.Channel)
	if err != nil {
		return err
	}
	g := ground{channel: c, span: spanOf(p.From, p.To)}
	if g.tail, err = l.unsealed(c.code, g.span); err != nil {
		return err
	}
	if p.Values == nil || len(p.Wanted) > 0 {
		if err := l.findUnbroken(&g, p.Pause.Milliseconds()); err != nil {
			return err
		}
	}
	r := runner{pause: p.Pause.Milliseconds(), yield: func(first, last pack.Sample) {
		if p.Run != nil {
			p.Run(runOf(first, last, l.reasons))
		}
	}}
	if err := l.eachRun(g, &r, &p); err != nil {
		return err
	}
	r.end()
	return nil
}
