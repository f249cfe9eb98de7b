package daemon_test

import (
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/configs"
	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/webhook"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/serialport"
	"wetside/sensors/simroom"
)

// now is what /api/now says, as far as the tests read it.
type now struct {
	At        time.Time
	Simulated bool
	Rooms     []struct {
		ID    string
		Baths []struct {
			ID             string
			Role           string
			Temperature    *float64 `json:"temperature_celsius"`
			Quality        string
			Recommendation struct {
				Seconds *float64
				Basis   *string
				Refusal *string
			}
		}
		Air struct {
			State    string
			Changes  *float64 `json:"air_changes_per_hour"`
			Required float64  `json:"required_air_changes_per_hour"`
		}
		Alarms []struct {
			ID     string
			State  string
			Urgent bool
		}
	}
}

// evening is a whole daemon on a simulated room, with a clock that the test moves.
type evening struct {
	*testing.T
	ctx    context.Context
	clock  *clocktest.Manual
	sim    *simroom.Room
	daemon *daemon.Daemon
	dir    string
	passed time.Duration
	ended  chan error
	end    context.CancelFunc
	backup config.Backup
	zone   *time.Location // of the place; the configuration's own when nil
	hook   *httptest.Server
	told   chan webhook.Message // what the webhook was told
}

func newEvening(t *testing.T, schedule string) *evening {
	return eveningAt(t, schedule, clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC)), nil)
}

// eveningAt is an evening on a clock that is set already, in a time zone.
func eveningAt(t *testing.T, schedule string, clock *clocktest.Manual, zone *time.Location) *evening {
	e := simulatedAt(t, schedule, clock, zone)
	e.start()
	return e
}

// simulatedAt is an evening whose daemon has not started yet.
func simulatedAt(t *testing.T, schedule string, clock *clocktest.Manual, zone *time.Location) *evening {
	ctx, cancel := context.WithTimeout(context.Background(), 4*time.Minute)
	t.Cleanup(cancel)
	e := &evening{T: t, ctx: ctx, clock: clock, zone: zone, dir: t.TempDir()}
	events, err := simroom.ParseSchedule(schedule)
	require.NoError(t, err)
	e.sim, err = simroom.Start(ctx, simroom.Options{Clock: e.clock, Dir: filepath.Join(e.dir, "ports"), Seed: 7, Events: events})
	require.NoError(t, err)
	t.Cleanup(e.sim.Stop)
	e.told = make(chan webhook.Message, 100)
	e.hook = httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		var m webhook.Message
		if json.NewDecoder(r.Body).Decode(&m) == nil {
			e.told <- m
		}
	}))
	t.Cleanup(e.hook.Close)
	return e
}

// start starts the daemon, at first or again.
func (e *evening) start() {
	site, err := config.Parse("demo.toml", configs.Demo)
	require.NoError(e, err)
	site.Data = filepath.Join(e.dir, "data")
	site.Backup = e.backup
	if e.zone != nil {
		site.Zone = e.zone
	}
	site.Webhook = config.Webhook{URL: e.hook.URL, Secret: []byte("an invented secret")}
	for i := range site.Rooms[0].Lines {
		l := &site.Rooms[0].Lines[i]
		l.Settings.Path = e.sim.Path(string(l.ID))
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(e, err)
	e.daemon, err = daemon.New(e.ctx, daemon.Options{Config: site, Simulated: true, Version: "test", Clock: e.clock, Opener: e.opener(),
		Log: zap.NewNop(), Registry: prometheus.NewPedanticRegistry(), Listener: listener})
	require.NoError(e, err)
	ctx, cancel := context.WithCancel(e.ctx)
	ended := make(chan error, 1)
	e.end, e.ended = cancel, ended
	d := e.daemon
	go func() {
		ended <- d.Run(ctx)
		close(ended)
	}()
	e.Cleanup(func() { // it writes into the folder of the test until it has ended
		cancel()
		for range ended {
		}
	})
}

func (e *evening) opener() sensors.Opener {
	if o := e.sim.Opener(); o != nil {
		return o
	}
	return serialport.New()
}

// stop ends the daemon and gives back its history.
func (e *evening) stop() *history.Store {
	e.end()
	require.NoError(e, <-e.ended)
	store, err := history.Open(e.ctx, history.Options{Dir: filepath.Join(e.dir, "data"), Clock: e.clock, Zone: time.UTC})
	require.NoError(e, err)
	e.Cleanup(func() { require.NoError(e, store.Close()) })
	return store
}

// until lets the room live second by second up to a time after its start. Between
// two seconds what is on its way over the wire gets the time to arrive.
func (e *evening) until(at time.Duration) {
	for e.passed < at {
		before := e.heard()
		e.clock.Advance(time.Second)
		e.passed += time.Second
		require.NoError(e, e.sim.Await(e.ctx, e.passed))
		for patience := time.Now().Add(250 * time.Millisecond); len(e.unheard(before)) > 0 && time.Now().Before(patience); {
			time.Sleep(time.Millisecond)
		}
		time.Sleep(4 * time.Millisecond)
	}
}

// heard is how much the daemon has received over each line that is there.
func (e *evening) heard() map[sensors.LineID]uint64 {
	heard := map[sensors.LineID]uint64{}
	for _, l := range e.daemon.Now().Rooms[0].Lines {
		if s := l.Status; s.State == sensors.StateLive || s.State == sensors.StateWaiting {
			heard[s.ID] = s.Bytes
		}
	}
	return heard
}

// unheard are those of the lines that have brought nothing more, and have not gone.
func (e *evening) unheard(before map[sensors.LineID]uint64) (unheard []sensors.LineID) {
	for id, bytes := range e.heard() {
		if had, there := before[id]; there && bytes == had {
			unheard = append(unheard, id)
		}
	}
	return unheard
}

func (e *evening) get(path string) (int, string) {
	answer, err := http.Get(e.daemon.URL() + path)
	require.NoError(e, err)
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	require.NoError(e, err)
	return answer.StatusCode, string(body)
}

func (e *evening) now() now {
	code, body := e.get("/api/now")
	require.Equal(e, http.StatusOK, code)
	var n now
	require.NoError(e, json.Unmarshal([]byte(body), &n))
	return n
}

func (e *evening) fillTrays() {
	for _, b := range []string{"developer", "stop-bath", "fixer-1", "fixer-2"} {
		found(e.T, e.daemon, "practice", b)
	}
}

// alarms lists what people are told of, by ID.
func (n now) alarms() map[string]string {
	list := map[string]string{}
	for _, a := range n.Rooms[0].Alarms {
		list[a.ID] = a.State
	}
	return list
}

func TestAnEveningWithAPulledPlugAGarbledMinuteAndAFanThatStops(t *testing.T) {
	e := newEvening(t, "0s fill trays; 0s start fan; 5m pull trays 2m; 12m garble air 1m; 20m stop fan")
	e.until(5 * time.Second)
	n := e.now()
	require.True(t, n.Simulated)
	require.Nil(t, n.Rooms[0].Baths[0].Recommendation.Seconds, "no batch is entered yet")
	require.Contains(t, *n.Rooms[0].Baths[0].Recommendation.Refusal, "no batch")
	e.fillTrays()

	e.until(4*time.Minute + 50*time.Second)
	n = e.now()
	developer := n.Rooms[0].Baths[0]
	require.Equal(t, "good", developer.Quality)
	require.InDelta(t, 21.5, *developer.Temperature, 2, "a tray poured warm and cooling")
	require.InDelta(t, 90, *developer.Recommendation.Seconds, 20)
	require.Equal(t, "table", *developer.Recommendation.Basis)
	require.Equal(t, "moving", n.Rooms[0].Air.State)
	require.Greater(t, *n.Rooms[0].Air.Changes, n.Rooms[0].Air.Required)
	require.Empty(t, n.Rooms[0].Alarms, "an evening without trouble has none")

	e.until(5*time.Minute + 45*time.Second)
	n = e.now()
	for _, b := range n.Rooms[0].Baths {
		require.Nil(t, b.Temperature, "%s: the plug is out", b.ID)
		require.Equal(t, "missing", b.Quality)
	}
	require.Nil(t, n.Rooms[0].Baths[0].Recommendation.Seconds)
	require.Contains(t, *n.Rooms[0].Baths[0].Recommendation.Refusal, "missing")
	require.Equal(t, map[string]string{"line:trays": "unacknowledged"}, n.alarms(), "one cause, one alarm")
	require.Equal(t, "moving", n.Rooms[0].Air.State, "the duct has a line of its own")
	message := <-e.told
	require.Equal(t, "practice", message.Room)
	require.Contains(t, string(message.Content), `"subject":"line:trays"`)
	_, board := e.get("/rooms/practice/board")
	require.Contains(t, board, "--.-")

	e.until(8 * time.Minute)
	n = e.now()
	require.NotNil(t, n.Rooms[0].Baths[0].Recommendation.Seconds, "the plug is back under its name")
	require.Equal(t, map[string]string{"line:trays": "returned to normal, not yet seen"}, n.alarms())
	_, err := e.daemon.Do(e.ctx, rules.Command{Room: "practice", Person: "invented instructor",
		Act: rules.AcknowledgeAlarm{Alarm: "line:trays", Done: "put the plug back"}})
	require.NoError(t, err)
	require.Empty(t, e.now().alarms())

	e.until(12*time.Minute + 50*time.Second)
	n = e.now()
	require.NotNil(t, n.Rooms[0].Baths[0].Temperature)
	require.Contains(t, n.alarms(), "line:air")
	require.Len(t, n.Rooms[0].Alarms, 1)
	_, metrics := e.get("/metrics")
	require.False(t, strings.Contains(metrics, `wetside_air_pressure_pascals{channel="room-pressure"`), "a garbled station has no value")

	e.until(20*time.Minute + 40*time.Second)
	n = e.now()
	require.Equal(t, "stopped", n.Rooms[0].Air.State)
	require.Equal(t, "unacknowledged", n.alarms()["air"])

	e.until(30 * time.Minute)
	checkHistory(t, e)
}

// checkHistory holds what was kept against what happened.
func checkHistory(t *testing.T, e *evening) {
	store := e.stop()
	start := time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC)
	gaps, err := store.Gaps(e.ctx, "developer-tray", start, start.Add(30*time.Minute))
	require.NoError(t, err)
	require.NotEmpty(t, gaps)
	require.WithinDuration(t, start.Add(5*time.Minute), gaps[0].From, 5*time.Second)
	require.WithinDuration(t, start.Add(7*time.Minute), gaps[0].To, 40*time.Second, "the line is tried again with growing waits")
	require.Equal(t, "line gone", gaps[0].Cause)

	samples := 0
	for s, err := range store.Samples(e.ctx, "developer-tray", start, start.Add(30*time.Minute)) {
		require.NoError(t, err)
		require.False(t, s.Grade == sensors.Good && (s.Raw < 15 || s.Raw > 30), "%v at %v", s.Raw, s.At)
		require.False(t, s.At.After(start.Add(5*time.Minute+3*time.Second)) && s.At.Before(start.Add(6*time.Minute+58*time.Second)),
			"nothing is stored while the plug is out: %v", s.At)
		samples++
	}
	require.InDelta(t, 1800-120, samples, 60)

	for s, err := range store.Samples(e.ctx, "room-humidity", start.Add(12*time.Minute+5*time.Second),
		start.Add(12*time.Minute+55*time.Second)) {
		require.NoError(t, err)
		t.Fatalf("a garbled frame was stored as %v at %v", s.Raw, s.At)
	}
	checkBook(t, e, store)
}

// checkBook looks for what happened in the record book, in its order.
func checkBook(t *testing.T, e *evening, store *history.Store) {
	records, err := store.Records(e.ctx, history.Query{Kinds: []string{rules.AlarmChange, rules.AirState, rules.AcknowledgeAlarm{}.Kind()}})
	require.NoError(t, err)
	var story []string
	for _, r := range records {
		var event struct{ Subject, To string }
		require.NoError(t, json.Unmarshal(r.Content, &event))
		story = append(story, r.Kind+" "+event.Subject+" "+event.To)
	}
	require.Subset(t, story, []string{"air state practice moving", "alarm line:trays unacknowledged",
		"alarm line:trays returned to normal, not yet seen",
		"alarm acknowledged  ", "alarm line:air unacknowledged", "air state practice stopped", "alarm air unacknowledged"})
	counts, err := store.Records(e.ctx, history.Query{Kinds: []string{rules.SessionCounts}})
	require.NoError(t, err)
	var last rules.Event
	require.NoError(t, json.Unmarshal(counts[len(counts)-1].Content, &last))
	require.WithinDuration(t, counts[len(counts)-1].At, last.Session.Tally.To, 2*time.Second)
	require.InDelta(t, 30*time.Minute, last.Session.Tally.Watched, float64(10*time.Second), "a stop leaves nothing uncounted")
	report, err := history.Verify(e.ctx, filepath.Join(e.dir, "data"))
	require.NoError(t, err)
	require.NoError(t, report.Err())
}

func TestARestartBringsBackWhatStoodInTheTraysAndWhatNobodyHadSeen(t *testing.T) {
	e := newEvening(t, "0s fill trays; 0s start fan; 10s stop fan")
	e.until(5 * time.Second)
	e.fillTrays()
	e.until(40 * time.Second)
	require.Equal(t, "unacknowledged", e.now().alarms()["air"])
	e.end()
	require.NoError(t, <-e.ended)

	e.start()
	n := e.now()
	require.Equal(t, "unacknowledged", n.alarms()["air"], "an alarm outlasts a restart")
	require.Nil(t, n.Rooms[0].Baths[0].Temperature, "a value does not")
	e.until(50 * time.Second)
	require.NotNil(t, e.now().Rooms[0].Baths[0].Recommendation.Seconds, "the batch is still known")
	e.stop()
}
