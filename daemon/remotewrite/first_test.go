package remotewrite_test

import (
	"fmt"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/klauspost/compress/snappy"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protowire"

	"wetside/sensors"
)

// older is an engine of version 1.0: it reads nothing in a request of 2.0 and answers that all
// is well, takes a request as a whole or not at all, and in the order of time alone.
type older struct {
	mu       sync.Mutex
	strict   bool // answers 415 to what it does not know
	deaf     bool // takes a request and ends the connection without an answer
	newest   map[string]int64
	got      []point
	requests int
	versions []string
}

func (o *older) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.requests++
	o.versions = append(o.versions, r.Header.Get("X-Prometheus-Remote-Write-Version"))
	if o.strict && strings.Contains(r.Header.Get("Content-Type"), "io.prometheus.write.v2") {
		w.WriteHeader(http.StatusUnsupportedMediaType)
		return
	}
	packed, err := io.ReadAll(r.Body)
	body, err2 := snappy.Decode(nil, packed)
	if err != nil || err2 != nil {
		w.WriteHeader(http.StatusBadRequest)
		return
	}
	points := readFirst(body)
	newest := map[string]int64{}
	for _, p := range points {
		last := max(o.newest[p.series], newest[p.series])
		if p.at < last {
			http.Error(w, "out of order sample", http.StatusBadRequest)
			return
		}
		newest[p.series] = p.at
	}
	for series, at := range newest {
		o.newest[series] = at
	}
	o.got = append(o.got, points...)
	if o.deaf {
		panic(http.ErrAbortHandler)
	}
	w.WriteHeader(http.StatusNoContent)
}

// readFirst reads a request of version 1.0 by the numbers of its fields in the specification.
func readFirst(body []byte) (points []point) {
	each(body, func(n protowire.Number, series []byte) {
		if n != 1 {
			return
		}
		name := ""
		each(series, func(n protowire.Number, part []byte) {
			if n == 1 {
				each(part, func(n protowire.Number, text []byte) { name += string(text) + []string{"", "=", " "}[n] })
				return
			}
			p := point{series: name}
			for len(part) > 0 {
				field, kind, size := protowire.ConsumeTag(part)
				part = part[size:]
				if field == 1 && kind == protowire.Fixed64Type {
					bits, size := protowire.ConsumeFixed64(part)
					p.value, p.stale, part = math.Float64frombits(bits), bits == 0x7ff0000000000002, part[size:]
				} else {
					at, size := protowire.ConsumeVarint(part)
					p.at, part = int64(at), part[size:]
				}
			}
			points = append(points, p)
		})
	})
	return points
}

// each gives the parts of a message that are bytes.
func each(message []byte, do func(protowire.Number, []byte)) {
	for len(message) > 0 {
		n, kind, size := protowire.ConsumeTag(message)
		message = message[size:]
		if kind != protowire.BytesType {
			message = message[protowire.ConsumeFieldValue(n, kind, message):]
			continue
		}
		part, size := protowire.ConsumeBytes(message)
		do(n, part)
		message = message[size:]
	}
}

func (o *older) set(change func(*older)) {
	o.mu.Lock()
	defer o.mu.Unlock()
	change(o)
}

func sendingFirst(t *testing.T) (*sending, *older) {
	s, o := newSending(t), &older{newest: map[string]int64{}}
	server := httptest.NewServer(o)
	t.Cleanup(server.Close)
	s.options.URL, s.options.Labels = server.URL, map[string]string{"site": "north"}
	return s, o
}

const northTray = "__name__=wetside_temperature_celsius channel=tray room=wet site=north "

func TestAReceiverOfVersionOneGetsVersionOneAndEachValueOnce(t *testing.T) {
	for _, strict := range []bool{false, true} {
		s, o := sendingFirst(t)
		o.strict = strict
		s.start()
		from := s.record(50, sensors.Good)
		s.settle()
		s.record(50, sensors.Good)
		s.clock.Advance(5 * time.Second)
		s.settle()
		s.end()
		require.Len(t, o.got, 100)
		for i, p := range o.got {
			require.Equal(t, point{northTray, from + int64(i)*1000, float64(i%50) + 1, false}, p)
		}
		require.Equal(t, []string{"2.0.0", "0.1.0", "0.1.0"}, o.versions[:3], "learnt once")
		for _, v := range o.versions[3:] {
			require.Equal(t, "0.1.0", v)
		}
		require.EqualValues(t, 100, s.sender.Standing().Written)
	}
}

func TestAnAnswerThatWasLostCountsNothingTwiceAndLosesNothing(t *testing.T) {
	s, o := sendingFirst(t)
	s.start()
	s.record(10, sensors.Good)
	s.settle()
	o.set(func(o *older) { o.deaf = true })
	s.record(20, sensors.Good)
	s.clock.BlockUntil(1)
	s.clock.Advance(5 * time.Second)
	s.clock.BlockUntil(1)
	require.NotEmpty(t, s.sender.Standing().Problem)
	o.set(func(o *older) { o.deaf = false })
	s.record(20, sensors.Good)
	s.clock.Advance(5 * time.Second)
	s.settle()
	s.end()
	times := map[int64]int{}
	for _, p := range o.got {
		times[p.at]++
	}
	require.Len(t, times, 50)
	x := s.sender.Standing()
	require.Positive(t, x.Present, "what is there already is told from what never comes in")
	require.Zero(t, x.OutOfOrder)
	require.Zero(t, x.Rejected)
	require.LessOrEqual(t, x.Written, uint64(51))
}

func TestWhatComesAfterNewerValuesOfTheSameSeriesIsCountedAndTheRestArrives(t *testing.T) {
	s, o := sendingFirst(t)
	s.start()
	from := s.clock.Now().Wall.UnixMilli()
	o.newest[northTray] = from + 29_500 // another sender uses the same labels
	s.record(100, sensors.Good)
	s.clock.Advance(5 * time.Second)
	s.settle()
	s.end()
	x := s.sender.Standing()
	require.Equal(t, fmt.Sprintf("%d %d %d %d", 70, 30, 0, 0), fmt.Sprintf("%d %d %d %d", x.Written, x.OutOfOrder, x.Present, x.Rejected))
	require.Len(t, o.got, 70)
	require.Equal(t, from+30_000, o.got[0].at)
	require.Less(t, o.requests, 60)
}
