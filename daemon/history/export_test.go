package history

import (
	"context"
	"errors"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history/pack"
	"wetside/sensors"
)

// AlwaysDurable makes every commit wait for the disk.
func AlwaysDurable(s *Store) error {
	return s.do(context.Background(), false, func() error {
		s.writer.barrier = 0
		return nil
	})
}

// Pragma runs a pragma on the connection that writes, outside a transaction.
func Pragma(s *Store, text string) error {
	_, err := s.writer.conn.ExecContext(context.Background(), "PRAGMA "+text)
	return err
}

// Growth is a stretch of past time in which channels 1 to Channels were recorded
// at 1 Hz.
type Growth struct {
	Channels int
	From, To time.Time
}

// Grow fills the past quickly: one block, repeated, and the roll-ups that belong to it.
func Grow(s *Store, g Growth) error {
	samples := make([]pack.Sample, 900)
	for i := range samples {
		samples[i] = pack.Sample{At: int64(i)*1000 + int64(i*7919%5), Raw: float64(2000+i*7919%13) / 100, Grade: uint8(sensors.Good)}
	}
	block, _, err := pack.Encode(nil, samples)
	if err != nil {
		return err
	}
	sum := summarize(samples, span{0, quarterMillis}, 15000, nil)
	first, last := floorDiv(g.From.UnixMilli(), dayMillis), floorDiv(g.To.UnixMilli(), dayMillis)
	const days = 30
	for channel := range int64(g.Channels) {
		for day := first; day < last; day += days {
			d := &sealed{}
			for len(d.days) < days && day+int64(len(d.days)) < last {
				grown := day + int64(len(d.days))
				var quarters []quarterSummary
				for q := range int64(quartersPerDay) {
					quarters = append(quarters, quarterSummary{uint8(q), sum})
					d.blocks = append(d.blocks, packed{keyed: keyed{blockKey(channel+1, grown*quartersPerDay+q), pack.WithCheck(block)}})
				}
				d.days = append(d.days, keyed{blockKey(channel+1, grown), encodeDay(quarters)})
			}
			if err := s.do(context.Background(), false, func() error { return s.writer.writeSealed(d) }); err != nil {
				return err
			}
			s.checkpoint(context.Background())
		}
	}
	return nil
}

// Migrate brings a closed file to a form that has further steps than this version knows.
func Migrate(path string, further ...string) error {
	steps, err := migrations()
	if err != nil {
		return err
	}
	db, err := openWriter(path)
	if err != nil {
		return err
	}
	return errors.Join(migrate(context.Background(), db, path, append(steps, further...)), db.Close())
}

// Synchronous is how a commit that is durable or not waits for the disk, in the
// numbers of SQLite: 1 for not, 2 for until everything before it is there.
func Synchronous(s *Store, durable bool) (level int, err error) {
	err = s.do(context.Background(), durable, func() error {
		return s.writer.row("PRAGMA synchronous").Scan(&level)
	})
	return level, err
}

// Forms is how many forms of the file this version knows.
func Forms(t require.TestingT) int {
	steps, err := migrations()
	require.NoError(t, err)
	return len(steps)
}
