package dashboard_test

import (
	"bufio"
	"context"
	"net"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/viewtest"
	"wetside/sensors"
)

// event is one server-sent event.
type event struct{ name, id, data string }

// listener reads the events of a live page.
type listener struct {
	t      testing.TB
	events chan event
	closed chan struct{}
	stop   context.CancelFunc
}

// serve puts the pages on a real port.
func (p *pages) serve() string {
	p.t.Helper()
	server := httptest.NewServer(p)
	p.t.Cleanup(func() { p.Close(); server.CloseClientConnections(); server.Close() })
	return server.URL
}

func listen(t testing.TB, address, lastID string) *listener {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	require.NoError(t, err)
	if lastID != "" {
		r.Header.Set("Last-Event-ID", lastID)
	}
	transport := &http.Transport{}
	answer, err := (&http.Client{Transport: transport}).Do(r)
	require.NoError(t, err)
	require.Equal(t, "text/event-stream", answer.Header.Get("Content-Type"))
	l := &listener{t, make(chan event, 1000), make(chan struct{}), stop}
	go func() {
		defer close(l.closed)
		defer transport.CloseIdleConnections()
		defer answer.Body.Close()
		l.read(bufio.NewScanner(answer.Body))
	}()
	t.Cleanup(func() { stop(); <-l.closed })
	return l
}

func (l *listener) read(s *bufio.Scanner) {
	s.Buffer(nil, 1<<20)
	var e event
	for s.Scan() {
		field, value, _ := strings.Cut(s.Text(), ":")
		value = strings.TrimPrefix(value, " ")
		switch field {
		case "event":
			e.name = value
		case "id":
			e.id = value
		case "data":
			e.data += value
		case "":
			l.events <- e
			e = event{}
		}
	}
}

// next is the next event of a name within three seconds.
func (l *listener) next(name string) event {
	l.t.Helper()
	deadline := time.After(3 * time.Second)
	for {
		select {
		case e := <-l.events:
			if e.name == name {
				return e
			}
		case <-deadline:
			require.Fail(l.t, "no event "+name)
		}
	}
}

func TestALivePageStartsWholeAndThenSendsWhatChanged(t *testing.T) {
	p := evening(t)
	l := listen(t, p.serve()+"/rooms/north/events", "")
	require.Contains(t, l.next("layout").data, "head bath-developer bath-stop bath-fixer bath-wash air todo starts say")
	whole := l.next("parts")
	for _, words := range []string{`id="bath-developer"`, `id="bath-wash"`, "2:06", "MOVING", `id="todo"`} {
		require.Contains(t, whole.data, words)
	}
	p.Minutes(1, viewtest.Values{Developer: 19.4, Stop: 18.5, Fixer: 18.8, Duct: 2.9}, viewtest.Values{})
	p.Publish()
	change := l.next("parts")
	require.Contains(t, change.data, "18.5")
	require.NotContains(t, change.data, `id="bath-wash"`, "what did not change is not sent")
	require.NotEqual(t, whole.id, change.id)
}

func TestALivePageHearsABeatWhenNothingChanges(t *testing.T) {
	p := evening(t)
	p.page("/") // the evening so far is read for it
	l := listen(t, p.serve()+"/rooms/north/events", "")
	id := l.next("parts").id
	p.Again()
	require.Equal(t, id, l.next("beat").id)
}

func TestAReaderThatComesBackSaysWhatItHolds(t *testing.T) {
	p := evening(t)
	address := p.serve() + "/rooms/north/events"
	p.page("/") // the evening so far is read for it
	first := listen(t, address, "")
	id := first.next("parts").id
	first.stop()
	again := listen(t, address, id)
	again.next("layout")
	require.Equal(t, "beat", (<-again.events).name, "it holds the newest: nothing to send again")
	again.stop()

	p.Minutes(1, viewtest.Values{Developer: 18.9, Stop: 19, Fixer: 19, Duct: 2.9}, viewtest.Values{})
	p.Publish()
	require.Contains(t, listen(t, address, id).next("parts").data, "18.9")
}

func TestALiveProbesPageAndIndex(t *testing.T) {
	p := evening(t)
	address := p.serve()
	probes := listen(t, address+"/rooms/north/probes/events?look=red", "")
	data := probes.next("parts").data
	require.Contains(t, data, `<tr id="channel-north-developer">`)
	require.Contains(t, data, "look=red")
	index := listen(t, address+"/events", "")
	require.Contains(t, index.next("parts").data, `id="room-north"`)
}

func TestAReaderWhoseRoomGoesIsLetGo(t *testing.T) {
	p := evening(t)
	l := listen(t, p.serve()+"/rooms/north/events", "")
	l.next("parts")
	p.Show()
	select {
	case <-l.closed:
	case <-time.After(3 * time.Second):
		require.Fail(t, "the stream of a room that is gone goes on")
	}
}

func TestARoomWhoseLoopHasDiedIsLostWithinFiveSeconds(t *testing.T) {
	p := evening(t)
	l := listen(t, p.serve()+"/rooms/north/events", "")
	require.Contains(t, l.next("parts").data, "2:06")
	for seconds := 0; ; seconds++ { // each event is a beat of one second
		require.LessOrEqual(t, seconds, 5)
		e := <-l.events
		if e.name == "parts" && strings.Contains(e.data, "LOST") {
			require.NotContains(t, e.data, "2:06")
			require.NotContains(t, e.data, "19.4")
			require.NotContains(t, e.data, "MOVING")
			break
		}
	}
	for _, path := range []string{"/", "/api/now"} {
		require.NotContains(t, p.get(path).Body.String(), "19.4", path)
	}
	require.Contains(t, p.get("/api/now").Body.String(), "this room has not been updated lately")
	p.Again()
	require.Contains(t, l.next("parts").data, "2:06", "it comes back by itself")
}

func TestASlowReaderHoldsNobodyUpAndCloseEndsIt(t *testing.T) {
	p := evening(t)
	address := p.serve()
	slow, err := net.Dial("tcp", strings.TrimPrefix(address, "http://"))
	require.NoError(t, err)
	defer slow.Close()
	_, err = slow.Write([]byte("GET /rooms/north/events HTTP/1.1\r\nHost: x\r\n\r\n"))
	require.NoError(t, err)
	quick := listen(t, address+"/rooms/north/events", "")
	quick.next("parts")
	for i := range 50 {
		p.Minutes(1, viewtest.Values{Developer: 18 + float64(i%30)/10, Stop: 19, Fixer: 19, Duct: 2.9}, viewtest.Values{})
		p.Publish()
		quick.next("parts")
	}
	p.Close()
	<-quick.closed
	out := httptest.NewRecorder()
	p.ServeHTTP(out, httptest.NewRequest(http.MethodGet, "/rooms/north/events", nil))
	require.Equal(t, http.StatusServiceUnavailable, out.Code, "a closing server opens no stream")
}

// stuck is a connection that takes nothing.
type stuck struct {
	header http.Header
	until  time.Time
}

func (s *stuck) Header() http.Header { return s.header }
func (s *stuck) WriteHeader(int)     {}
func (s *stuck) Write([]byte) (int, error) {
	return 0, context.DeadlineExceeded
}
func (s *stuck) SetWriteDeadline(at time.Time) error { s.until = at; return nil }

func TestAReaderThatTakesNothingIsCutOff(t *testing.T) {
	p := evening(t)
	w := &stuck{header: http.Header{}}
	done := make(chan struct{})
	go func() {
		defer close(done)
		p.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/rooms/north/events", nil))
	}()
	select {
	case <-done:
	case <-time.After(3 * time.Second):
		require.Fail(t, "a reader that takes nothing keeps its stream")
	}
	require.False(t, w.until.IsZero(), "each event must be taken within a deadline")
}

// BenchmarkFrameToStream is the time from a new snapshot to its arrival at a
// reader over a real connection.
func BenchmarkFrameToStream(b *testing.B) {
	p := evening(b)
	l := listen(b, p.serve()+"/rooms/north/events", "")
	l.next("parts")
	i := 0
	for b.Loop() {
		b.StopTimer()
		time.Sleep(20 * time.Millisecond)
		i++
		p.Clock.Advance(time.Second)
		p.Say("developer", 18+float64(i%30)/10, p.Clock.Now())
		snap := p.Look(p.Clock.Now())
		b.StartTimer()
		p.Show(snap)
		l.next("parts")
	}
}

// BenchmarkFrameToStreamUnderLoad is the same while 64 channels speak at 10 Hz,
// so that a new snapshot comes every 1.6 ms; it reports the 99th percentile too.
func BenchmarkFrameToStreamUnderLoad(b *testing.B) {
	p := evening(b)
	l := listen(b, p.serve()+"/rooms/north/events", "")
	l.next("parts")
	quit, ended := make(chan struct{}), make(chan struct{})
	var look sync.Mutex
	go func() {
		defer close(ended)
		tick := time.NewTicker(time.Second / 640)
		defer tick.Stop()
		for {
			select {
			case <-quit:
				return
			case <-tick.C:
				look.Lock()
				p.Again()
				look.Unlock()
			}
		}
	}()
	var taken []time.Duration
	i := 0
	for b.Loop() {
		i++
		look.Lock()
		p.Clock.Advance(time.Second)
		p.Say("developer", 18+float64(i%30)/10, p.Clock.Now())
		snap := p.Look(p.Clock.Now())
		from := time.Now()
		p.Show(snap)
		look.Unlock()
		l.next("parts")
		taken = append(taken, time.Since(from))
		time.Sleep(time.Duration(i%17) * time.Millisecond)
	}
	close(quit)
	<-ended
	slices.Sort(taken)
	b.ReportMetric(float64(taken[len(taken)*99/100].Microseconds())/1000, "ms-p99")
}

// BenchmarkBoard is the drawing of the whole board.
func BenchmarkBoard(b *testing.B) {
	stage, err := viewtest.NewStage()
	require.NoError(b, err)
	stage.Begin()
	stage.Line(sensors.StateLive)
	stage.Publish()
	server, err := dashboard.New(dashboard.Options{View: stage, Log: zap.NewNop(), Clock: stage.Clock})
	require.NoError(b, err)
	defer server.Close()
	r := httptest.NewRequest(http.MethodGet, "/", nil)
	for b.Loop() {
		server.ServeHTTP(httptest.NewRecorder(), r)
	}
}
