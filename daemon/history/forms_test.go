package history_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/sensors"
)

// keepForm is set to keep a file of the present form in testdata, before the next one is made.
const keepForm = "WETSIDE_KEEP_FORM"

// formBegin is when the invented story begins that every kept file tells.
func formBegin() time.Time { return time.Date(2026, 10, 14, 22, 0, 0, 0, time.UTC) }

// tellStory writes two evenings into a history: samples good and bad, of one frame and alone, gaps, a late entry.
func tellStory(t *testing.T, dir string) {
	clock := newHandClock(formBegin())
	tellEvening(t, dir, clock, 1000)
	clock.pass(20 * time.Hour)
	tellEvening(t, dir, clock, 400)
}

func tellEvening(t *testing.T, dir string, clock *handClock, n int) {
	s := open(t, dir, clock)
	require.NoError(t, s.RegisterChannels(t.Context(), "wet", []sensors.Channel{bath(t, "tray"), bath(t, "fixer"), bath(t, "wash")}))
	_, err := s.Record(t.Context(), history.Entry{Kind: "batch mixed", Room: "wet", Person: "Zoë 写真 שלום (invented)", Role: "volunteer",
		Content: json.RawMessage(`{"millilitres": 1000}`)})
	require.NoError(t, err)
	var batch history.Batch
	for i := range n {
		at := clock.Now().Wall
		x := history.Sample{Channel: "tray", At: at, Raw: 20 + float64(i%7)/100, Grade: sensors.Good}
		if i%600 > 580 {
			x.Grade, x.Reason = sensors.Suspect, "jumped"
		}
		batch.Samples = append(batch.Samples, x, history.Sample{Channel: "wash", At: at, Raw: 18.5, Grade: sensors.Good})
		if i%2 == 0 {
			batch.Samples = append(batch.Samples, history.Sample{Channel: "fixer", At: at.Add(300 * time.Millisecond),
				Raw: 19.1 + float64(i%5)/16, Grade: sensors.Good})
		}
		clock.pass(10 * time.Second)
	}
	require.NoError(t, s.Append(t.Context(), batch))
	require.NoError(t, s.Append(t.Context(), history.Batch{GapsOpened: []history.Gap{{Channel: "tray", From: clock.Now().Wall,
		Cause: "port lost"}}}))
	s.Settle(t.Context())
	clock.pass(time.Minute)
	require.NoError(t, s.Append(t.Context(), history.Batch{GapsClosed: []history.Gap{{Channel: "tray", To: clock.Now().Wall}}}))
	_, err = s.Record(t.Context(), history.Entry{Kind: "note", Person: "A. Volunteer (invented)", Happened: formBegin().Add(-time.Hour),
		Reason: "entered late", Corrects: 4})
	require.NoError(t, err)
	require.NoError(t, s.Close())
}

// retell writes down everything that a history says of the story, as text.
func retell(t *testing.T, dir string) string {
	s, err := history.OpenReader(t.Context(), options(dir, newHandClock(formBegin())))
	require.NoError(t, err)
	defer s.Close()
	var text strings.Builder
	require.NoError(t, s.ExportRecords(t.Context(), &text))
	from, to := formBegin().AddDate(-1, 0, 0), formBegin().AddDate(1, 0, 0)
	channels, err := s.Channels(t.Context())
	require.NoError(t, err)
	for _, known := range channels {
		c := known.ID
		for x, err := range s.Samples(t.Context(), c, from, to) {
			require.NoError(t, err)
			fmt.Fprintln(&text, c, x.At.UnixMilli(), x.Raw, x.Grade, x.Reason)
		}
		gaps, err := s.Gaps(t.Context(), c, from, to)
		require.NoError(t, err)
		for _, g := range gaps {
			fmt.Fprintln(&text, c, g.From.UnixMilli(), g.To.UnixMilli(), g.Cause)
		}
	}
	return text.String()
}

// TestAFileOfEveryFormIsKept fails when a form has no file in testdata: whoever makes
// the next form needs one. With the environment variable set it makes the file.
func TestAFileOfEveryFormIsKept(t *testing.T) {
	kept := fmt.Sprintf("testdata/form-%d", history.Forms(t))
	if os.Getenv(keepForm) != "" {
		dir := t.TempDir()
		tellStory(t, dir)
		file, err := os.ReadFile(filepath.Join(dir, "wetside.db"))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(kept+".db", file, 0o644))
		require.NoError(t, os.WriteFile(kept+".txt", []byte(retell(t, dir)), 0o644))
	}
	for form := 1; form <= history.Forms(t); form++ {
		_, err := os.Stat(fmt.Sprintf("testdata/form-%d.db", form))
		require.NoError(t, err, "run this test once with %s=1", keepForm)
	}
}

// TestAFileOfEveryFormIsBroughtForward starts on a file that each earlier form left behind.
func TestAFileOfEveryFormIsBroughtForward(t *testing.T) {
	newest := history.Forms(t)
	for form := 1; form <= newest; form++ {
		t.Run(fmt.Sprint("form ", form), func(t *testing.T) {
			dir := keptForm(t, form)
			want, err := os.ReadFile(fmt.Sprintf("testdata/form-%d.txt", form))
			require.NoError(t, err)
			requireVerified(t, dir)
			before := filepath.Join(dir, fmt.Sprintf("wetside.db.before-form-%d", newest))

			s := open(t, dir, newHandClock(formBegin().AddDate(0, 0, 30)))
			require.NoError(t, s.Close())
			requireVerified(t, dir)
			told := retell(t, dir)
			for line := range strings.Lines(string(want)) {
				require.Contains(t, told, line, "nothing is lost")
			}
			if form == newest {
				require.NoFileExists(t, before)
				return
			}
			require.Equal(t, int64(form), userVersion(t, before), "the copy is what there was")
		})
	}
}

// TestABackupOfAnEarlierFormIsRestored puts an old backup in place; the start brings it forward.
func TestABackupOfAnEarlierFormIsRestored(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "place")
	_, err := history.Restore(t.Context(), filepath.Join(keptForm(t, 1), "wetside.db"), dir)
	require.NoError(t, err)
	s := open(t, dir, newHandClock(formBegin().AddDate(0, 0, 30)))
	restored, err := s.Records(t.Context(), history.Query{Kinds: []string{history.KindRestored}})
	require.NoError(t, err)
	require.Len(t, restored, 1)
}

// keptForm gives a folder with the file of a form.
func keptForm(t *testing.T, form int) (dir string) {
	dir = t.TempDir()
	file, err := os.ReadFile(fmt.Sprintf("testdata/form-%d.db", form))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "wetside.db"), file, 0o600))
	return dir
}

func requireVerified(t *testing.T, dir string) history.Report {
	t.Helper()
	report, err := history.Verify(t.Context(), dir)
	require.NoError(t, err)
	require.NoError(t, report.Err())
	return report
}
