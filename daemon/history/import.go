package history

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"time"

	"wetside/sensors"
)

// Import is what is to be taken over from a file of past readings.
type Import struct {
	// Entry is the record that says so; its kind is set here.
	Entry
	// Channels are those that the history does not know yet; they go to the room of the entry.
	Channels []sensors.Channel
	// Samples gives the samples, again each time that it is asked.
	Samples iter.Seq2[Sample, error]
}

// importChunk is how many imported samples are put away at a time.
const importChunk = 4096

// Import stores past readings and the record that tells of them, all of it or nothing.
// Each of its samples is marked as imported; new channels are out of service. It is meant for a history
// that nobody else is writing to: it holds up everything else until it is done.
func (s *Store) Import(ctx context.Context, i Import) (r Record, err error) {
	i.Kind = KindImported
	if err := i.check(); err != nil {
		return Record{}, err
	}
	err = s.do(ctx, true, func() error {
		r, err = s.writer.importAll(i)
		return err
	})
	return r, err
}

func (w *writer) importAll(i Import) (Record, error) {
	if err := w.roomFor(i.Channels); err != nil {
		return Record{}, err
	}
	for _, c := range i.Channels {
		if _, known := w.state.channels[c.ID]; known {
			return Record{}, refusal{fmt.Errorf("the channel %q is known already", c.ID)}
		}
	}
	for _, c := range i.Channels {
		err := errors.Join(w.registerOne(i.Room, c), w.exec("UPDATE channel SET in_service = 0 WHERE id = ?", string(c.ID)))
		if err != nil {
			return Record{}, err
		}
	}
	r, err := w.record(i.Entry)
	if err != nil {
		return r, err
	}
	return r, w.importSamples(i.Samples)
}

func (w *writer) importSamples(samples iter.Seq2[Sample, error]) error {
	chunk := make([]Sample, 0, importChunk)
	for s, err := range samples {
		if err != nil {
			return err
		}
		s.Imported = true
		if chunk = append(chunk, s); len(chunk) < importChunk {
			continue
		}
		if err := w.append(Batch{Samples: chunk}); err != nil {
			return err
		}
		chunk = chunk[:0]
	}
	return w.append(Batch{Samples: chunk})
}

// Imported is the content of the record of an import.
type Imported struct {
	File string `json:"file"`
	// SHA256 is that of the file, in hexadecimal.
	SHA256   string            `json:"sha256"`
	Channels []ImportedChannel `json:"channels"`
}

// ImportedChannel is what a file held of a channel.
type ImportedChannel struct {
	Channel sensors.ChannelID `json:"channel"`
	// Unit is that in which the values are kept, Written what the file calls it.
	Unit    string    `json:"unit"`
	Written string    `json:"written"`
	Samples int64     `json:"samples"`
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
}

// JSON is the content as a record keeps it.
func (i Imported) JSON() json.RawMessage { return encode(i) }
