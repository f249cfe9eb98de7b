package history

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"
)

// KindAttested is written when a UTC day is over, and at a stop: it says what the
// samples of the day come to, channel by channel. What is added to a day later
// leads to a further record; the latest one counts.
const KindAttested = "samples attested"

// attested is the content of such a record.
type attested struct {
	Day string `json:"day"`
	// Reasons are the words that samples refer to by number, from number 1.
	Reasons  []string          `json:"reasons,omitempty"`
	Channels []attestedChannel `json:"channels"`
}

// attestedChannel is what the day of one channel comes to.
type attestedChannel struct {
	Channel string `json:"channel"`
	described
	Samples int64  `json:"samples"`
	SHA256  string `json:"sha256"`
}

// described is what the file says of a channel. Books of earlier programs attest the unit alone.
type described struct {
	// Unit is the unit of the raw values.
	Unit    string `json:"unit"`
	Room    string `json:"room,omitempty"`
	Name    string `json:"name,omitempty"`
	Kind    string `json:"kind,omitempty"`
	Silence int64  `json:"silence_ms,omitempty"`
	Retired bool   `json:"out_of_service,omitempty"`
}

// whole says whether more than the unit is attested.
func (d described) whole() bool { return d.Kind != "" }

// pending is a day of one channel that waits to be attested, and how often
// something was added to it.
type pending struct{ key, changes int64 }

// touch notes that something was added to the day of a channel.
func (w *writer) touch(code, ms int64) error {
	w.late = true
	return w.exec("INSERT INTO unattested(key, changes) VALUES(?, 1) ON CONFLICT(key) DO UPDATE SET changes = changes + 1",
		blockKey(code, floorDiv(ms, dayMillis)))
}

// attestDue attests the days that are over, or all that wait when the store closes.
// A day to which something is added meanwhile waits for the next time.
func (s *Store) attestDue(ctx context.Context, closing bool) error {
	days, err := s.dueDays(ctx, closing)
	if err != nil {
		return err
	}
	for _, day := range slices.Sorted(maps.Keys(days)) {
		if s.parting() && !closing {
			return nil
		}
		if err := s.attest(ctx, day, days[day]); err != nil {
			return err
		}
	}
	return nil
}

// dueDays gives what waits to be attested, by day, in the order of the channels.
func (s *Store) dueDays(ctx context.Context, closing bool) (map[int64][]pending, error) {
	today := floorDiv(s.clock.Now().Wall.Add(-lateness).UnixMilli(), dayMillis)
	days := map[int64][]pending{}
	err := s.view(ctx, func(v view) error {
		// A day far ahead was dated by a clock that has been set back since.
		const due = `SELECT key, changes FROM unattested
			WHERE ? OR (key & 4294967295) - 2147483648 NOT BETWEEN ? AND ? ORDER BY key`
		return v.each(due, func(rows *sql.Rows) error {
			var p pending
			err := rows.Scan(&p.key, &p.changes)
			days[blockNumber(p.key)] = append(days[blockNumber(p.key)], p)
			return err
		}, closing, today, today+1)
	})
	return days, err
}

// attest writes the record of a day.
func (s *Store) attest(ctx context.Context, day int64, waiting []pending) error {
	a := attested{Day: dayText(day)}
	err := s.view(ctx, func(v view) (err error) {
		if a.Reasons, err = v.reasons(); err != nil {
			return err
		}
		for _, p := range waiting {
			c, err := v.attestChannel(p.key)
			if err != nil {
				return err
			}
			a.Channels = append(a.Channels, c)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return s.do(ctx, true, func() error { return s.writer.writeAttested(a, waiting) })
}

// attestChannel says what the day of a channel comes to.
func (v view) attestChannel(key int64) (attestedChannel, error) {
	var a attestedChannel
	err := v.row("SELECT id, unit, room, name, kind, silence_ms, in_service = 0 FROM channel WHERE code = ?", key>>32).
		Scan(&a.Channel, &a.Unit, &a.Room, &a.Name, &a.Kind, &a.Silence, &a.Retired)
	if err != nil {
		return a, err
	}
	f, err := v.fingerprint(key)
	a.Samples, a.SHA256 = f.samples, f.sum
	return a, err
}

// writeAttested records what a day comes to, unless something was added to it meanwhile.
func (w *writer) writeAttested(a attested, waiting []pending) error {
	for _, p := range waiting {
		var changes int64
		err := w.row("SELECT changes FROM unattested WHERE key = ?", p.key).Scan(&changes)
		if errors.Is(err, sql.ErrNoRows) || err == nil && changes != p.changes {
			return nil
		}
		if err != nil {
			return err
		}
	}
	if _, err := w.record(Entry{Kind: KindAttested, Content: encode(a)}); err != nil {
		return err
	}
	for _, p := range waiting {
		if err := w.execOne("DELETE FROM unattested WHERE key = ?", p.key); err != nil {
			return err
		}
	}
	return nil
}

// reasons gives the words that samples refer to, in the order of their numbers.
func (v view) reasons() ([]string, error) {
	words, err := v.words()
	if err != nil {
		return nil, err
	}
	var texts []string
	for _, word := range words {
		if word != "" {
			texts = append(texts, string(word))
		}
	}
	return texts, nil
}

// AttestedDay is the UTC day of which a record says what its samples come to, such as 2026-09-01.
func AttestedDay(r Record) (day string, err error) {
	var a struct{ Day string }
	err = json.Unmarshal(r.Content, &a)
	return a.Day, err
}

// dayText is a UTC day, numbered from 1970, as it is written.
func dayText(day int64) string { return time.UnixMilli(day * dayMillis).UTC().Format(time.DateOnly) }

func parseDay(text string) (int64, error) {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return 0, fmt.Errorf("%q is not a day: expected one such as 2026-09-01", text)
	}
	return floorDiv(t.UnixMilli(), dayMillis), nil
}
