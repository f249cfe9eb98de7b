package history

import (
	"cmp"
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"wetside/daemon/history/book"
)

// Walked is a record that [Walk] came by. Of one that can't be read there is only what the
// table says of it, with Unreadable.
type Walked struct {
	Record
	Unreadable error
}

// Steps are what is done with the records of a walk.
type Steps[T any] struct {
	// After is the record after which the walk begins; zero for the first of the book. What lies
	// before is as true as the hash of that record, which is taken as it stands.
	After uint64
	// Trail is what an earlier walk of the same book left; the zero Trail is none. The hash of every
	// record is worked out again, but one that was read then is read again only if Wants says so.
	Trail Trail
	Wants func(kind string, at time.Time) bool
	// Read turns a record into what Take wants. It is called in any order, on every processor.
	Read func(Walked) T
	// Take is handed what was read, some at a time, in the order of the records. The list is
	// used again once Take returns.
	Take func([]T) error
}

// Trail is what a walk from the first record of a book leaves, if all records held: the last of
// them, and for each whole stretch the SHA-256 of the columns that no hash of a record rests on.
type Trail struct {
	Last book.Checkpoint
	Sums [][sha256.Size]byte
}

// stretchLength is how many records are read and walked at a time. Each of them keeps their
// whole text in the memory.
const stretchLength = 500

// Walk checks the record book, by default from its first record, to its last, and hands every record on:
// those after one that does not hold too. Stretches of the book are walked side by side: each
// begins with the hash that the one before must end with.
func Walk[T any](ctx context.Context, s *Reader, do Steps[T]) (Report, error) {
	first, last := book.Checkpoint{Number: do.After}, uint64(0)
	err := s.view(ctx, func(v view) error {
		return v.row("SELECT coalesce(max(number), 0), coalesce((SELECT hash FROM record WHERE number = ?), '') FROM record",
			first.Number).Scan(&last, &first.Hash)
	})
	if err != nil {
		return Report{}, err
	}
	last = max(last, first.Number)
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	w := walk[T]{reader: s, do: do, last: last, room: make(chan struct{}, 3*walkers()), used: make(chan []T, 3*walkers()),
		parts: make([]chan part[T], (last-do.After+stretchLength-1)/stretchLength)}
	for i := range w.parts {
		w.parts[i] = make(chan part[T], 1)
	}
	var working sync.WaitGroup
	for range walkers() {
		working.Go(func() { w.work(ctx, &cutter{}) })
	}
	report := Report{Last: first}
	err = w.gather(ctx, &report)
	cancel()
	working.Wait()
	if report.Trail.Last = report.Last; do.After > 0 || report.Broken != nil {
		report.Trail = Trail{}
	}
	return report, err
}

func walkers() int { return min(runtime.NumCPU(), readers) }

// walk is a walk under way.
type walk[T any] struct {
	reader *Reader
	do     Steps[T]
	last   uint64 // the record at which the walk ends
	next   atomic.Int64
	room   chan struct{} // bounds how many stretches were read and not yet taken
	parts  []chan part[T]
	used   chan []T // lists to be used again
}

// part is a stretch that was walked.
type part[T any] struct {
	read   []T
	last   book.Checkpoint // the last record that holds
	broken *book.Broken
	err    error
	whole  bool // it has as many records as a stretch has
	sum    [sha256.Size]byte
}

// work walks one stretch after another.
func (w *walk[T]) work(ctx context.Context, cut *cutter) {
	for {
		select {
		case w.room <- struct{}{}:
		case <-ctx.Done():
			return
		}
		i := int(w.next.Add(1)) - 1
		if i >= len(w.parts) {
			return
		}
		w.parts[i] <- w.stretch(ctx, i, cut)
	}
}

// gather takes the stretches in their order.
func (w *walk[T]) gather(ctx context.Context, report *Report) error {
	for _, next := range w.parts {
		var p part[T]
		select {
		case p = <-next:
		case <-ctx.Done():
			return ctx.Err()
		}
		if p.err != nil {
			return p.err
		}
		if p.whole {
			report.Trail.Sums = append(report.Trail.Sums, p.sum)
		}
		if report.Broken == nil {
			report.Broken = p.broken
			if p.last.Number > 0 {
				report.Last = p.last
			}
		}
		if err := w.do.Take(p.read); err != nil {
			return err
		}
		w.used <- p.read[:0] // there is space for all that were made
		<-w.room
	}
	return nil
}

func (w *walk[T]) stretch(ctx context.Context, i int, cut *cutter) (p part[T]) {
	begin := book.Checkpoint{Number: w.do.After + uint64(i)*stretchLength}
	end := min(begin.Number+stretchLength, w.last)
	select {
	case p.read = <-w.used:
	default:
		p.read = make([]T, 0, stretchLength)
	}
	// A stretch is short: one that began is read to its end, as to look out for the end of a
	// context costs at every row.
	p.err = w.reader.view(context.WithoutCancel(ctx), func(v view) error {
		if begin.Number > 0 {
			err := v.row("SELECT hash FROM record WHERE number = ?", begin.Number).Scan(&begin.Hash)
			if err != nil && !errors.Is(err, sql.ErrNoRows) { // whoever walks over the hole tells
				return err
			}
		}
		var text, bodies string
		if err := v.row(joinedColumns, begin.Number, end).Scan(&text, &bodies); err != nil {
			return err
		}
		list, sum, err := cut.columns(text, bodies)
		p.whole, p.sum = len(list) == stretchLength, sum
		if err != nil || w.do.After == 0 && i < len(w.do.Trail.Sums) && sum == w.do.Trail.Sums[i] && w.pass(&p, begin, list) {
			return err
		}
		chain := book.After(begin)
		p.read = p.read[:0]
		for _, c := range list {
			p.read = append(p.read, w.do.Read(p.check(&chain, c)))
		}
		if reached := chain.Last().Number; p.broken == nil && reached < end {
			p.broken = &book.Broken{Number: reached + 1, Why: "the record is missing"}
		}
		return nil
	})
	return p
}

// pass goes over records that were all read before and reads those that are wanted. It says no
// where one of them is not what it was.
func (w *walk[T]) pass(p *part[T], begin book.Checkpoint, list []columns) bool {
	chain := book.After(begin)
	for _, c := range list {
		previous := chain.Previous()
		if !chain.Pass(c.hash, c.body) {
			return false
		}
		if !w.do.Wants(c.kind, time.UnixMilli(c.atMS)) {
			continue
		}
		r, err := readBack(c.hash, c.body, previous)
		if err != nil {
			return false
		}
		p.read = append(p.read, w.do.Read(Walked{Record: r}))
	}
	p.last = chain.Last()
	return true
}

// joinedColumns reads records as two texts, which takes half as long as to read them row by row: one has of each the
// numbers, the lengths of the texts and the short ones of these, the other the bodies, which are many times as long: to join
// them to the rest would copy them once more. That they come in order is not asked for, as the engine would copy every text
// yet again for that, which is a quarter of the work.
const joinedColumns = `SELECT coalesce(string_agg(concat_ws(' ', number, at_ms, octet_length(kind), octet_length(room), octet_length(hash),
	octet_length(body), kind, room, hash), ''), ''), coalesce(string_agg(body, ''), '') FROM record WHERE number > ? AND number <= ?`

// cutter takes such texts apart, one after another in the same memory.
type cutter struct {
	list   []columns
	summed []byte
}

// columns gives the records of a text by their numbers, good until the next text. The sum is that of the
// numbers, lengths, kinds and rooms.
func (k *cutter) columns(text, bodies string) (list []columns, sum [sha256.Size]byte, err error) {
	k.list, k.summed = k.list[:0], k.summed[:0]
	for text != "" {
		c := columns{about: text}
		var numbers [6]int64
		for i := range numbers {
			var digits string
			digits, text, _ = strings.Cut(text, " ")
			if numbers[i], err = strconv.ParseInt(digits, 10, 64); err != nil {
				return nil, sum, fmt.Errorf("%w: a record has no number or no length: %w", ErrCorrupt, err)
			}
		}
		c.number, c.atMS = uint64(numbers[0]), numbers[1]
		kind, room, hash, body := int(numbers[2]), int(numbers[3]), int(numbers[4]), int(numbers[5])
		if kind+room+hash+len("  ") > len(text) || body > len(bodies) {
			return nil, sum, fmt.Errorf("%w: record %d ends early", ErrCorrupt, c.number)
		}
		c.kind, text = text[:kind], text[kind+len(" "):]
		c.room, text = text[:room], text[room+len(" "):]
		c.about = c.about[:len(c.about)-len(text)]
		c.hash, text = text[:hash], text[hash:]
		c.body, bodies = bodies[:body], bodies[body:]
		k.list = append(k.list, c)
	}
	slices.SortFunc(k.list, func(a, b columns) int { return cmp.Compare(a.number, b.number) })
	for _, c := range k.list {
		k.summed = append(k.summed, c.about...)
	}
	return k.list, sha256.Sum256(k.summed), nil
}

// check checks the next record, unless one before it did not hold.
func (p *part[T]) check(chain *book.Chain, c columns) Walked {
	if p.broken == nil {
		r, err := c.follow(chain)
		if err == nil {
			p.last = chain.Last()
			return Walked{Record: r}
		}
		errors.As(err, &p.broken)
	}
	r, err := readBack(c.hash, c.body, "")
	if err != nil {
		r = Record{Number: c.number, Kind: c.kind, Room: c.room, At: time.UnixMilli(c.atMS).UTC()}
		return Walked{r, fmt.Errorf("%w: record %d: %w", ErrCorrupt, c.number, err)}
	}
	return Walked{Record: r}
}
