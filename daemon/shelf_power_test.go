package daemon_test

import (
	"bufio"
	"context"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/dashboard/cards"
	"wetside/sensors"
	"wetside/sensors/serialport"
)

// shelfChild is set for a copy of the test program that is there to be killed.
const shelfChild = "WETSIDE_SHELF_CHILD"

// takeDownUntilKilled mixes, works, takes down, leaves a note, says so, and waits for the end.
func takeDownUntilKilled(dir string) error {
	site, err := config.Load(filepath.Join("..", "configs", "one-room.toml"))
	if err != nil {
		return err
	}
	site.Data = dir
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	d, err := daemon.New(context.Background(), daemon.Options{Config: site, Version: "test", Clock: sensors.NewSystemClock(1),
		Opener: serialport.New(), Log: zap.NewNop(), Registry: prometheus.NewPedanticRegistry(), Listener: listener})
	if err != nil {
		return err
	}
	go func() { fmt.Println(d.Run(context.Background())) }()
	for _, a := range []ledger.Act{
		ledger.ContainerNamed{Container: "drum", Vessel: ledger.WasteContainer, Capacity: 20000, Stream: ledger.SilverStream},
		ledger.SessionOpened{Session: "evening", Title: "class", Lead: "Ada"},
		ledger.BatchMixed{Batch: "FX-1", Name: "Fixer", Class: ledger.Fixer, Into: fixerTray, Meant: ledger.FromUnknown, Water: 2000,
			Owner: ledger.House},
		ledger.Discarded{Container: fixerTray, Volume: 1900, Emptied: true, To: "drum", Reason: "end of the session"},
	} {
		if _, err := d.Shelf().Enter(context.Background(), cards.ShelfEntry{Room: "darkroom", Person: "Ada", Act: a}); err != nil {
			return err
		}
	}
	note := ledger.RoomNote{Kind: ledger.NoteLeft, Lines: []string{"State: all trays are empty."}}
	_, err = d.Shelf().Enter(context.Background(), cards.ShelfEntry{Room: "darkroom", Person: "Ada",
		Act: ledger.SessionClosed{Session: "evening"}, Note: &note})
	if err != nil {
		return err
	}
	fmt.Println("taken down")
	select {}
}

func TestTheTakeDownHoldsWhenThePowerIsCutRightAfter(t *testing.T) {
	o := options(t)
	child := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^$")
	child.Env = append(os.Environ(), shelfChild+"="+o.Config.Data)
	child.Stderr = os.Stderr
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	lines := bufio.NewScanner(out)
	require.True(t, lines.Scan(), "the child says that it is done")
	require.Equal(t, "taken down", lines.Text())
	require.NoError(t, child.Process.Kill())
	_ = child.Wait() // it was killed

	b := bench{t, running(t, o), "darkroom"}
	look(b.d, func(s *cards.ShelfBook) bool {
		require.Equal(t, []string{"State: all trays are empty."}, s.Left["darkroom"].Lines)
		require.Equal(t, "Ada", s.Left["darkroom"].By)
		session, ok := s.Session("evening")
		require.True(t, ok)
		require.False(t, session.Closed.IsZero())
		require.InDelta(t, 1900, float64(s.Waste(s.At)[0].Volume), 1e-6)
		return true
	})
	require.Nil(t, b.bath(2).Portion)
}

func TestARestartBringsTheWholeShelfBack(t *testing.T) {
	o := options(t)
	ctx, end := context.WithCancel(t.Context())
	d, err := daemon.New(ctx, o)
	require.NoError(t, err)
	ended := make(chan error, 1)
	go func() { ended <- d.Run(ctx) }()
	b := bench{t, d, "darkroom"}
	b.opened("print-developer", "PD bottle", ledger.PrintDeveloper)
	b.does("Ada", nine("PD-1", developerTray, 100, 900))
	contents := func(s *cards.ShelfBook) ledger.Contents {
		c, ok := s.Contents(developerTray, time.Time{})
		require.True(t, ok)
		return c
	}
	before := look(d, contents)
	end()
	require.NoError(t, <-ended)

	o.Registry = prometheus.NewPedanticRegistry()
	b = bench{t, running(t, o), "darkroom"}
	require.Equal(t, before, look(b.d, contents))
	require.Eventually(t, func() bool { return b.bath(0).Portion != nil }, 5*time.Second, time.Millisecond)
	require.Equal(t, "PD-1", b.bath(0).Portion.Batch)
	changed := o.Config
	require.NoError(t, b.d.Reload(t.Context(), changed))
	require.Eventually(t, func() bool { return b.bath(0).Portion != nil }, 5*time.Second, time.Millisecond,
		"and so does a change of the configuration")
	answer, err := http.Get(b.d.URL() + "/healthz")
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	require.Equal(t, http.StatusOK, answer.StatusCode)
}
