package history_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/daemon/history"
)

// contents is all that a history says of its samples and records.
type contents struct {
	samples []history.Sample
	chart   []history.Column
	records []history.Record
	gaps    []history.Gap
}

// read opens a history and reads everything that was in it before the start.
func read(dir string, clock *handClock) (contents, error) {
	var c contents
	ctx := context.Background()
	s, err := history.Open(ctx, options(dir, clock))
	if err != nil {
		return c, err
	}
	defer s.Close()
	from, to := evening(), evening().Add(2*time.Hour)
	for sample, err := range s.Samples(ctx, "tray", from, to) {
		if err != nil {
			return c, err
		}
		c.samples = append(c.samples, sample)
	}
	series, err := s.Series(ctx, history.SeriesQuery{Channel: "tray", From: from, To: to, Points: 5})
	if err != nil {
		return c, err
	}
	c.chart = series.Columns
	if c.gaps, err = s.Gaps(ctx, "tray", from, to); err != nil {
		return c, err
	}
	c.records, err = s.Records(ctx, history.Query{To: to})
	return c, err
}

// carryNoData are the places of a file where a changed byte is not found, because
// nothing is told from them: what SQLite does not use or works out again, the order in its
// list of tables, and the two tables in which the daemon keeps its place.
func carryNoData() []string {
	return []string{"header of the file", "free page", "unused part of a page", "sqlite_schema", "alive", "unattested"}
}

// TestAChangedByteIsFoundOrMattersNot changes one byte anywhere in the file: it is
// found, or it lies where no data is, and every sample, every roll-up and every record
// still is what it was.
func TestAChangedByteIsFoundOrMattersNot(t *testing.T) {
	dir, clock := t.TempDir(), newHandClock(evening())
	s := open(t, dir, clock)
	frames(t, s, clock)
	require.NoError(t, s.Append(t.Context(), history.Batch{GapsOpened: []history.Gap{{Channel: "tray", From: clock.Now().Wall,
		Cause: "port lost"}}}))
	clock.pass(30 * time.Minute)
	require.NoError(t, s.Append(t.Context(), history.Batch{GapsClosed: []history.Gap{{Channel: "tray", To: clock.Now().Wall}}}))
	clock.pass(30 * time.Minute)
	s.Settle(t.Context())
	for range 20 {
		_, err := s.Record(t.Context(), history.Entry{Kind: "form", Content: []byte(`{"millilitres": 1000}`)})
		require.NoError(t, err)
	}
	require.NoError(t, s.Close())
	clock.pass(24 * time.Hour)
	whole, err := os.ReadFile(filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	root, copies := t.TempDir(), 0
	copyOf := func(t require.TestingT, file []byte) string {
		copies++
		dir := filepath.Join(root, fmt.Sprint(copies))
		require.NoError(t, os.Mkdir(dir, 0o700))
		require.NoError(t, os.WriteFile(filepath.Join(dir, "wetside.db"), file, 0o600))
		return dir
	}
	want, err := read(copyOf(t, whole), clock)
	require.NoError(t, err)
	require.Len(t, want.samples, 3600)
	require.NotEmpty(t, want.gaps)
	found, layout := 0, pagesOf(t, dir, whole)
	rapid.Check(t, func(t *rapid.T) {
		file := bytes.Clone(whole)
		at := rapid.IntRange(0, len(file)-1).Draw(t, "at")
		file[at] ^= rapid.ByteRange(1, 255).Draw(t, "bits")
		dir := copyOf(t, file)
		report, err := history.Verify(context.Background(), dir)
		if err != nil || report.Err() != nil {
			found++
			return
		}
		got, err := read(dir, clock)
		if err != nil {
			found++ // a start tells of it
			return
		}
		require.Equal(t, want, got)
		require.Contains(t, carryNoData(), layout.holds(at))
	})
	require.Positive(t, found)
}

// TestATableThatIsNotAsItWasMadeIsFound changes the text by which tables and triggers are
// made byte by byte, and takes the guards of the book away with SQL.
func TestATableThatIsNotAsItWasMadeIsFound(t *testing.T) {
	dir, _ := closed(t)
	path := filepath.Join(dir, "wetside.db")
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	texts := 0
	for _, text := range layoutOf(t, path) {
		from := bytes.Index(whole, []byte(text))
		if from < 0 {
			continue // it goes on over several pages
		}
		texts++
		for at := from; at < from+len(text); at += 5 {
			file := bytes.Clone(whole)
			file[at] ^= 1
			require.NoError(t, os.WriteFile(path, file, 0o600))
			report, err := history.Verify(t.Context(), dir)
			require.Error(t, errors.Join(err, report.Err()), "byte %d of %q", at-from, text)
		}
	}
	require.Greater(t, texts, 5)
	for statement, want := range map[string]string{
		"DROP TRIGGER record_is_never_changed": "the trigger record_is_never_changed is missing",
		"DROP INDEX gap_by_end":                "the index gap_by_end is missing",
		"CREATE TABLE other (a INTEGER)":       "there is a table other, which the program never makes",
		"DROP TRIGGER record_is_never_deleted; " +
			"CREATE TRIGGER record_is_never_deleted BEFORE DELETE ON record BEGIN SELECT 1; END": "the trigger " +
			"record_is_never_deleted is not as the program makes it",
	} {
		require.NoError(t, os.WriteFile(path, whole, 0o600))
		db, err := sql.Open("sqlite", path)
		require.NoError(t, err)
		_, err = db.Exec(statement)
		require.NoError(t, errors.Join(err, db.Close()))
		report, err := history.Verify(t.Context(), dir)
		require.NoError(t, err)
		require.Equal(t, []string{want}, report.Damage)
	}
}

// layoutOf are the texts by which the tables, indexes and triggers of a file were made.
func layoutOf(t *testing.T, path string) (texts []string) {
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	defer db.Close()
	rows, err := db.Query("SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL")
	require.NoError(t, err)
	for rows.Next() {
		var text string
		require.NoError(t, rows.Scan(&text))
		texts = append(texts, text)
	}
	require.NoError(t, rows.Err())
	return texts
}

// TestAFileThatWasCutShortIsNeverTakenForAHistory cuts a file anywhere: whoever verifies
// or reads it is told in a sentence, and never that all holds.
func TestAFileThatWasCutShortIsNeverTakenForAHistory(t *testing.T) {
	dir, _ := closed(t)
	whole, err := os.ReadFile(filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	cut := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		length := rapid.OneOf(rapid.SampledFrom([]int{0, 1, 32, 50, 100, 512, 4096, 4096 + 32}),
			rapid.IntRange(0, len(whole)-1)).Draw(t, "length")
		require.NoError(t, os.WriteFile(filepath.Join(cut, "wetside.db"), whole[:length], 0o600))
		report, err := history.Verify(context.Background(), cut)
		if err == nil {
			err = report.Err()
		}
		require.ErrorIs(t, err, history.ErrCorrupt)
		require.Regexp(t, "keep the file|cut short|holds no history|page", err.Error())

		backup := filepath.Join(cut, "wetside-20261220.db")
		require.NoError(t, os.WriteFile(backup, whole[:length], 0o600))
		_, err = history.Restore(context.Background(), backup, filepath.Join(cut, "new"))
		require.ErrorIs(t, err, history.ErrCorrupt)
		require.NotContains(t, err.Error(), "in its place", "a backup is not put right by a backup of itself")
	})
}
