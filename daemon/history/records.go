package history

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"slices"
	"strings"
	"time"

	"wetside/daemon/history/book"
	"wetside/rules/access"
	"wetside/rules/record"
)

// Record writes one record; it is on disk when Record returns. ErrBadEntry says
// that the entry itself can't be recorded, ErrWrite that the disk refused.
func (s *Store) Record(ctx context.Context, e Entry) (Record, error) {
	records, err := s.RecordAll(ctx, []Entry{e})
	if err != nil {
		return Record{}, err
	}
	return records[0], nil
}

// RecordAll writes records that belong together, in order, all of them or none.
func (s *Store) RecordAll(ctx context.Context, entries []Entry) ([]Record, error) {
	for i := range entries {
		// Whoever signed in acts in a role, which is recorded with the act.
		if who, ok := access.From(ctx); ok && entries[i].Role == "" && entries[i].Person == who.Name {
			entries[i].Role = string(who.Role)
		}
		if err := s.kinds.Admits(ctx, entries[i].Kind); err != nil {
			return nil, fmt.Errorf("%w: %w", ErrBadEntry, err)
		}
		entries[i].Form = access.FormFrom(ctx)
		if err := entries[i].check(); err != nil {
			return nil, err
		}
	}
	var records []Record
	err := s.do(ctx, true, func() error {
		written := make([]Record, 0, len(entries))
		for _, e := range entries {
			r, err := s.writer.record(e)
			if err != nil {
				return err
			}
			written = append(written, r)
		}
		records = written
		return nil
	})
	if err != nil {
		return nil, err
	}
	return records, nil
}

// check refuses what could not be read back as the same record.
func (e Entry) check() error {
	if strings.TrimSpace(e.Kind) == "" {
		return fmt.Errorf("%w: it has no kind", ErrBadEntry)
	}
	if e.Content != nil && !json.Valid(e.Content) {
		return fmt.Errorf("%w: the content of a %q is not JSON", ErrBadEntry, e.Kind)
	}
	if _, err := (Record{Kind: e.Kind, Happened: e.Happened}).Body(); err != nil {
		return fmt.Errorf("%w: %w", ErrBadEntry, err)
	}
	return nil
}

// record adds a record to the book, within the transaction of a job.
func (w *writer) record(e Entry) (Record, error) {
	now := w.store.clock.Now()
	r := Record{
		Number: w.state.last.Number + 1, Kind: e.Kind, At: now.Wall.UTC().Truncate(time.Millisecond),
		Mono: now.Mono.Truncate(time.Millisecond), Boot: w.boot, Person: e.Person, Role: e.Role, Room: e.Room,
		Content: e.Content, Corrects: e.Corrects, Reason: e.Reason, Happened: e.Happened, Form: string(e.Form), Previous: w.state.last.Hash,
	}
	_, r.OffsetSeconds = r.At.In(w.options.Zone).Zone()
	w.noteClock(e.Kind)
	r.Clock = clockState{w.state.clock, w.state.latest}.confidence(r.At)
	body, err := r.Body()
	if err != nil {
		return Record{}, refusal{fmt.Errorf("%w: %w", ErrBadEntry, err)}
	}
	hash := book.Hash(r.Previous, body)
	err = w.exec("INSERT INTO record(number, hash, body, kind, room, at_ms) VALUES(?, ?, ?, ?, ?, ?)",
		r.Number, hash, body, r.Kind, r.Room, r.At.UnixMilli())
	if err != nil {
		return Record{}, err
	}
	w.state.last = book.Checkpoint{Number: r.Number, Hash: hash}
	w.state.latest = slices.MaxFunc([]time.Time{r.At, w.state.latest}, time.Time.Compare)
	w.store.clockSays.Store(&clockState{w.state.clock, w.state.latest})
	return readBack(hash, body, r.Previous)
}

// readBack gives a record as anyone will read it from now on.
func readBack(hash, body, previous string) (Record, error) {
	r, err := book.Parse(body)
	r.Hash, r.Previous = hash, previous
	return r, err
}

// ClockSays is what a record written now would say of the clock that dates it.
func (s *Store) ClockSays() string {
	if says := s.clockSays.Load(); says != nil {
		return says.confidence(s.clock.Now().Wall)
	}
	return ClockUnconfirmed
}

// clockState is what is known of the clock; a value of it never changes.
type clockState struct {
	says   string
	latest time.Time // of any record
}

// confidence says what is known of the clock at the time of a record.
func (c clockState) confidence(at time.Time) string {
	if c.says != ClockConfirmed && at.Before(c.latest) {
		return ClockBehind
	}
	return c.says
}

// NoteClock records that the wall clock was set: from is what it would have shown,
// to what it shows. Later records say that the clock is not confirmed.
func (s *Store) NoteClock(ctx context.Context, from, to time.Time) (Record, error) {
	return s.Record(ctx, Entry{Kind: KindClockStepped, Content: encode(stepped{
		From: from.UTC(), To: to.UTC(), Seconds: to.Sub(from).Seconds(),
	})})
}

// The contents of the records that the history writes itself.
type (
	opened struct {
		Book string `json:"book"`
	}
	started struct {
		Version string `json:"version"`
	}
	stepped struct {
		From    time.Time `json:"from"`
		To      time.Time `json:"to"`
		Seconds float64   `json:"seconds"`
	}
)

// encode turns one of our own contents into JSON; those can't fail.
func encode(content any) json.RawMessage {
	text, err := json.Marshal(content)
	if err != nil {
		return nil
	}
	return text
}

// Records gives the selected records in the order of their numbers.
func (s *Reader) Records(ctx context.Context, q Query) ([]Record, error) {
	var records []Record
	for r, err := range s.EachRecord(ctx, q) {
		if err != nil {
			return nil, err
		}
		records = append(records, r)
	}
	return records, nil
}

// EachRecord gives the selected records one by one, in constant memory. After an
// error it ends. The body of the loop must not wait for the store to write.
func (s *Reader) EachRecord(ctx context.Context, q Query) iter.Seq2[Record, error] {
	return sequence(func(give func(Record) error) error {
		return s.view(ctx, func(v view) error {
			where, args := q.sql()
			return v.each(chained+where, func(rows *sql.Rows) error {
				var hash, body, previous string
				if err := rows.Scan(&hash, &body, &previous); err != nil {
					return err
				}
				r, err := readBack(hash, body, previous)
				if err != nil {
					return fmt.Errorf("%w: %w", ErrCorrupt, err)
				}
				return give(r)
			}, args...)
		})
	})
}

// errEnough ends a reading early because the reader has enough.
var errEnough = errors.New("enough")

// sequence hands on what is read, one by one, until whoever reads has enough; after an error it ends.
func sequence[T any](read func(give func(T) error) error) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		err := read(func(one T) error {
			if !yield(one, nil) {
				return errEnough
			}
			return nil
		})
		if err != nil && !errors.Is(err, errEnough) {
			yield(*new(T), err)
		}
	}
}

// EachTold gives the selected records one by one as the rules need them, without the chain
// that proves them. Like [Reader.EachRecord] otherwise.
func (s *Reader) EachTold(ctx context.Context, q Query) iter.Seq2[record.Record, error] {
	return sequence(func(give func(record.Record) error) error {
		var texts told
		return s.eachBody(ctx, "SELECT '', body FROM record r ", q, func(_, body string) error {
			r, err := book.Parse(body)
			if err != nil {
				return fmt.Errorf("%w: %w", ErrCorrupt, err)
			}
			return give(texts.of(r))
		})
	})
}

// Told is a record as the rules need it.
func Told(r Record) record.Record {
	return record.Record{Number: r.Number, Kind: r.Kind, Room: r.Room, Person: r.Person, At: r.At, Happened: r.Happened,
		Corrects: r.Corrects, Reason: r.Reason, Content: r.Content}
}

// told gives records as the rules need them. What repeats is kept once, and by itself: a part
// of the text of a record would keep all of it in the memory.
type told struct{ texts map[string]string }

func (t *told) of(r Record) record.Record {
	out := Told(r)
	out.Kind, out.Room, out.Person, out.Reason = t.text(r.Kind), t.text(r.Room), t.text(r.Person), strings.Clone(r.Reason)
	return out
}

func (t *told) text(part string) string {
	if kept, known := t.texts[part]; known {
		return kept
	}
	kept := strings.Clone(part)
	if t.texts == nil {
		t.texts = map[string]string{}
	}
	t.texts[kept] = kept
	return kept
}

// chained reads records with their place in the chain.
const chained = `SELECT hash, body, coalesce((SELECT p.hash FROM record p WHERE p.number = r.number - 1), '` + book.First +
	`') FROM record r `
