package main

import (
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/daemon/history/book"
	"wetside/daemon/stamp"
	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/quantity"
)

// witnessed is a stopped history and what was kept elsewhere of it.
type witnessed struct {
	*testing.T
	data    string
	options history.Options
	early   book.Checkpoint // before the record that is forged
	newest  book.Checkpoint
	backup  string
}

// theForged is the number of the record that the forgeries change; the records before it are the opening
// of the book, the start, and what came with the channel.
const theForged = 6

func witnessedHistory(t *testing.T) witnessed {
	w := witnessed{T: t, data: t.TempDir(), backup: filepath.Join(t.TempDir(), "backup.db")}
	clock := clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC))
	w.options = history.Options{Dir: w.data, Clock: clock, Zone: time.UTC, Version: "test"}
	store, err := history.Open(t.Context(), w.options)
	require.NoError(t, err)
	unit, err := quantity.ParseUnit("C")
	require.NoError(t, err)
	traits, _ := sensors.BathTemperature.Traits()
	require.NoError(t, store.RegisterChannels(t.Context(), "wet",
		[]sensors.Channel{{ID: "tray", Name: "Tray", Kind: sensors.BathTemperature, Unit: unit, Traits: traits}}))
	note := func(text string) {
		_, err := store.Record(t.Context(), history.Entry{Kind: "note", Person: "invented volunteer",
			Content: json.RawMessage(`{"text":"` + text + `"}`)})
		require.NoError(t, err)
	}
	lost := clock.Now().Wall
	require.NoError(t, store.Append(t.Context(), history.Batch{
		Samples:    []history.Sample{{Channel: "tray", At: lost, Raw: 20.5, Grade: sensors.Good}},
		GapsOpened: []history.Gap{{Channel: "tray", From: lost, Cause: "port lost"}}}))
	clock.Advance(time.Hour)
	require.NoError(t, store.Append(t.Context(), history.Batch{GapsClosed: []history.Gap{{Channel: "tray", To: clock.Now().Wall}}}))
	w.early, err = store.Backup(t.Context(), filepath.Join(t.TempDir(), "early.db"))
	require.NoError(t, err)
	for w.newest.Number = w.early.Number; w.newest.Number < theForged+3; w.newest.Number++ {
		note(fmt.Sprintf("the fan was off for %d minutes", 10+w.newest.Number))
	}
	require.NoError(t, store.Close())
	store, err = history.Open(t.Context(), w.options)
	require.NoError(t, err)
	w.newest, err = store.Backup(t.Context(), w.backup)
	require.NoError(t, err)
	require.NoError(t, store.Close())
	require.Less(t, w.early.Number, uint64(theForged))
	return w
}

// forged is a book in the hands of somebody who has the file, the source of this program and patience.
type forged struct {
	witnessed
	db *sql.DB
}

func (f forged) exec(query string, args ...any) {
	_, err := f.db.Exec(query, args...)
	require.NoError(f, err, query)
}

// rewrite changes the bodies of the records and, if anew, gives them numbers and hashes that fit.
func (f forged) rewrite(anew bool, change func([]book.Record) []book.Record) {
	var records []book.Record
	rows, err := f.db.Query("SELECT hash, body FROM record ORDER BY number")
	require.NoError(f, err)
	for rows.Next() {
		var hash, body string
		require.NoError(f, rows.Scan(&hash, &body))
		r, err := book.Parse(body)
		require.NoError(f, err)
		r.Hash = hash
		records = append(records, r)
	}
	require.NoError(f, errors.Join(rows.Err(), rows.Close()))
	records = change(records)
	f.exec("DELETE FROM record")
	previous := book.First
	for i, r := range records {
		if anew {
			r.Number = uint64(i + 1)
		}
		body, err := r.Body()
		require.NoError(f, err)
		if anew {
			r.Hash = book.Hash(previous, body)
		}
		f.exec("INSERT INTO record (number, hash, body, kind, room, at_ms) VALUES (?, ?, ?, ?, ?, ?)", r.Number, r.Hash, body, r.Kind, r.Room,
			r.At.UnixMilli())
		previous = r.Hash
	}
}

// otherwise changes what a record says.
func otherwise(records []book.Record) []book.Record {
	r := &records[theForged-1]
	r.Content = json.RawMessage(strings.Replace(string(r.Content), "off for", "on for", 1))
	return records
}

// daySum is the hash that the book attests of the one day of the tray, of what is there now.
func (f forged) daySum() string {
	var lines strings.Builder
	for _, table := range []string{
		"SELECT 'block ' || key || ' ' || lower(hex(samples)) FROM block ORDER BY key",
		"SELECT 'day ' || key || ' ' || lower(hex(quarters)) FROM day ORDER BY key",
		"SELECT 'gap ' || from_ms || ' ' || to_ms || ' ' || cause FROM gap ORDER BY from_ms"} {
		rows, err := f.db.Query(table)
		require.NoError(f, err)
		for rows.Next() {
			var line string
			require.NoError(f, rows.Scan(&line))
			lines.WriteString(line + "\n")
		}
		require.NoError(f, errors.Join(rows.Err(), rows.Close()))
	}
	sum := sha256.Sum256([]byte(lines.String()))
	return hex.EncodeToString(sum[:])
}

// forge does it, with the guards of the table taken away for as long as it takes.
func (w witnessed) forge(do func(forged)) {
	db, err := sql.Open("sqlite", filepath.Join(w.data, history.FileName))
	require.NoError(w, err)
	db.SetMaxOpenConns(1)
	f := forged{w, db}
	guards := map[string]string{}
	rows, err := db.Query("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
	require.NoError(w, err)
	for rows.Next() {
		var name, text string
		require.NoError(w, rows.Scan(&name, &text))
		guards[name] = text
	}
	require.NoError(w, errors.Join(rows.Err(), rows.Close()))
	for name := range guards {
		f.exec("DROP TRIGGER " + name)
	}
	do(f)
	for _, text := range guards {
		f.exec(text)
	}
	require.NoError(w, db.Close())
}

// stampNewest puts the answer of an authority beside the history.
func (w witnessed) stampNewest() (authority string) {
	answer, authority := stamped(w.T, w.newest)
	name := filepath.Join(w.data, stamp.Folder, fmt.Sprintf("checkpoint-%d", w.newest.Number))
	require.NoError(w, os.MkdirAll(filepath.Dir(name), 0o700))
	require.NoError(w, os.WriteFile(name+".txt", []byte(w.newest.String()), 0o600))
	require.NoError(w, os.WriteFile(name+".tsr", answer, 0o600))
	return authority
}

// found says who notices: verify alone, with each witness, and the next start of the program.
func (w witnessed) found() (by []string) {
	ask := func(name string, args ...string) {
		if say(w.T, append([]string{"verify", "--data", w.data}, args...)...).code == exitFailed {
			by = append(by, name)
		}
	}
	ask("nothing")
	ask("an older checkpoint", "--checkpoint", w.early.String())
	ask("a checkpoint", "--checkpoint", w.newest.String())
	ask("a backup", "--backup", w.backup)
	ask("a time stamp", "--authority", w.stampNewest())
	store, err := history.Open(w.Context(), w.options)
	if err == nil {
		err = store.CheckBook()
		_ = store.Close() // a book without its end refuses the record of the stop
	}
	if err != nil {
		by = append(by, "the next start")
	}
	return by
}

// What each forgery costs the forger: changes in part are found without help; a book rewritten as a whole
// is found by whoever kept something of it, and by a start that still has its mark. The centre is such a
// witness too: daemon/uplink.
func TestAForgeryIsFoundByWhoeverKeptSomethingOfTheBook(t *testing.T) {
	anybody := []string{"nothing", "an older checkpoint", "a checkpoint", "a backup", "a time stamp", "the next start"}
	withWitness := anybody[2:]
	for _, c := range []struct {
		name    string
		forge   func(forged)
		foundBy []string
	}{
		{"nothing is forged", func(forged) {}, nil},
		{"a record says something else", func(f forged) { f.rewrite(false, otherwise) }, anybody},
		{"the same, with a hash that fits that record", func(f forged) {
			f.rewrite(false, func(records []book.Record) []book.Record {
				r := &otherwise(records)[theForged-1]
				body, err := r.Body()
				require.NoError(f, err)
				r.Hash = book.Hash(records[theForged-2].Hash, body)
				return records
			})
		}, anybody},
		{"the same, with all hashes after it anew", func(f forged) { f.rewrite(true, otherwise) }, withWitness},
		{"a record is taken out, the rest anew", func(f forged) {
			f.rewrite(true, func(r []book.Record) []book.Record { return slices.Delete(r, theForged-1, theForged) })
		}, withWitness},
		{"a record is slipped in, the rest anew", func(f forged) {
			f.rewrite(true, func(r []book.Record) []book.Record { return slices.Insert(r, theForged, r[theForged-1]) })
		}, withWitness},
		{"the end of the book is cut off, and with it what attests the readings", func(f forged) {
			f.exec("DELETE FROM record WHERE number > ?", theForged)
		}, anybody},
		{"a gap of the readings is taken out", func(f forged) { f.exec("DELETE FROM gap") }, anybody[:5]},
		{"the same, attested anew, all hashes anew", func(f forged) {
			before := f.daySum()
			f.exec("DELETE FROM gap")
			after := f.daySum()
			f.rewrite(true, func(records []book.Record) []book.Record {
				attested := 0
				for i, r := range records {
					text := strings.ReplaceAll(string(r.Content), before, after)
					if text != string(r.Content) {
						attested++
					}
					records[i].Content = json.RawMessage(text)
				}
				require.Positive(f, attested, "the book attests the day")
				return records
			})
		}, withWitness},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := witnessedHistory(t)
			w.forge(c.forge)
			require.Equal(t, c.foundBy, w.found())
		})
	}
}
