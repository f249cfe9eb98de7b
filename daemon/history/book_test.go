package history_test

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/daemon/history"
)

// bookWith makes a closed history whose book holds a few forms.
func bookWith(t *testing.T, forms int) (dir string) {
	t.Helper()
	dir = t.TempDir()
	s := open(t, dir, newHandClock(evening()))
	for i := range forms {
		_, err := s.Record(t.Context(), history.Entry{
			Kind: "batch mixed", Room: "wet", Person: "Zoë 写真 <&>\u2028", Content: json.RawMessage(fmt.Sprintf(`{"number": %d}`, i)),
		})
		require.NoError(t, err)
	}
	require.NoError(t, s.Close())
	return dir
}

func TestAnExportVerifiesWithASystemTool(t *testing.T) {
	s := open(t, bookWith(t, 3), newHandClock(evening().Add(time.Hour)))
	var out bytes.Buffer
	require.NoError(t, s.ExportRecords(t.Context(), &out))
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	require.EqualValues(t, len(lines), s.Checkpoint().Number)

	previous := strings.Repeat("0", 64)
	for _, line := range lines {
		hash, body, _ := strings.Cut(line, " ")
		tool := exec.Command("sha256sum")
		tool.Stdin = strings.NewReader(previous + "\n" + body + "\n")
		sum, err := tool.Output()
		require.NoError(t, err)
		require.Equal(t, hash, strings.Fields(string(sum))[0])
		previous = hash
	}
}

func TestAChangedByteOfAnyRecordIsFound(t *testing.T) {
	dir := bookWith(t, 6)
	pristine, err := os.ReadFile(filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	change(t, dir, "DROP TRIGGER record_is_never_changed")
	unlocked, err := os.ReadFile(filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	require.NotEqual(t, pristine, unlocked)
	db, err := sql.Open("sqlite", filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	defer db.Close()
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.IntRange(1, 9).Draw(t, "number")
		column := rapid.SampledFrom([]string{"hash", "body", "kind"}).Draw(t, "column")
		var text []byte
		require.NoError(t, db.QueryRow("SELECT CAST("+column+" AS BLOB) FROM record WHERE number = ?", number).Scan(&text))
		put := func(b []byte) {
			_, err := db.Exec("UPDATE record SET "+column+" = CAST(? AS TEXT) WHERE number = ?", b, number)
			require.NoError(t, err)
		}
		at := rapid.IntRange(0, len(text)-1).Draw(t, "at")
		changed := bytes.Clone(text)
		changed[at] ^= rapid.ByteRange(1, 255).Draw(t, "bits")
		put(changed)
		report, err := history.Verify(context.Background(), dir)
		require.NoError(t, err)
		require.NotNil(t, report.Broken)
		require.EqualValues(t, number, report.Broken.Number)
		require.EqualValues(t, number-1, report.Last.Number)
		require.Error(t, report.Err())
		put(text)
	})
	report, err := history.Verify(t.Context(), dir)
	require.NoError(t, err)
	require.Nil(t, report.Broken)
}

func TestARemovedRecordIsFound(t *testing.T) {
	dir := bookWith(t, 6)
	change(t, dir, "DROP TRIGGER record_is_never_deleted; DELETE FROM record WHERE number = 4")
	report, err := history.Verify(t.Context(), dir)
	require.NoError(t, err)
	require.EqualValues(t, 4, report.Broken.Number)
}

// TestStretchesOfABookAreCheckedAsTheWholeOfIt changes and removes records where one
// stretch ends and the next begins, and elsewhere.
func TestStretchesOfABookAreCheckedAsTheWholeOfIt(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, newHandClock(evening()))
	entries := make([]history.Entry, 2394) // with the records of the history itself 2397
	for i := range entries {
		entries[i] = history.Entry{Kind: "batch mixed", Content: json.RawMessage(fmt.Sprint(i))}
	}
	_, err := s.RecordAll(t.Context(), entries)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	db, err := sql.Open("sqlite", filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	defer db.Close()
	_, err = db.Exec("DROP TRIGGER record_is_never_changed; DROP TRIGGER record_is_never_deleted; DROP TRIGGER record_is_added_at_the_end")
	require.NoError(t, err)
	reader, err := history.OpenReader(t.Context(), options(dir, newHandClock(evening())))
	require.NoError(t, err)
	defer reader.Close()
	holds := func() {
		found, err := reader.VerifyBook(t.Context())
		require.NoError(t, err)
		require.Nil(t, found.Broken)
		require.EqualValues(t, 2397, found.Last.Number)
	}
	holds()
	_, err = db.Exec("CREATE TABLE kept AS SELECT * FROM record")
	require.NoError(t, err)
	for _, number := range []int{1, 2, 799, 1998, 1999, 2000, 2001, 2002, 2396, 2397} {
		for _, change := range []string{"UPDATE record SET body = replace(body, '\"mono_ms\":0', '\"mono_ms\":1')",
			"UPDATE record SET hash = lower(hex(randomblob(32)))", "DELETE FROM record"} {
			_, err := db.Exec(change+" WHERE number = ?", number)
			require.NoError(t, err)
			var handed []uint64
			found, err := history.Walk(t.Context(), reader, history.Steps[uint64]{
				Read: func(r history.Walked) uint64 { return r.Number },
				Take: func(numbers []uint64) error { handed = append(handed, numbers...); return nil },
			})
			require.NoError(t, err)
			var want []uint64
			for n := range uint64(2397) {
				if n+1 != uint64(number) || !strings.HasPrefix(change, "DELETE") {
					want = append(want, n+1)
				}
			}
			require.Equal(t, want, handed, "what comes after a record that does not hold is handed on too")
			if number == 2397 && strings.HasPrefix(change, "DELETE") {
				require.EqualValues(t, 2396, found.Last.Number, "only a checkpoint kept elsewhere tells that the end is gone")
			} else {
				require.NotNil(t, found.Broken, "%s %d", change, number)
				require.EqualValues(t, number, found.Broken.Number, change)
				require.EqualValues(t, number-1, found.Last.Number, change)
			}
			_, err = db.Exec("DELETE FROM record; INSERT INTO record SELECT * FROM kept")
			require.NoError(t, err)
		}
	}
	holds()
}

func TestTheTableRefusesChanges(t *testing.T) {
	dir := bookWith(t, 2)
	db, err := sql.Open("sqlite", filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	defer db.Close()
	for _, query := range []string{
		"UPDATE record SET kind = 'other' WHERE number = 2",
		"DELETE FROM record WHERE number = 2",
		"INSERT INTO record SELECT 99, hash, body, kind, room, at_ms FROM record LIMIT 1",
		"INSERT OR REPLACE INTO record SELECT number, hash, body, 'other', room, at_ms FROM record LIMIT 1",
	} {
		_, err := db.Exec(query)
		require.ErrorContains(t, err, "a record is", query)
	}
}

func TestAnyEveningVerifies(t *testing.T) {
	root := t.TempDir()
	evenings := 0
	rapid.Check(t, func(t *rapid.T) {
		evenings++
		dir := filepath.Join(root, fmt.Sprint(evenings))
		clock := newHandClock(evening())
		var acknowledged []history.Record
		for range rapid.IntRange(1, 3).Draw(t, "starts") {
			s, err := history.Open(context.Background(), options(dir, clock))
			require.NoError(t, err)
			for range rapid.IntRange(0, 4).Draw(t, "forms") {
				clock.set(evening().Add(time.Duration(rapid.Int64Range(-1e15, 1e15).Draw(t, "wall"))))
				r, err := s.Record(context.Background(), history.Entry{
					Kind: rapid.StringMatching(`.{1,10}x`).Draw(t, "kind"), Person: rapid.String().Draw(t, "person"),
					Reason: rapid.String().Draw(t, "reason"), Corrects: rapid.Uint64().Draw(t, "corrects"),
				})
				require.NoError(t, err)
				acknowledged = append(acknowledged, r)
			}
			stored, err := s.Records(context.Background(), history.Query{})
			require.NoError(t, err)
			require.Subset(t, stored, acknowledged)
			require.NoError(t, s.Close())
		}
		report, err := history.Verify(context.Background(), dir)
		require.NoError(t, err)
		require.NoError(t, report.Err())
	})
}

func TestAnEntryThatIsNoRecordIsRefused(t *testing.T) {
	s := open(t, t.TempDir(), newHandClock(evening()))
	for name, e := range map[string]history.Entry{
		"no kind":       {},
		"broken JSON":   {Kind: "form", Content: json.RawMessage(`{"a":`)},
		"far-off event": {Kind: "form", Happened: time.Date(12026, 1, 1, 0, 0, 0, 0, time.UTC)},
	} {
		_, err := s.Record(t.Context(), e)
		require.ErrorIs(t, err, history.ErrBadEntry, name)
	}
	require.True(t, s.Health().Writable)
}

func TestQueriesSelect(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	for i := range 6 {
		clock.pass(time.Minute)
		_, err := s.Record(t.Context(), history.Entry{Kind: []string{"a", "b"}[i%2], Room: []string{"wet", "dry", "wet"}[i%3]})
		require.NoError(t, err)
	}
	numbers := func(q history.Query) (got []uint64) {
		records, err := s.Records(t.Context(), q)
		require.NoError(t, err)
		for _, r := range records {
			got = append(got, r.Number)
		}
		return got
	}
	require.Equal(t, []uint64{1, 2, 3, 4, 5, 6, 7, 8}, numbers(history.Query{}))
	require.Equal(t, []uint64{3, 5, 7}, numbers(history.Query{Kinds: []string{"a"}}))
	require.Equal(t, []uint64{4, 7}, numbers(history.Query{Kinds: []string{"a", "b"}, Room: "dry"}))
	require.Equal(t, []uint64{4, 5}, numbers(history.Query{From: evening().Add(2 * time.Minute), To: evening().Add(4 * time.Minute)}))
	require.Equal(t, []uint64{7}, numbers(history.Query{AfterNumber: 6, Limit: 1}))
}

func TestTheClockIsDoubtedUntilSomebodyConfirmsIt(t *testing.T) {
	clock := newHandClock(evening())
	dir := t.TempDir()
	s := open(t, dir, clock)
	saysOf := func(kind string) string {
		r, err := s.Record(t.Context(), history.Entry{Kind: kind})
		require.NoError(t, err)
		return r.Clock
	}
	require.Equal(t, history.ClockUnconfirmed, saysOf("form"))
	require.Equal(t, history.ClockConfirmed, saysOf(history.KindClockConfirmed))
	require.Equal(t, history.ClockConfirmed, saysOf("form"))
	earlier := evening().Add(-time.Hour)
	clock.set(earlier)
	stepped, err := s.NoteClock(t.Context(), evening(), earlier)
	require.NoError(t, err)
	require.JSONEq(t, `{"from":"2026-10-14T19:15:00Z","to":"2026-10-14T18:15:00Z","seconds":-3600}`, string(stepped.Content))
	require.Equal(t, history.ClockBehind, stepped.Clock)
	require.Equal(t, history.ClockBehind, saysOf("form"))
	clock.pass(2 * time.Hour)
	require.Equal(t, history.ClockUnconfirmed, saysOf("form"))
	require.Equal(t, history.ClockConfirmed, saysOf(history.KindClockConfirmed))
	require.NoError(t, s.Close())
	s = open(t, dir, clock)
	require.Equal(t, history.ClockUnconfirmed, saysOf("form"), "a new start knows nothing of the clock")
}

func TestAWalkHandsOnThatARecordCanNotBeRead(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, newHandClock(evening()))
	_, err := s.RecordAll(t.Context(), []history.Entry{{Kind: "batch mixed", Room: "practice", Content: json.RawMessage("1")},
		{Kind: "batch mixed", Content: json.RawMessage("2")}})
	require.NoError(t, err)
	require.NoError(t, s.Close())
	change(t, dir, "DROP TRIGGER record_is_never_changed; UPDATE record SET body = 'gibberish' WHERE number = 3")
	reader, err := history.OpenReader(t.Context(), options(dir, newHandClock(evening())))
	require.NoError(t, err)
	defer reader.Close()
	var handed []history.Walked
	found, err := history.Walk(t.Context(), reader, history.Steps[history.Walked]{
		Read: func(r history.Walked) history.Walked { return r },
		Take: func(list []history.Walked) error { handed = append(handed, list...); return nil },
	})
	require.NoError(t, err)
	require.EqualValues(t, 3, found.Broken.Number)
	require.ErrorIs(t, handed[2].Unreadable, history.ErrCorrupt)
	require.Equal(t, history.Record{Number: 3, Kind: "batch mixed", Room: "practice", At: evening()}, handed[2].Record,
		"what the table says of the record")
	require.NoError(t, handed[3].Unreadable)
	require.Equal(t, json.RawMessage("2"), handed[3].Content)

	enough := errors.New("enough")
	_, err = history.Walk(t.Context(), reader, history.Steps[int]{Read: func(history.Walked) int { return 0 },
		Take: func([]int) error { return enough }})
	require.ErrorIs(t, err, enough)
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = reader.VerifyBook(ended)
	require.Error(t, err)
}

// An engine may give rows in any order: here the last comes first.
func TestAWalkNeedsNoOrderOfTheEngine(t *testing.T) {
	dir := bookWith(t, 1200)
	file, err := history.OpenReader(t.Context(), history.Options{Dir: dir, Zone: time.UTC})
	require.NoError(t, err)
	defer file.Close()
	db, err := sql.Open("sqlite", filepath.Join(dir, history.FileName))
	require.NoError(t, err)
	defer db.Close()
	db.SetMaxOpenConns(1) // to which the view belongs
	_, err = db.ExecContext(t.Context(), "CREATE TEMP VIEW record AS SELECT * FROM main.record ORDER BY number DESC")
	require.NoError(t, err)
	var first uint64
	const two = "SELECT string_agg(number, '') FROM record WHERE number > 2 AND number <= 4"
	require.NoError(t, db.QueryRowContext(t.Context(), two).Scan(&first))
	require.EqualValues(t, 43, first)
	backwards := history.ReadFrom(func(ctx context.Context) (history.Moment, error) { return db.BeginTx(ctx, nil) },
		history.Options{Zone: time.UTC})
	trails := map[*history.Reader]history.Report{}
	for _, reader := range []*history.Reader{file, backwards} {
		var handed []uint64
		trails[reader], err = history.Walk(t.Context(), reader, history.Steps[uint64]{Read: func(r history.Walked) uint64 { return r.Number },
			Take: func(list []uint64) error { handed = append(handed, list...); return nil }})
		require.NoError(t, err)
		require.Nil(t, trails[reader].Broken)
		require.True(t, slices.IsSorted(handed))
		require.Greater(t, len(handed), 1200)
	}
	require.Equal(t, trails[file], trails[backwards])
}
