package uplink

import (
	"context"
	"encoding/json"

	"wetside/daemon/centre/wire"
	"wetside/daemon/history"
)

const (
	mostBytes  = 1 << 20 // of a message, before it is packed
	leastBytes = 32 << 10
)

// message is a message in the making, of one moment of the file.
type message struct {
	push wire.Push
	// news says that it carries more than a sign of life.
	news    bool
	table   uint64
	sent    map[int64]sentDay
	waiting map[int64]bool
	room    int // bytes that are left
}

// compose makes the next message: records first, and days once every record is with it, since
// the book says what the days are.
func (s *Sender) compose(ctx context.Context) (m message, err error) {
	err = s.options.Book.Raw(ctx, func(r history.Raw) error {
		m = message{room: s.bytes, sent: map[int64]sentDay{}, waiting: map[int64]bool{}, push: wire.Push{About: s.options.About}}
		last, err := r.Last()
		if err != nil {
			return err
		}
		m.push.Last = wire.Place(last)
		if m.push.AliveMS, err = r.Alive(); err != nil {
			return err
		}
		waiting, err := s.addTable(r, &m)
		if err != nil || !s.known.place || s.known.last.Number > last.Number {
			return err
		}
		all, err := s.addRecords(r, &m)
		if err != nil || !all {
			return err
		}
		m.push.Complete, err = s.addDays(r, &m, waiting)
		return err
	})
	m.push.SentMS = s.options.Clock.Now().Wall.UnixMilli()
	return m, err
}

// addTable adds the small tables when they are not as they were sent.
func (s *Sender) addTable(r history.Raw, m *message) (waiting []history.RawWaiting, err error) {
	var t wire.Table
	if t.Channels, err = r.Channels(); err != nil {
		return nil, err
	}
	if t.Words, err = r.Words(); err != nil {
		return nil, err
	}
	if t.OpenGaps, err = r.OpenGaps(); err != nil {
		return nil, err
	}
	if t.Waiting, err = r.Waiting(); err != nil {
		return nil, err
	}
	text, err := json.Marshal(t)
	if err != nil {
		return nil, err
	}
	if m.table = s.sums.of(text); m.table != s.known.table {
		m.push.Table, m.news = &t, true
	}
	for _, w := range t.Waiting {
		m.waiting[w.Key] = true
	}
	return t.Waiting, nil
}

// addRecords adds the records that the centre does not have.
func (s *Sender) addRecords(r history.Raw, m *message) (all bool, err error) {
	m.push.After = s.known.last.Number
	m.push.Records, all, err = r.Records(m.push.After, m.room)
	for _, x := range m.push.Records {
		m.room -= len(x.Body) + len(x.Hash)
	}
	m.news = m.news || len(m.push.Records) > 0
	return all, err
}

// addDays adds the days to which something was added, and those that the centre asks for;
// all says that none was left behind.
func (s *Sender) addDays(r history.Raw, m *message, waiting []history.RawWaiting) (all bool, err error) {
	for _, w := range waiting {
		if s.known.sent[w.Key].changes == w.Changes {
			continue
		}
		if m.room <= 0 {
			return false, nil
		}
		if err := s.addDay(r, m, w); err != nil {
			return false, err
		}
	}
	for _, key := range s.known.wanted {
		if m.waiting[key] || s.known.givenUp[key] {
			continue
		}
		if m.room <= 0 {
			return false, nil
		}
		if err := s.addDay(r, m, history.RawWaiting{Key: key}); err != nil {
			return false, err
		}
	}
	return true, nil
}

func (s *Sender) addDay(r history.Raw, m *message, w history.RawWaiting) error {
	raw, err := r.Day(w.Key)
	if err != nil {
		return err
	}
	d := wire.Day{RawDay: raw, Waiting: m.waiting[w.Key]}
	before, now := s.known.sent[w.Key].blocks, map[int64]uint64{}
	d.Blocks = nil
	for _, b := range raw.Blocks {
		now[b.Key] = s.sums.of(b.Samples)
		if sum, there := before[b.Key]; there && sum == now[b.Key] {
			d.Part = true
			continue
		}
		d.Blocks = append(d.Blocks, b)
		m.room -= len(b.Samples)
	}
	m.room -= len(raw.Quarters) + 100*len(raw.Gaps)
	m.push.Days = append(m.push.Days, d)
	m.news = true
	if d.Waiting {
		m.sent[w.Key] = sentDay{w.Changes, now}
	}
	return nil
}
