package remotewrite_test

import (
	"context"
	"errors"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/client_golang/exp/api/remote"
	writev2 "github.com/prometheus/client_golang/exp/api/remote/genproto/v2"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"go.uber.org/zap"
	"google.golang.org/protobuf/proto"

	"wetside/daemon/history"
	"wetside/daemon/outgoing"
	"wetside/daemon/remotewrite"
	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/quantity"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// point is a sample as the receiver got it.
type point struct {
	series string
	at     int64
	value  float64
	stale  bool
}

// receiver is an engine that keeps what it takes. The library's own handler reads the protocol.
type receiver struct {
	mu     sync.Mutex
	status int
	// most is how many samples of a request it takes; the rest it refuses.
	most     int
	points   []point
	requests int
	token    string
}

// Store takes a request, or answers with a status instead.
func (r *receiver) Store(request *http.Request, kind remote.WriteMessageType) (*remote.WriteResponse, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.requests++
	r.token = request.Header.Get("Authorization")
	answer := remote.NewWriteResponse()
	if r.status != 0 {
		answer.SetStatusCode(r.status)
		return answer, errors.New("not now")
	}
	body, err := io.ReadAll(request.Body)
	var m writev2.Request
	if err := errors.Join(err, proto.Unmarshal(body, &m)); err != nil || kind != remote.WriteV2MessageType {
		return answer, errors.New("not understood")
	}
	for _, x := range m.Timeseries {
		name := ""
		for i, ref := range x.LabelsRefs {
			name += m.Symbols[ref] + []string{"=", " "}[i%2]
		}
		for _, p := range x.Samples {
			if answer.Samples < r.most {
				answer.Samples++
				r.points = append(r.points, point{name, p.Timestamp, p.Value, math.Float64bits(p.Value) == 0x7ff0000000000002})
			}
		}
	}
	if answer.Samples == r.most {
		answer.SetStatusCode(http.StatusBadRequest)
		return answer, errors.New("some were out of order")
	}
	return answer, nil
}

func (r *receiver) set(status, most int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.status, r.most = status, most
}

func (r *receiver) got() []point {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.points
}

// sending is a sender under test, its history and its receiver.
type sending struct {
	*testing.T
	store    *history.Store
	receiver *receiver
	clock    *clocktest.Manual
	options  remotewrite.Options
	sender   *remotewrite.Sender
	end      func()
}

func newSending(t *testing.T) *sending {
	s := &sending{T: t, receiver: &receiver{most: math.MaxInt}, clock: clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC))}
	server := httptest.NewServer(remote.NewWriteHandler(s.receiver, remote.MessageTypes{remote.WriteV2MessageType}))
	t.Cleanup(server.Close)
	t.Cleanup(http.DefaultTransport.(*http.Transport).CloseIdleConnections)
	dir := t.TempDir()
	var err error
	// The history waits by a clock of its own, so that only the sender waits by the other one.
	s.store, err = history.Open(t.Context(), history.Options{Dir: dir, Clock: clocktest.New(s.clock.Now().Wall), Zone: time.UTC})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.store.Close()) })
	unit, err := quantity.ParseUnit("C")
	require.NoError(t, err)
	traits, _ := sensors.BathTemperature.Traits()
	require.NoError(t, s.store.RegisterChannels(t.Context(), "wet", []sensors.Channel{{ID: "tray", Kind: sensors.BathTemperature,
		Unit: unit, Traits: traits}}))
	s.options = remotewrite.Options{URL: server.URL + "/api/v1/write", Token: "secret token", Source: s.store, Clock: s.clock,
		Log:    zap.NewNop(),
		Cursor: outgoing.Bookmark(filepath.Join(dir, "remote-write")), Series: func() []remotewrite.Series {
			return []remotewrite.Series{{Channel: "nowhere", Room: "wet", Metric: "wetside_temperature_celsius"},
				{Channel: "tray", Room: "wet", Metric: "wetside_temperature_celsius", Silence: 15 * time.Second,
					Value: func(raw float64, _ time.Time) float64 { return raw + 1 }}}
		}}
	return s
}

func (s *sending) start() {
	var err error
	s.sender, err = remotewrite.New(s.options)
	require.NoError(s, err)
	ctx, cancel := context.WithCancel(context.Background())
	var running sync.WaitGroup
	running.Go(func() { s.sender.Run(ctx) })
	s.end = func() { cancel(); running.Wait() }
	s.clock.BlockUntil(1)
}

// record stores n good samples, a second apart, and lets the time go by.
func (s *sending) record(n int, grade sensors.Grade) (from int64) {
	from = s.clock.Now().Wall.UnixMilli()
	var samples []history.Sample
	for i := range n {
		samples = append(samples, history.Sample{Channel: "tray", At: time.UnixMilli(from + int64(i)*1000), Raw: float64(i), Grade: grade,
			Reason: map[bool]sensors.Reason{true: "jump"}[grade != sensors.Good]})
	}
	require.NoError(s, s.store.Append(s.Context(), history.Batch{Samples: samples}))
	s.clock.Advance(time.Duration(n) * time.Second)
	return from
}

// settle waits until the sender has sent all there is up to now.
func (s *sending) settle() {
	for range 40 {
		s.clock.BlockUntil(1)
		if x := s.sender.Standing(); x.Behind < 5*time.Second && x.Problem == "" {
			return
		}
		s.clock.Advance(5 * time.Second)
	}
	require.Fail(s, "the sender does not catch up", "%+v", s.sender.Standing())
}

func TestReadingsArriveOnceInOrderAndTheirSeriesEnd(t *testing.T) {
	s := newSending(t)
	s.record(30, sensors.Good) // before anybody listened
	s.start()
	from := s.record(100, sensors.Good)
	s.settle()
	bad := s.record(3, sensors.Suspect)
	s.clock.Advance(time.Minute)
	again := s.record(10, sensors.Good)
	s.clock.Advance(time.Minute)
	s.settle()
	s.end()
	var want []point
	const name = "__name__=wetside_temperature_celsius channel=tray room=wet "
	for i := range 100 {
		want = append(want, point{name, from + int64(i)*1000, float64(i) + 1, false})
	}
	got := s.receiver.got()
	require.Equal(t, want, got[:100])
	require.Contains(t, []int64{from + 99_000 + 15_000, bad}, got[100].at, "the series ends where the values stop being good")
	require.True(t, got[100].stale)
	require.Len(t, got, 100+1+10+1)
	require.Equal(t, point{name, again, 1, false}, got[101])
	require.True(t, got[111].stale)
	require.Equal(t, again+9_000+15_000, got[111].at)
	require.Equal(t, "Bearer secret token", s.receiver.token)
	require.EqualValues(t, 112, s.sender.Standing().Written)
}

func TestAnOutageOfHoursAndARestartLoseNothing(t *testing.T) {
	for _, status := range []int{http.StatusServiceUnavailable, http.StatusTooManyRequests, http.StatusUnauthorized, http.StatusNotFound} {
		s := newSending(t)
		s.start()
		s.receiver.set(status, math.MaxInt)
		from := s.record(4*3600, sensors.Good)
		for range 4 {
			s.clock.BlockUntil(1)
			s.clock.Advance(5 * time.Minute)
		}
		s.clock.BlockUntil(1)
		require.Empty(t, s.receiver.got())
		require.NotEmpty(t, s.sender.Standing().Problem)
		require.Greater(t, s.sender.Standing().Behind, 4*time.Hour)
		s.end()
		s.receiver.set(0, math.MaxInt)
		s.clock = clocktest.New(s.clock.Now().Wall) // nobody of the first start waits on it
		s.options.Clock = s.clock
		s.start()
		s.settle()
		s.end()
		got := s.receiver.got()
		require.GreaterOrEqual(t, len(got), 4*3600)
		for i := range 4 * 3600 {
			require.Equal(t, from+int64(i)*1000, got[i].at)
		}
	}
}

func TestRefusedSamplesAreCountedAndHoldNothingUp(t *testing.T) {
	s := newSending(t)
	s.start()
	s.receiver.set(0, 7)
	s.record(20, sensors.Good)
	s.clock.Advance(5 * time.Second)
	s.settle()
	x := s.sender.Standing()
	require.Positive(t, x.OutOfOrder)
	require.Positive(t, x.Written)
	s.receiver.set(0, math.MaxInt)
	last := s.record(10, sensors.Good)
	s.clock.Advance(10 * time.Second)
	s.settle()
	s.end()
	got := s.receiver.got()
	require.Equal(t, last+9000, got[len(got)-1].at)
	require.EqualValues(t, 30, s.sender.Standing().Written+s.sender.Standing().OutOfOrder)
}

func TestImportedValuesAreNotSent(t *testing.T) {
	s := newSending(t)
	s.start()
	from := s.record(10, sensors.Good)
	_, err := s.store.Import(t.Context(), history.Import{Samples: func(yield func(history.Sample, error) bool) {
		yield(history.Sample{Channel: "tray", At: time.UnixMilli(from + 500), Raw: 99, Grade: sensors.Good}, nil)
	}})
	require.NoError(t, err)
	s.clock.Advance(10 * time.Second)
	s.settle()
	s.end()
	require.Len(t, s.receiver.got(), 10)
}

func TestWhatCannotWorkIsSaidAtTheStart(t *testing.T) {
	s := newSending(t)
	o := s.options
	o.URL = "http://\x00"
	_, err := remotewrite.New(o)
	require.ErrorContains(t, err, "the address for remote write")
}
