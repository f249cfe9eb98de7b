package history

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"time"

	"wetside/daemon/history/pack"
	"wetside/sensors"
)

const (
	// quarterMillis is the length of a quarter of an hour.
	quarterMillis = int64(15 * time.Minute / time.Millisecond)
	// tailRowBytes is when a row of the tail is full for a further batch: two rows fill a page.
	tailRowBytes = 1900
	// tailMostBytes bounds a row that one batch begins.
	tailMostBytes = 64 << 10
	// tailSampleBytes is the size of one sample in the tail.
	tailSampleBytes = 20
)

// Append stores a batch, all of it or nothing, and returns once it is committed:
// it then survives a killed program, and a power loss within a second, or at once
// when it is durable. After an ErrWrite nothing of the batch is stored, and once
// writing works again the time of its samples becomes a gap.
func (s *Store) Append(ctx context.Context, b Batch) error {
	return s.submit(ctx, &job{write: func() error { return s.writer.append(b) }, samples: b.Samples, durable: b.Durable})
}

func (w *writer) append(b Batch) error {
	if err := w.checkChannels(b); err != nil {
		return refusal{err}
	}
	samples, err := w.encodeSamples(b.Samples)
	if err != nil {
		return err
	}
	for len(samples) > 0 {
		n := rowShare(samples)
		if err := w.addToTail(samples[0].quarter(), samples[:n]); err != nil {
			return err
		}
		samples = samples[n:]
	}
	return w.changeGaps(b)
}

func (w *writer) checkChannels(b Batch) error {
	check := func(id sensors.ChannelID) error {
		if _, ok := w.state.channels[id]; !ok {
			return fmt.Errorf("%w %q: register it before its first sample", ErrUnknownChannel, id)
		}
		return nil
	}
	for i := range b.Samples {
		if err := check(b.Samples[i].Channel); err != nil {
			return err
		}
	}
	for _, g := range slices.Concat(b.GapsOpened, b.GapsClosed) {
		if err := check(g.Channel); err != nil {
			return err
		}
	}
	return nil
}

// tailSample is a sample of any channel as the file knows it.
type tailSample struct {
	channel uint16
	pack.Sample
}

func (t tailSample) quarter() int64 { return floorDiv(t.At, quarterMillis) }

func (w *writer) encodeSamples(samples []Sample) ([]tailSample, error) {
	out := make([]tailSample, len(samples))
	for i := range samples {
		s := &samples[i]
		if year := s.At.Year(); year < 1 || year > 9999 {
			return nil, refusal{fmt.Errorf("%w: a sample of the year %d: expected the years 1 to 9999", ErrBadSample, year)}
		}
		word, err := w.word(s.Reason)
		if err != nil {
			return nil, err
		}
		out[i] = tailSample{
			uint16(w.state.channels[s.Channel]),
			pack.Sample{At: s.At.UnixMilli(), Raw: s.Raw, Grade: s.storedGrade(), Word: word},
		}
	}
	return out, nil
}

// word gives the number of a reason; a new one gets the next number.
func (w *writer) word(text sensors.Reason) (uint8, error) {
	if text == "" {
		return 0, nil
	}
	if code, ok := w.state.words[text]; ok {
		return code, nil
	}
	if len(w.state.words) == math.MaxUint8 {
		return 0, refusal{fmt.Errorf("more than %d different reasons for samples: %q is one too many", math.MaxUint8, text)}
	}
	code := uint8(len(w.state.words) + 1)
	w.state.words[text] = code
	return code, w.exec("INSERT INTO word(code, text) VALUES(?, ?)", code, string(text))
}

// rowShare is how many of the samples go to one row: those of one quarter, as
// long as there is room.
func rowShare(samples []tailSample) int {
	quarter := samples[0].quarter()
	n := 1
	for n < min(tailMostBytes/tailSampleBytes, len(samples)) && samples[n].quarter() == quarter {
		n++
	}
	return n
}

// addToTail adds samples of one quarter to the last row, or to a new one when
// that is full or of another quarter.
func (w *writer) addToTail(quarter int64, samples []tailSample) error {
	data := make([]byte, 0, len(samples)*tailSampleBytes)
	for _, s := range samples {
		data = s.appendTo(data)
	}
	w.late = w.late || isDue(quarter, w.store.clock.Now().Wall)
	row := &w.state.row
	if row.fits(quarter, len(data)) {
		row.size += len(data)
		return w.execOne("UPDATE tail SET samples = CAST(samples || ? AS BLOB) WHERE id = ?", data, row.id)
	}
	if row.id == 0 || tailQuarter(row.id) != quarter {
		last, err := w.stmt("SELECT coalesce(max(id), ?) FROM tail WHERE id > ? AND id < ?")
		if err != nil {
			return err
		}
		before := tailID(quarter)
		if err := last.QueryRow(before, before, tailID(quarter+1)).Scan(&row.id); err != nil {
			return err
		}
	}
	*row = tailRow{row.id + 1, len(data)}
	return w.exec("INSERT INTO tail(id, samples) VALUES(?, ?)", row.id, data)
}

// fits says whether more bytes of a quarter fit into the row.
func (r tailRow) fits(quarter int64, bytes int) bool {
	return r.id != 0 && tailQuarter(r.id) == quarter && r.size+bytes <= tailRowBytes
}

func (t tailSample) appendTo(b []byte) []byte {
	b = binary.LittleEndian.AppendUint16(b, t.channel)
	b = append(b, t.Grade, t.Word)
	b = binary.LittleEndian.AppendUint64(b, uint64(t.At))
	return binary.LittleEndian.AppendUint64(b, math.Float64bits(t.Raw))
}

// decodeTail reads the samples of one row of the tail and hands them to each.
func decodeTail(b []byte, each func(tailSample)) error {
	if len(b)%tailSampleBytes != 0 {
		return fmt.Errorf("%w: a row of unsealed samples has %d bytes", ErrCorrupt, len(b))
	}
	for ; len(b) > 0; b = b[tailSampleBytes:] {
		each(tailSample{binary.LittleEndian.Uint16(b), pack.Sample{
			Grade: b[2], Word: b[3],
			At:  int64(binary.LittleEndian.Uint64(b[4:])),
			Raw: math.Float64frombits(binary.LittleEndian.Uint64(b[12:])),
		}})
	}
	return nil
}

// floorDiv divides and rounds down, also below zero.
func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
