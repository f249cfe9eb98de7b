package history_test

import (
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/daemon/history/pack"
	"wetside/sensors"
)

// attestation is the content of a record that attests a day.
type attestation struct {
	Day      string
	Reasons  []string
	Channels []struct {
		Channel, Unit, SHA256 string
		Samples               int64
	}
}

func attestations(t *testing.T, dir string) (list []attestation) {
	s, err := history.OpenReader(t.Context(), options(dir, newHandClock(evening())))
	require.NoError(t, err)
	defer s.Close()
	records, err := s.Records(t.Context(), history.Query{Kinds: []string{history.KindAttested}})
	require.NoError(t, err)
	for _, r := range records {
		var a attestation
		require.NoError(t, json.Unmarshal(r.Content, &a))
		list = append(list, a)
	}
	return list
}

// oneDay makes a closed history of an evening, with a gap and a bad sample.
func oneDay(t *testing.T) (dir string, clock *handClock) {
	dir, clock = t.TempDir(), newHandClock(evening())
	s := open(t, dir, clock)
	fill(t, s, clock, 3*3600)
	bad := good(clock.Now().Wall, 99)
	bad.Grade, bad.Reason = 1, "jumped"
	require.NoError(t, s.Append(t.Context(), history.Batch{Samples: []history.Sample{bad},
		GapsOpened: []history.Gap{{Channel: "tray", From: clock.Now().Wall, Cause: "port lost"}}}))
	clock.pass(time.Hour)
	require.NoError(t, s.Append(t.Context(), history.Batch{GapsClosed: []history.Gap{{Channel: "tray", To: clock.Now().Wall}}}))
	fill(t, s, clock, 600)
	s.Settle(t.Context())
	require.NoError(t, s.Close())
	return dir, clock
}

func TestADayIsAttestedWhenItIsOverAndAtAStop(t *testing.T) {
	dir, clock := oneDay(t)
	require.Equal(t, 1, requireVerified(t, dir).Attested)
	list := attestations(t, dir)
	require.Len(t, list, 1)
	require.Equal(t, "2026-10-14", list[0].Day)
	require.Equal(t, []string{"jumped"}, list[0].Reasons)
	require.EqualValues(t, 3*3600+1+600, list[0].Channels[0].Samples)
	require.Equal(t, "C", list[0].Channels[0].Unit)

	clock.pass(20 * time.Hour)
	s := open(t, dir, clock)
	fill(t, s, clock, 60)
	require.Len(t, attestations(t, dir), 1, "the day is not over")
	require.Equal(t, 1, requireVerified(t, dir).Waiting)
	late := good(evening().Add(time.Minute+time.Millisecond), 21)
	require.NoError(t, s.Append(t.Context(), history.Batch{Samples: []history.Sample{late}}))
	s.Settle(t.Context())
	again := attestations(t, dir)
	require.Len(t, again, 2, "what comes late is attested anew")
	require.Equal(t, list[0].Channels[0].Samples+1, again[1].Channels[0].Samples)
	requireVerified(t, dir)
	clock.pass(24 * time.Hour)
	s.Settle(t.Context())
	require.Len(t, attestations(t, dir), 3)
	require.Zero(t, requireVerified(t, dir).Waiting)
}

// TestAStrangerCanCheckADay follows the description with nothing but SQL and SHA-256.
func TestAStrangerCanCheckADay(t *testing.T) {
	dir, _ := oneDay(t)
	want := attestations(t, dir)[0]
	db, err := sql.Open("sqlite", filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	defer db.Close()
	day, err := time.Parse(time.DateOnly, want.Day)
	require.NoError(t, err)
	var code int64
	require.NoError(t, db.QueryRow("SELECT code FROM channel WHERE id = ?", want.Channels[0].Channel).Scan(&code))
	number := day.Unix() / 86400
	rows, err := db.Query(`
		SELECT line FROM (
			SELECT 1 part, key a, 0 b, '' c, 'block ' || key || ' ' || lower(hex(samples)) line FROM block
				WHERE key >= (?1 << 32) + ?2 * 96 + (1 << 31) AND key < (?1 << 32) + (?2 + 1) * 96 + (1 << 31)
			UNION ALL SELECT 2, key, 0, '', 'day ' || key || ' ' || lower(hex(quarters)) FROM day WHERE key = (?1 << 32) + ?2 + (1 << 31)
			UNION ALL SELECT 3, from_ms, to_ms, cause, 'gap ' || from_ms || ' ' || to_ms || ' ' || cause FROM gap
				WHERE channel = ?1 AND to_ms >= ?2 * 86400000 AND to_ms < (?2 + 1) * 86400000
		) ORDER BY part, a, b, c`, code, number)
	require.NoError(t, err)
	defer rows.Close()
	var lines strings.Builder
	for rows.Next() {
		var line string
		require.NoError(t, rows.Scan(&line))
		lines.WriteString(line + "\n")
	}
	require.NoError(t, rows.Err())
	require.Equal(t, 1, strings.Count(lines.String(), "gap "))
	sum := sha256.Sum256([]byte(lines.String()))
	require.Equal(t, want.Channels[0].SHA256, hex.EncodeToString(sum[:]))
}

// TestATamperedSampleIsFound changes a stored value in a way that its own check does
// not notice, or takes something away, or adds something: verify names channel and day.
func TestATamperedSampleIsFound(t *testing.T) {
	dir, _ := oneDay(t)
	path := filepath.Join(dir, "wetside.db")
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	defer db.Close()
	db.SetMaxOpenConns(1) // what is kept aside belongs to one connection
	for _, how := range []string{"name", "kind", "room", "silence_ms", "in_service", "value", "value", "value", "block gone",
		"block added", "roll-up gone", "day gone", "gap gone", "gap moved", "gap added", "cause", "unit", "word"} {
		tx, err := db.Begin()
		require.NoError(t, err)
		tamper(t, tx, how)
		require.NoError(t, tx.Commit())
		report, err := history.Verify(t.Context(), dir)
		require.NoError(t, err)
		require.NotEmpty(t, report.Damage, how)
		require.Nil(t, report.Broken)
		switch how {
		case "word":
		case "name", "kind", "room", "silence_ms", "in_service":
			require.Equal(t, []string{`the channel "tray": it is not called, meant or measured as record 3 attests`}, report.Damage, how)
		default:
			require.Contains(t, report.Damage[0], `"tray" on 2026-10-1`, how)
		}
		mend(t, db)
	}
	requireVerified(t, dir)
}

// tamper changes something that the file's own checks don't notice.
func tamper(t *testing.T, tx *sql.Tx, how string) {
	exec := func(query string, args ...any) {
		_, err := tx.Exec(query, args...)
		require.NoError(t, err)
	}
	for _, table := range []string{"part", "day", "gap", "channel", "word"} {
		exec(fmt.Sprintf("CREATE TEMP TABLE kept_%s AS SELECT * FROM %s", table, table))
	}
	const one = " WHERE rowid IN (SELECT rowid FROM part ORDER BY random() LIMIT 1)"
	switch how {
	case "value":
		var key int64
		var stored []byte
		require.NoError(t, tx.QueryRow("SELECT key, samples FROM block ORDER BY random() LIMIT 1").Scan(&key, &stored))
		data, err := pack.Checked(stored)
		require.NoError(t, err)
		samples, err := pack.Decode(nil, data)
		require.NoError(t, err)
		samples[rand.IntN(len(samples))].Raw += 0.01
		data, _, err = pack.Encode(nil, samples)
		require.NoError(t, err)
		exec("UPDATE part SET samples = ? WHERE key = ?", pack.WithCheck(data), key)
	case "block gone":
		exec("DELETE FROM part" + one)
	case "block added":
		exec("INSERT INTO part(key, samples) SELECT key + 96 * ?, samples FROM block LIMIT 1", 1+rand.IntN(3))
	case "roll-up gone":
		exec("DELETE FROM day")
	case "day gone":
		exec("DELETE FROM part")
		exec("DELETE FROM day")
		exec("DELETE FROM gap")
	case "gap gone":
		exec("DELETE FROM gap")
	case "gap moved":
		exec("UPDATE gap SET from_ms = from_ms + 1")
	case "gap added":
		exec("INSERT INTO gap(channel, from_ms, to_ms, cause) SELECT channel, from_ms, to_ms + 86400000, cause FROM gap LIMIT 1")
	case "cause":
		exec("UPDATE gap SET cause = 'probe wet'")
	case "unit":
		exec("UPDATE channel SET unit = '°F'")
	case "name", "kind", "room":
		exec(fmt.Sprintf("UPDATE channel SET %[1]s = %[1]s || 's'", how))
	case "in_service":
		exec("UPDATE channel SET in_service = 0")
	case "silence_ms":
		exec("UPDATE channel SET silence_ms = silence_ms + 1000")
	case "word":
		exec("UPDATE word SET text = 'fine'")
	}
}

// mend puts back what tamper changed.
func mend(t *testing.T, db *sql.DB) {
	for _, table := range []string{"channel", "word", "part", "day", "gap"} {
		_, err := db.Exec(fmt.Sprintf("DELETE FROM %[1]s; INSERT INTO %[1]s SELECT * FROM kept_%[1]s; DROP TABLE kept_%[1]s", table))
		require.NoError(t, err)
	}
}

// TestAChannelThatIsCalledOtherwiseIsAttestedAgain renames a channel while nothing is
// measured, and again without a stop in between.
func TestAChannelThatIsCalledOtherwiseIsAttestedAgain(t *testing.T) {
	dir, clock := oneDay(t)
	for _, name := range []string{"Developer", "First developer"} {
		clock.pass(48 * time.Hour)
		s := open(t, dir, clock)
		c := bath(t, "tray")
		c.Name = name
		require.NoError(t, s.RegisterChannels(t.Context(), "wet", []sensors.Channel{c}))
		require.NoError(t, requireVerified(t, dir).Err(), "not yet attested")
		require.NoError(t, s.Close())
		requireVerified(t, dir)
	}
	db, err := sql.Open("sqlite", filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	defer db.Close()
	_, err = db.Exec("UPDATE channel SET name = 'Developer'")
	require.NoError(t, err)
	report, err := history.Verify(t.Context(), dir)
	require.NoError(t, err)
	require.Len(t, report.Damage, 1, "an earlier name is not the present one")
}

func TestADeletionIsVerifiedToo(t *testing.T) {
	dir, clock := oneDay(t)
	clock.pass(24 * time.Hour)
	s := open(t, dir, clock)
	fill(t, s, clock, 60)
	d := history.Deletion{Entry: history.Entry{Person: "A. Keeper"}, Channel: "tray", Before: time.Date(2026, 10, 15, 0, 0, 0, 0,
		time.UTC), KeptFor: "1 day", Why: "test"}
	found, err := s.Deletable(t.Context(), d)
	require.NoError(t, err)
	require.EqualValues(t, 3*3600+1+600, found.Samples)
	r, err := s.Delete(t.Context(), d)
	require.NoError(t, err)
	require.Equal(t, "A. Keeper", r.Person)
	require.Empty(t, all(t, s, evening().Add(-time.Hour), d.Before))
	require.Len(t, all(t, s, d.Before, clock.Now().Wall), 60)
	requireVerified(t, dir)
	_, err = s.Delete(t.Context(), d)
	require.ErrorIs(t, err, history.ErrNothing)
	d.Channel = "nowhere"
	_, err = s.Delete(t.Context(), d)
	require.ErrorIs(t, err, history.ErrUnknownChannel)
	late := good(evening(), 21)
	require.NoError(t, s.Append(t.Context(), history.Batch{Samples: []history.Sample{late}}))
	s.Settle(t.Context())
	require.NoError(t, s.Close())
	requireVerified(t, dir)

	change(t, dir, "INSERT INTO part(key, samples) SELECT key - 96, samples FROM block LIMIT 1")
	report, err := history.Verify(t.Context(), dir)
	require.NoError(t, err)
	require.Len(t, report.Damage, 1)
	require.Contains(t, report.Damage[0], "says that they were deleted, and they are there")
}
