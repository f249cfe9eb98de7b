package daemon_test

import (
	"context"
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon"
	"wetside/daemon/history"
	"wetside/sensors/clocktest"
)

// decade writes ten invented years into a book: 150 evenings a year with a class
// of four baths, sheets, tests and take-down, 20 entries an evening.
func decade(b *testing.B, dir string, start time.Time) (count int) {
	store, err := history.Open(b.Context(), history.Options{Dir: dir, Clock: clocktest.New(start), Zone: time.UTC})
	require.NoError(b, err)
	var entries []history.Entry
	at := start.Add(-10*365*24*time.Hour - 24*time.Hour)
	enter := func(a ledger.Act) {
		act, err := ledger.EncodeAct(a)
		require.NoError(b, err)
		content, err := json.Marshal(map[string]json.RawMessage{"act": act})
		require.NoError(b, err)
		at = at.Add(time.Minute)
		entries = append(entries, history.Entry{Kind: a.Kind(), Person: "invented", Content: content, Happened: at, Reason: "invented"})
		if len(entries) == 1000 {
			_, err := store.RecordAll(b.Context(), entries)
			require.NoError(b, err)
			count, entries = count+len(entries), entries[:0]
		}
	}
	trays := []string{"Developer tray", "Stop bath tray", "Fixer tray"}
	classes := []ledger.Class{ledger.PrintDeveloper, ledger.StopBath, ledger.Fixer}
	for i, tray := range trays {
		enter(ledger.ContainerNamed{Container: tray, Vessel: ledger.Tray, Capacity: 20000, Bath: []string{"developer", "stop-bath", "fixer"}[i]})
	}
	for evening := range 1500 {
		at = start.Add(-10*365*24*time.Hour + time.Duration(evening)*58*time.Hour)
		session := fmt.Sprintf("evening %d", evening)
		enter(ledger.SessionOpened{Session: session, Title: "invented class", Lead: "invented"})
		for i, tray := range trays {
			enter(ledger.BatchMixed{Batch: fmt.Sprintf("%s %d", session, i), Name: "invented", Class: classes[i], Into: tray, Meant: ledger.FromUnknown, Water: 2000, Owner: ledger.House})
		}
		for range 10 {
			enter(ledger.SheetsUsed{Containers: trays, Material: ledger.ResinCoated, Count: 5, SheetArea: ledger.EightByTen})
		}
		enter(ledger.TestDone{Test: ledger.IodideTest, Container: "Fixer tray", Seen: "clear"})
		enter(ledger.TraysCovered{Containers: trays})
		for _, tray := range trays {
			enter(ledger.Discarded{Container: tray, Volume: 1800, Emptied: true, Route: "invented", Reason: "end"})
		}
		enter(ledger.SessionClosed{Session: session})
	}
	_, err = store.RecordAll(b.Context(), entries)
	require.NoError(b, err)
	require.NoError(b, store.Close())
	return count + len(entries)
}

// BenchmarkStartAfterTenYears is a whole start with ten years of the shelf in the
// book; it must stay below half a second.
func BenchmarkStartAfterTenYears(b *testing.B) {
	o := options(b)
	count := decade(b, o.Config.Data, time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC))
	for b.Loop() {
		o.Registry = prometheus.NewPedanticRegistry()
		d, err := daemon.New(b.Context(), o)
		require.NoError(b, err)
		b.StopTimer()
		ended, end := context.WithCancel(b.Context())
		end()
		require.NoError(b, d.Run(ended))
		b.StartTimer()
	}
	b.ReportMetric(float64(count), "entries")
}
