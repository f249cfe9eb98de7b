package daemon

import (
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/configs"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/rules"
	"wetside/sensors/clocktest"
)

// aRoom is the room of the demo, whose loop nobody has started.
func aRoom(t *testing.T) *room {
	t.Helper()
	clock := clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC))
	store, err := history.Open(t.Context(), history.Options{Dir: t.TempDir(), Clock: clock, Zone: time.UTC, Version: "test"})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	c, err := config.Parse("demo.toml", configs.Demo)
	require.NoError(t, err)
	r := newRoom(c.Rooms[0], Options{Clock: clock, Log: zap.NewNop(), Registry: prometheus.NewRegistry()}, &recalls{store: store})
	r.shelf, r.changed = &shelf{}, func() {}
	r.patience = time.Minute // the disk of a busy computer is not what these tests are about
	require.NoError(t, r.prepare(t.Context()))
	return r
}

func complaint() rules.Command {
	return rules.Command{Person: "Ida", Act: rules.ReportComplaint{What: "sharp smell"}}
}

func TestNobodyWaitsForARoomThatHasEnded(t *testing.T) {
	r := aRoom(t)
	retire([]*room{r})
	_, err := r.do(t.Context(), complaint())
	require.ErrorIs(t, err, errRetired)
	require.ErrorContains(t, err, "load the page and try again")
	records, err := r.store.Records(t.Context(), history.Query{Kinds: []string{rules.ReportComplaint{}.Kind()}})
	require.NoError(t, err)
	require.Empty(t, records, "nothing was recorded")
}

func TestAnActOnRecordWhoseRoomEndedIsSaidToBeOnRecord(t *testing.T) {
	r := aRoom(t)
	go func() { // the room ends after the check
		r.obey(<-r.commands)()
		retire([]*room{r})
	}()
	_, err := r.do(t.Context(), complaint())
	require.ErrorContains(t, err, "it is on record as number")
	records, err := r.store.Records(t.Context(), history.Query{Kinds: []string{rules.ReportComplaint{}.Kind()}})
	require.NoError(t, err)
	require.Len(t, records, 1)
}
