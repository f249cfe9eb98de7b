package daemon

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/record"
	"wetside/sensors/clocktest"
)

// recalling is a book with a room, for what a start must read.
type recalling struct {
	*testing.T
	Options
	clock *clocktest.Manual
	store *history.Store
}

func newRecalling(t *testing.T) *recalling {
	clock := clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC))
	c := &recalling{T: t, Options: Options{Config: config.Config{Data: t.TempDir()}, Version: "test", Clock: clock, Log: zap.NewNop()},
		clock: clock}
	c.open()
	t.Cleanup(func() { require.NoError(t, c.store.Close()) })
	return c
}

func (c *recalling) open() {
	var err error
	c.store, err = history.Open(c.Context(), history.Options{Dir: c.Config.Data, Clock: c.clock, Zone: time.UTC})
	require.NoError(c, err)
}

// write records that alarms changed, n times each.
func (c *recalling) write(n int) {
	var entries []history.Entry
	for i := range 3 * n {
		state := []alarm.State{alarm.Unacknowledged, alarm.Acknowledged, alarm.Normal, alarm.Unacknowledged}[i%4]
		a := alarm.Alarm{ID: []string{"air", "air-low", "bath:dev"}[i%3], State: state, Raised: c.clock.Now().Wall}
		content, err := json.Marshal(rules.Event{Subject: a.ID, To: string(state), Alarm: &a})
		require.NoError(c, err)
		entries = append(entries, history.Entry{Kind: rules.AlarmChange, Room: "practice", Content: content})
	}
	_, err := c.store.RecordAll(c.Context(), entries)
	require.NoError(c, err)
	c.clock.Advance(time.Minute)
}

// start brings the board of the room back, and counts the records that were read for it.
func (c *recalling) start() (board rules.Board, read int) {
	kept, err := openRecalls(c.Context(), c.Options, c.store)
	require.NoError(c, err)
	board = rules.NewBoard()
	require.NoError(c, kept.each(c.Context(), "practice", 0, func(r record.Record) { board, read = rules.Recall(board, r), read+1 }))
	return board, read
}

func (c *recalling) renew() {
	kept, err := openRecalls(c.Context(), c.Options, c.store)
	require.NoError(c, err)
	require.NoError(c, kept.renew(c.Context(), []*room{{config: config.Room{Room: rules.Room{ID: "practice"}}}}))
}

func TestAStartReadsTheRecordsThatCountAndThoseSince(t *testing.T) {
	c := newRecalling(t)
	c.write(400)
	whole, read := c.start()
	require.Equal(t, 1200, read, "nothing is kept yet")
	c.renew()
	board, read := c.start()
	require.Equal(t, whole, board)
	require.Equal(t, 3, read, "the last change of each alarm")
	c.write(5)
	board, read = c.start()
	require.Equal(t, 18, read)
	require.NoError(t, os.Remove(filepath.Join(c.Config.Data, recallName)))
	whole, read = c.start()
	require.Equal(t, whole, board)
	require.Equal(t, 1215, read)
}

func TestAFileThatDoesNotFitTheBookOrTheProgramIsPassedOver(t *testing.T) {
	c := newRecalling(t)
	c.write(400)
	c.renew()
	path := filepath.Join(c.Config.Data, recallName)
	good, err := os.ReadFile(path)
	require.NoError(t, err)
	whole := func(why string) {
		_, read := c.start()
		require.Equal(t, 1200, read, why)
	}
	for i := 0; i < len(good); i += 7 {
		bad := append([]byte{}, good...)
		bad[i] ^= 4
		require.NoError(t, os.WriteFile(path, bad, 0o600))
		whole("a flipped bit")
	}
	require.NoError(t, os.WriteFile(path, good[:len(good)/2], 0o600))
	whole("half a file")
	require.NoError(t, os.WriteFile(path, good, 0o600))
	c.Version = "another"
	whole("another version of the program")

	other := newRecalling(t)
	other.write(400)
	require.NoError(t, os.WriteFile(filepath.Join(other.Config.Data, recallName), good, 0o600))
	_, read := other.start()
	require.Equal(t, 1200, read, "the file of another book")
}
