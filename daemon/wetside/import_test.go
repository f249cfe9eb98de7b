package main

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
)

// stoppedHistory is a history that nobody is writing to.
func stoppedHistory(t *testing.T) string {
	backup := filepath.Join(t.TempDir(), "copy.db")
	require.Equal(t, exitDone, say(t, "backup", "--data", runningHistory(t), "--to", backup).code)
	data := filepath.Join(t.TempDir(), "data")
	require.Equal(t, exitDone, say(t, "restore", "--from", backup, "--data", data).code)
	return data
}

func write(t *testing.T, text string) (name string) {
	name = filepath.Join(t.TempDir(), "past.csv")
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	return name
}

func TestPastReadingsAreImportedAndMarked(t *testing.T) {
	data := stoppedHistory(t)
	file := write(t, "Time;Value\n2025-11-03 18:30:00;20,5\n2025-11-03 18:30:10;20,6\n")
	args := []string{"import", "--data", data, "--file", file, "--channel", "tray", "--unit", "C", "--by", "A. Keeper", "--why", "logger 4"}
	got := say(t, args...)
	require.Equal(t, exitDone, got.code, got.errs)
	require.Contains(t, got.out, ": tray in C, values: 2, from 2025-11-03T18:30:00+01:00 to 2025-11-03T18:30:10+01:00. They are marked")
	rows := strings.Split(say(t, "export", "--data", data, "--samples", "-", "--to", "2026-01-01").out, "\n")
	require.Equal(t, []string{"channel,unit,utc,local,raw,grade,reason,imported",
		"tray,C,2025-11-03T17:30:00.000Z,2025-11-03T18:30:00.000+01:00,20.5,good,,true",
		"tray,C,2025-11-03T17:30:10.000Z,2025-11-03T18:30:10.000+01:00,20.6,good,,true", ""}, rows,
		"times without an offset are those of the place")
	verified := say(t, "verify", "--data", data)
	require.Equal(t, exitDone, verified.code, verified.errs)
	require.NotContains(t, verified.out, "not attested")
	twice := say(t, args...)
	require.Equal(t, exitFailed, twice.code)
	require.Contains(t, twice.errs, `was imported already to "tray", as record`)
}

// TestAFileIsNoLargerThanItHoldsAfterAnImport imports a day, a reading a second.
func TestAFileIsNoLargerThanItHoldsAfterAnImport(t *testing.T) {
	data := stoppedHistory(t)
	text := strings.Builder{}
	text.WriteString("Time;Value\n")
	for at := time.Date(2025, 11, 3, 0, 0, 0, 0, time.UTC); at.Day() == 3; at = at.Add(time.Second) {
		fmt.Fprintf(&text, "%s;20,%d\n", at.Format(time.DateTime), at.Second()%10)
	}
	got := say(t, "import", "--data", data, "--file", write(t, text.String()), "--channel", "tray", "--unit", "C", "--by", "A. Keeper",
		"--why", "logger 4")
	require.Equal(t, exitDone, got.code, got.errs)
	require.Contains(t, got.out, "values: 86400")
	db, err := sql.Open("sqlite", filepath.Join(data, history.FileName))
	require.NoError(t, err)
	defer db.Close()
	var pages, free int
	require.NoError(t, db.QueryRow("SELECT page_count, freelist_count FROM pragma_page_count, pragma_freelist_count").Scan(&pages, &free))
	require.Less(t, free*10, pages)
	require.Equal(t, exitDone, say(t, "verify", "--data", data).code)
}

func TestAFileOnceImportedToTheWrongChannelCanGoToTheRightOne(t *testing.T) {
	data := stoppedHistory(t)
	file := write(t, "Time;Value\n2025-11-03 18:30:00;20,5\n")
	to := func(channel string) []string {
		return []string{"import", "--data", data, "--file", file, "--channel", channel, "--unit", "C", "--quantity", "bath-temperature",
			"--room", "wet", "--by", "A. Keeper", "--why", "logger 4"}
	}
	for _, channel := range []string{"tray", "old-tray"} {
		got := say(t, to(channel)...)
		require.Equal(t, exitDone, got.code, got.errs)
	}
	for _, channel := range []string{"tray", "old-tray"} {
		require.Contains(t, say(t, to(channel)...).errs, "was imported already to \""+channel+"\", as record")
		require.Contains(t, say(t, "export", "--data", data, "--samples", "-", "--channel", channel, "--to", "2026-01-01").out,
			",20.5,good,,true")
	}
}

func TestAnExportCanBeImportedElsewhere(t *testing.T) {
	data, other := runningHistory(t), stoppedHistory(t)
	rows := say(t, "export", "--data", data, "--samples", "-").out
	file := write(t, strings.ReplaceAll(rows, "tray,", "old-tray,"))
	got := say(t, "import", "--data", other, "--file", file, "--quantity", "bath-temperature", "--room", "wet", "--by", "A. Keeper",
		"--why", "from the other computer")
	require.Equal(t, exitDone, got.code, got.errs)
	back := say(t, "export", "--data", other, "--samples", "-", "--channel", "old-tray").out
	require.Equal(t, strings.ReplaceAll(strings.ReplaceAll(rows, "tray,", "old-tray,"), ",false", ",true"), back)
}

func TestAnImportIsRefusedAsAWhole(t *testing.T) {
	data := stoppedHistory(t)
	before := say(t, "export", "--data", data, "--samples", "-").out
	head := "channel,unit,time,value\n"
	for _, c := range []struct {
		name, text, want string
		more             []string
	}{
		{"half a file", head + "tray,C,2025-11-03T18:30:00Z,20\ntray,C,soup,20\n", "line 3: \"soup\" is not a time", nil},
		{"another unit", head + "tray,F,2025-11-03T18:30:00Z,68\n", "raw values are never converted", nil},
		{"no unit", head + "tray,furlong,2025-11-03T18:30:00Z,68\n", "with --unit", nil},
		{"two units", head + "tray,C,2025-11-03T18:30:00Z,20\ntray,F,2025-11-03T18:30:00Z,20\n", "a channel has one unit", nil},
		{"an unknown channel", head + "tary,C,2025-11-03T18:30:00Z,20\n", "knows no channel \"tary\"", nil},
		{"an unknown quantity", head + "x,C,2025-11-03T18:30:00Z,20\n", "unknown quantity", []string{"--quantity", "warmth", "--room", "wet"}},
		{"a unit of something else", head + "x,Pa,2025-11-03T18:30:00Z,20\n", "Pa is not a unit of bath-temperature",
			[]string{"--quantity", "bath-temperature", "--room", "wet"}},
		{"no unit at all", "channel,time,value\ntray,2025-11-03T18:30:00Z,68\n", "no unit of \"tray\" is named", nil},
		{"what a logger writes for nothing", head + "tray,C,2025-11-03T18:30:00Z,-9999\n", "below absolute zero", nil},
		{"more than any probe shows", head + "tray,C,2025-11-03T18:30:00Z,1e308\n", "more than any probe shows", nil},
		{"a year before loggers", head + "tray,C,0825-11-03T18:30:00Z,20\n", "correct the date", nil},
		{"a file without line ends", head + strings.Repeat("x", 1<<20), "a line is longer than 65536 bytes", nil},
		{"a heading without an end", strings.Repeat("x", 1<<20), "a line is longer than 65536 bytes", nil},
		{"a name that no address has", head + "x y,C,2025-11-03T18:30:00Z,20\n", "\"x y\" is not usable",
			[]string{"--quantity", "bath-temperature", "--room", "wet"}},
		{"the future", head + "tray,C,2925-11-03T18:30:00Z,20\n", "in the future", nil},
		{"over the probe's own", head + "tray,C,2026-10-14T17:00:30Z,20\n", "itself was recorded", nil},
		{"nothing in it", head, "has no readings", nil},
		{"another zone", head, "is not a time zone", []string{"--zone", "Atlantis"}},
		{"nobody", head, "--by is empty", []string{"--by", " "}},
	} {
		got := say(t, append([]string{"import", "--data", data, "--file", write(t, c.text), "--by", "A. Keeper", "--why", "test"}, c.more...)...)
		require.Equal(t, exitUnusable, got.code, c.name+": "+got.errs)
		require.Contains(t, got.errs, c.want, c.name)
	}
	require.Equal(t, before, say(t, "export", "--data", data, "--samples", "-").out)
	running := say(t, "import", "--data", runningHistory(t), "--file", write(t, head+"tray,C,2025-11-03T18:30:00Z,20\n"), "--by",
		"A. Keeper", "--why", "test")
	require.Equal(t, exitFailed, running.code)
	require.Contains(t, running.errs, "in use by another wetside")
	folder := say(t, "import", "--data", data, "--file", t.TempDir(), "--by", "A", "--why", "x")
	require.Equal(t, exitUnusable, folder.code)
	require.Contains(t, folder.errs, "is a folder: name the file")
	endless := say(t, "import", "--data", data, "--file", os.DevNull, "--by", "A", "--why", "x")
	require.Equal(t, exitUnusable, endless.code)
	require.Contains(t, endless.errs, "is not a file on a disk", "a device such as one of endless zeros is never read")
	require.Equal(t, exitUnusable, say(t, "import", "--data", data, "--file", "none.csv", "--by", "A", "--why", "x").code)
}
