package daemon_test

import (
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"github.com/prometheus/client_golang/exp/api/remote"
	writev2 "github.com/prometheus/client_golang/exp/api/remote/genproto/v2"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"wetside/configs"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/outgoing"
	"wetside/sensors"
)

// engine is a time-series engine that counts what it is told.
type engine struct{ samples, celsius atomic.Int64 }

// Store takes every request.
func (e *engine) Store(r *http.Request, _ remote.WriteMessageType) (*remote.WriteResponse, error) {
	answer := remote.NewWriteResponse()
	body, err := io.ReadAll(r.Body)
	var m writev2.Request
	if err == nil {
		err = proto.Unmarshal(body, &m)
	}
	for _, x := range m.Timeseries {
		answer.Samples += len(x.Samples)
		if m.Symbols[x.LabelsRefs[1]] == "wetside_temperature_celsius" && x.Samples[0].Value == 20.5 {
			e.celsius.Add(1)
		}
	}
	e.samples.Add(int64(answer.Samples))
	return answer, err
}

// TestReadingsReachAnEngineUnderTheNamesOfTheMetrics lets a daemon send what its history holds.
func TestReadingsReachAnEngineUnderTheNamesOfTheMetrics(t *testing.T) {
	got := &engine{}
	server := httptest.NewServer(remote.NewWriteHandler(got, remote.MessageTypes{remote.WriteV2MessageType}))
	defer server.Close()
	defer http.DefaultTransport.(*http.Transport).CloseIdleConnections()
	o := options(t)
	site, err := config.Parse("demo.toml", configs.Demo)
	require.NoError(t, err)
	channels := site.Rooms[0].Channels
	store, err := history.Open(t.Context(), history.Options{Dir: o.Config.Data, Clock: o.Clock, Zone: time.UTC})
	require.NoError(t, err)
	require.NoError(t, store.RegisterChannels(t.Context(), site.Rooms[0].ID, channels))
	at := time.Now().Add(-10 * time.Second)
	require.NoError(t, store.Append(t.Context(), history.Batch{Samples: []history.Sample{{Channel: channels[0].ID, At: at, Raw: 20.5,
		Grade: sensors.Good}}}))
	require.NoError(t, store.Close())
	cursor := outgoing.Bookmark(filepath.Join(o.Config.Data, "remote-write"))
	require.NoError(t, cursor.Write(at.Add(-time.Second).UnixMilli()))
	site.Data, site.Listen = o.Config.Data, o.Config.Listen
	site.RemoteWrite = config.RemoteWrite{URL: server.URL, Labels: map[string]string{"site": "north"}}
	o.Config = site
	running(t, o)
	require.Eventually(t, func() bool { return got.celsius.Load() > 0 }, 10*time.Second, 20*time.Millisecond)
	require.Eventually(t, func() bool {
		families, err := o.Registry.Gather()
		require.NoError(t, err)
		for _, f := range families {
			if f.GetName() == "wetside_remote_write_samples_total" {
				all := 0.0
				for _, m := range f.GetMetric() {
					all += m.GetCounter().GetValue()
				}
				return all >= 1
			}
		}
		return false
	}, 10*time.Second, 20*time.Millisecond)
}
