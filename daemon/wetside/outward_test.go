package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/daemon/history/book"
	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/quantity"
)

// runningHistory is a history that is open for writing, as while wetside runs.
func runningHistory(t *testing.T) string {
	dir := t.TempDir()
	clock := clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC))
	store, err := history.Open(t.Context(), history.Options{Dir: dir, Clock: clock, Zone: time.UTC, Version: "test"})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	unit, err := quantity.ParseUnit("C")
	require.NoError(t, err)
	traits, _ := sensors.BathTemperature.Traits()
	require.NoError(t, store.RegisterChannels(t.Context(), "wet",
		[]sensors.Channel{{ID: "tray", Name: "Tray", Kind: sensors.BathTemperature, Unit: unit, Traits: traits}}))
	var samples []history.Sample
	for i := range 120 {
		samples = append(samples, history.Sample{Channel: "tray", At: clock.Now().Wall.Add(time.Duration(i) * time.Second), Raw: 20.5,
			Grade: sensors.Good})
	}
	require.NoError(t, store.Append(t.Context(), history.Batch{Samples: samples}))
	_, err = store.Record(t.Context(), history.Entry{Kind: "settings", Content: json.RawMessage(`{"zone":"Europe/Vienna","rooms":null}`)})
	require.NoError(t, err)
	_, err = store.Record(t.Context(), history.Entry{Kind: "note", Person: `=HYPERLINK("http://example.org")`,
		Content: json.RawMessage(`{"a":"山田 שלום"}`)})
	require.NoError(t, err)
	return dir
}

func TestExportGivesWhatAsked(t *testing.T) {
	data := runningHistory(t)
	dir := t.TempDir()
	records, samples := filepath.Join(dir, "records.csv"), filepath.Join(dir, "samples.jsonl")
	require.Equal(t, exitDone, say(t, "export", "--data", data, "--records", records).code)
	f, err := os.Open(records)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 5)
	last := rows[4]
	require.Equal(t, []string{"4", "note"}, last[:2])
	require.Equal(t, `'=HYPERLINK("http://example.org")`, last[5], "no spreadsheet takes it for a formula")
	require.Contains(t, last[8], "山田 שלום")

	got := say(t, "export", "--data", data, "--samples", samples, "--format", "jsonl", "--from", "2026-10-14T17:00:10Z", "--to",
		"2026-10-14T17:00:20Z")
	require.Equal(t, exitDone, got.code, got.errs)
	text, err := os.ReadFile(samples)
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	require.Len(t, lines, 10)
	require.JSONEq(t,
		`{"channel":"tray","unit":"C","utc":"2026-10-14T17:00:10.000Z","local":"2026-10-14T19:00:10.000+02:00",`+
			`"raw":20.5,"grade":"good","reason":"","imported":false}`, lines[0])

	require.Equal(t, exitFailed, say(t, "export", "--data", data, "--samples", samples).code, "a file is not overwritten")
	require.Len(t, strings.Split(say(t, "export", "--data", data, "--samples", "-").out, "\n"), 122)
}

// exported is the last record of the book that is exported; each follows from the one before.
func exported(t *testing.T, data string) book.Checkpoint {
	t.Helper()
	var chain book.Chain
	for _, line := range strings.Split(strings.TrimSpace(say(t, "export", "--data", data, "--book", "-").out), "\n") {
		hash, body, _ := strings.Cut(line, " ")
		_, err := chain.Next(hash, body)
		require.NoError(t, err)
	}
	return chain.Last()
}

func TestExportOfTheBookCanBeVerified(t *testing.T) {
	data := runningHistory(t)
	last := exported(t, data)
	require.EqualValues(t, 4, last.Number)
	require.Equal(t, exitDone, say(t, "verify", "--data", data, "--checkpoint", last.String()).code)
	other := book.Checkpoint{Number: 4, Hash: strings.Repeat("ab", 32)}
	wrong := say(t, "verify", "--data", data, "--checkpoint", other.String())
	require.Equal(t, exitFailed, wrong.code)
	require.Contains(t, wrong.errs, "record 4 fails verification")
	cut := say(t, "verify", "--data", data, "--checkpoint", "5:"+last.Hash)
	require.Equal(t, exitFailed, cut.code)
	require.Contains(t, cut.errs, "ends before the checkpoint")
}

func TestBackupAndRestoreByHand(t *testing.T) {
	data := runningHistory(t)
	dir := t.TempDir()
	copied := filepath.Join(dir, "copy.db")
	got := say(t, "backup", "--data", data, "--to", copied)
	require.Equal(t, exitDone, got.code, got.errs)
	require.Equal(t, exitFailed, say(t, "backup", "--data", data, "--to", copied).code, "a backup is not overwritten")
	refused := say(t, "restore", "--from", copied, "--data", data)
	require.Equal(t, exitFailed, refused.code)
	require.Contains(t, refused.errs, "holds a history already")
	place := filepath.Join(dir, "place")
	require.Equal(t, exitDone, say(t, "restore", "--from", copied, "--data", place).code)
	alone := say(t, "verify", "--data", place)
	require.Equal(t, exitDone, alone.code)
	require.Contains(t, alone.out, "No witness was given")
	witnessed := say(t, "verify", "--data", data, "--backup", copied)
	require.Equal(t, exitDone, witnessed.code, witnessed.errs)
	require.Contains(t, witnessed.out, "nothing up to record 4 was changed since that copy was made")
	require.NotContains(t, witnessed.out, "No witness was given")
	another := say(t, "verify", "--data", runningHistory(t), "--backup", copied)
	require.Equal(t, exitFailed, another.code)
	require.Contains(t, another.errs, "record 4 fails verification")
}

// TestABackupThatWasDamagedIsNoWitness: a reading that was changed, the end of the seal or of the file that is missing.
func TestABackupThatWasDamagedIsNoWitness(t *testing.T) {
	data, copied := runningHistory(t), filepath.Join(t.TempDir(), "copy.db")
	require.Equal(t, exitDone, say(t, "backup", "--data", data, "--to", copied).code)
	whole, err := os.ReadFile(copied)
	require.NoError(t, err)
	changed := bytes.Clone(whole)
	changed[len(changed)/2] ^= 0x10
	for name, file := range map[string][]byte{
		"a byte was changed":    changed,
		"the seal is not whole": whole[:len(whole)-10],
		"pages are missing":     whole[:len(whole)-5000],
	} {
		require.NoError(t, os.WriteFile(copied, file, 0o600))
		got := say(t, "verify", "--data", data, "--backup", copied)
		require.Equal(t, exitFailed, got.code, "%s: %s", name, got.out)
		require.Contains(t, got.errs, "the backup "+copied+": the history file is damaged", name)
	}
}

func TestANewBackupIsComparedWithTheOlderOnesBesideIt(t *testing.T) {
	data, dir := runningHistory(t), t.TempDir()
	file := func(name string) string { return filepath.Join(dir, name) }
	first := say(t, "backup", "--data", data, "--to", file("first.db"))
	require.Equal(t, exitDone, first.code, first.errs)
	require.NotContains(t, first.out, "older backup", "there is none")
	require.NoError(t, os.WriteFile(file("invented.db"), []byte("no history"), 0o600))
	second := say(t, "backup", "--data", data, "--to", file("second.db"))
	require.Equal(t, exitDone, second.code, second.errs)
	require.Contains(t, second.out, "continues the older backup "+file("first.db")+", up to record 4")
	require.Contains(t, second.out, file("invented.db")+" was not compared")
	other := say(t, "backup", "--data", runningHistory(t), "--to", file("third.db"))
	require.Equal(t, exitFailed, other.code)
	require.Contains(t, other.errs, "no longer agrees with the older backup "+file("first.db")+" at record 4")
	require.FileExists(t, file("third.db"), "it is a good copy of what is there now")
}

func TestOutwardCommandsRefuseWhatMakesNoSense(t *testing.T) {
	data := runningHistory(t)
	for _, c := range []struct {
		name string
		args []string
		code int
		want string
	}{
		{"nothing to write", []string{"export", "--data", data}, exitUnusable, "there is nothing to export"},
		{"a reversed range", []string{"export", "--data", data, "--records", "-", "--from", "2026-12-20", "--to", "2026-09-01"}, exitUnusable,
			"swap the two"},
		{"no time", []string{"export", "--data", data, "--records", "-", "--from", "yesterday"}, exitUnusable,
			"expected a day such as 2026-09-01"},
		{"no zone", []string{"export", "--data", data, "--records", "-", "--zone", "Atlantis"}, exitUnusable, "is not a time zone"},
		{"no channel", []string{"export", "--data", data, "--samples", "-", "--channel", "no,where"}, exitUnusable, "was never recorded here"},
		{"no form", []string{"export", "--data", data, "--records", "-", "--format", "pdf"}, exitUnusable, "must be one of"},
		{"no checkpoint", []string{"verify", "--data", data, "--checkpoint", "12"}, exitUnusable, "is not a checkpoint"},
		{"no history", []string{"export", "--data", t.TempDir(), "--records", "-"}, exitFailed, "name the folder"},
		{"nothing to back up", []string{"backup", "--data", t.TempDir(), "--to", filepath.Join(t.TempDir(), "x")}, exitFailed, "name the folder"},
		{"nothing to restore", []string{"restore", "--from", filepath.Join(t.TempDir(), "x"), "--data", t.TempDir()}, exitFailed,
			"there is no history"},
		{"a folder that is not there", []string{"export", "--data", data, "--records", filepath.Join(t.TempDir(), "no", "x")}, exitFailed,
			"the file can't be made"},
		{"an end far in the future", []string{"export", "--data", data, "--records", "-", "--from", "1990-01-01", "--to", "2990-01-01"},
			exitDone, "number,kind"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := say(t, c.args...)
			require.Equal(t, c.code, s.code, "%s%s", s.out, s.errs)
			require.Contains(t, s.out+s.errs, c.want)
		})
	}
}

func TestAReportIsWrittenByHand(t *testing.T) {
	data := runningHistory(t)
	out := filepath.Join(t.TempDir(), "term")
	got := say(t, "report", "--data", data, "--from", "2026-10-01", "--to", "2026-10-31", "--out", out)
	require.Equal(t, exitDone, got.code, got.errs)
	require.Contains(t, got.out, "0 sessions and 4 records.")
	pdf, err := os.ReadFile(filepath.Join(out, "report.pdf"))
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(string(pdf), "%PDF-"))
	require.Equal(t, exitDone, say(t, "report", "--data", data, "--from", "1990-01-01", "--to", "2020-01-01", "--out",
		filepath.Join(t.TempDir(), "x")).code, "thirty years without anything")
	for _, c := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"--from", "2026-12-20", "--to", "2026-09-01", "--out", out + "2"}, exitUnusable, "swap the two"},
		{[]string{"--to", "2026-09-01", "--out", out + "2"}, exitUnusable, "--from is missing"},
		{[]string{"--from", "1700-01-01", "--to", "2026-09-01", "--out", out + "2"}, exitUnusable,
			"from 1700-01-01 to 2026-09-01 is longer than a hundred years"},
		{[]string{"--from", "2026-10-01", "--out", out}, exitFailed, "is not empty"},
		{[]string{"--from", "2026-10-01", "--out", out + "2", "--config", "none.toml"}, exitUnusable, "can't be read"},
	} {
		refused := say(t, append([]string{"report", "--data", data}, c.args...)...)
		require.Equal(t, c.code, refused.code, refused.errs)
		require.Contains(t, refused.errs, c.want)
	}
}
