package dashboard_test

import (
	"errors"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/keep"
	"wetside/dashboard/viewtest"
)

func keeperPages(t *testing.T) (*pages, *viewtest.Maintenance) {
	t.Helper()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	stage.Begin()
	stage.Publish()
	keeping := viewtest.NewMaintenance()
	server, err := dashboard.New(dashboard.Options{View: stage, Maintenance: keeping, Log: zap.NewNop(), Clock: stage.Clock})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	return &pages{stage, server, t}, keeping
}

func TestTheKeeperSeesHowTheComputerStands(t *testing.T) {
	p, _ := keeperPages(t)
	text := p.page("/keeper")
	for _, want := range []string{"probe lines are read", "recording", "48 MB in the file", "61 GB free of 256 GB", "48 MB, verified",
		"wetside-20260114-024600.db, record 311", "no such device", "3 times", "Error:", "/srv/darkroom/data"} {
		require.Contains(t, text, want)
	}
	require.NotContains(t, text, "What to do: Make room")
	require.Contains(t, p.page("/keeper?look=red"), `data-look="red"`)
	require.Equal(t, http.StatusNotFound, evening(t).get("/keeper").Code)
}

func TestEveryTroubleOfTheComputerSaysWhatToDo(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*keep.System)
		want   []string
	}{
		"history": {func(h *keep.System) { h.HistoryProblem = "the disk is full: make room" },
			[]string{"NOT RECORDING", "the disk is full: make room"}},
		"little disk": {func(h *keep.System) { h.DiskFree = 3_000_000_000 },
			[]string{"3.0 GB free", "Free some space before the disk is full"}},
		"unknown disk":    {func(h *keep.System) { h.DiskFree, h.DiskTotal = 0, 0 }, []string{"this system does not say"}},
		"never backed up": {func(h *keep.System) { h.Backup = keep.Backup{} }, []string{"none yet"}},
		"no folder":       {func(h *keep.System) { h.BackupFolder = "" }, []string{"Add a [backup] table"}},
		"failed backup":   {func(h *keep.System) { h.BackupProblem = errors.New("no such folder") }, []string{"No such folder"}},
		"old backup":      {func(h *keep.System) { h.Backup.At = h.Backup.At.Add(-72 * time.Hour) }, []string{`shape-stopped`}},
		"messages wait": {func(h *keep.System) {
			h.Messages = &keep.Messages{Waiting: 2, Problem: errors.New("the mail server: no answer")}
		},
			[]string{"Messages to people outside", "2 messages wait and are tried again", "The mail server: no answer"}},
		"no stamp": {func(h *keep.System) { h.Stamp = &keep.Stamp{Problem: errors.New("the authority answered 503")} },
			[]string{"Time stamp of the record book", "none yet", "The authority answered 503"}},
		"no faults": {func(h *keep.System) { h.Faults = nil }, []string{"None."}},
	} {
		t.Run(name, func(t *testing.T) {
			p, keeping := keeperPages(t)
			keeping.Change(c.change)
			text := p.page("/keeper")
			for _, want := range c.want {
				require.Contains(t, text, want)
			}
		})
	}
}
