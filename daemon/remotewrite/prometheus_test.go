//go:build prometheus

package remotewrite_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
)

// server is the Prometheus of the system, with a proxy in front that can lose answers.
type server struct {
	*testing.T
	folder, address, front string
	program                *exec.Cmd
	loses                  atomic.Bool
}

func newServer(t *testing.T) *server {
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	s := &server{T: t, folder: t.TempDir(), address: free.Addr().String()}
	require.NoError(t, free.Close())
	require.NoError(t, os.WriteFile(filepath.Join(s.folder, "prometheus.yml"), []byte("scrape_configs: []\n"), 0o600))
	proxy := httputil.NewSingleHostReverseProxy(&url.URL{Scheme: "http", Host: s.address})
	proxy.ErrorLog = log.New(io.Discard, "", 0)
	proxy.ModifyResponse = func(*http.Response) error {
		if s.loses.Load() {
			return errors.New("the answer is lost on the way")
		}
		return nil
	}
	front := httptest.NewServer(proxy)
	t.Cleanup(front.Close)
	t.Cleanup(http.DefaultTransport.(*http.Transport).CloseIdleConnections)
	s.front = front.URL
	s.start()
	t.Cleanup(s.stop)
	return s
}

func (s *server) start() {
	s.program = exec.Command("prometheus", "--config.file="+filepath.Join(s.folder, "prometheus.yml"),
		"--storage.tsdb.path="+filepath.Join(s.folder, "data"),
		"--web.listen-address="+s.address, "--web.enable-remote-write-receiver", "--storage.tsdb.retention.time=10y", "--log.level=error")
	require.NoError(s, s.program.Start(), "install the package prometheus")
	require.Eventually(s, func() bool {
		answer, err := http.Get("http://" + s.address + "/-/ready")
		return err == nil && answer.Body.Close() == nil && answer.StatusCode == http.StatusOK
	}, 30*time.Second, 50*time.Millisecond)
}

// stop ends the program without warning.
func (s *server) stop() {
	_ = s.program.Process.Kill()
	_ = s.program.Wait()
}

// values are all of a series, by their times in milliseconds.
func (s *server) values(query string, at time.Time) map[int64]string {
	answer, err := http.Get(fmt.Sprintf("http://%s/api/v1/query?time=%d&query=%s", s.address, at.Unix(), url.QueryEscape(query+"[2h]")))
	require.NoError(s, err)
	defer answer.Body.Close()
	var got struct {
		Data struct {
			Result []struct{ Values [][2]any }
		}
	}
	require.NoError(s, json.NewDecoder(answer.Body).Decode(&got))
	values := map[int64]string{}
	for _, r := range got.Data.Result {
		for _, v := range r.Values {
			at := int64(v[0].(float64)*1000 + 0.5)
			require.NotContains(s, values, at, "once")
			values[at] = v[1].(string)
		}
	}
	return values
}

func TestValuesArriveInPrometheusOnceAndAfterACutToo(t *testing.T) {
	p := newServer(t)
	s := newSending(t)
	s.options.URL, s.options.Labels = p.front+"/api/v1/write", map[string]string{"site": "north", "building": "B"}
	s.start()
	begun := []int64{s.record(60, sensors.Good)}
	s.settle()

	p.loses.Store(true)
	begun = append(begun, s.record(60, sensors.Good))
	for range 3 {
		s.clock.BlockUntil(1)
		s.clock.Advance(5 * time.Second)
	}
	s.clock.BlockUntil(1)
	require.NotEmpty(t, s.sender.Standing().Problem)
	p.loses.Store(false)
	s.settle()

	p.stop()
	begun = append(begun, s.record(60, sensors.Good))
	for range 3 {
		s.clock.BlockUntil(1)
		s.clock.Advance(5 * time.Second)
	}
	s.clock.BlockUntil(1)
	require.NotEmpty(t, s.sender.Standing().Problem)
	p.start()
	begun = append(begun, s.record(60, sensors.Good))
	s.clock.Advance(time.Minute)
	s.settle()
	s.end()

	got := p.values(`wetside_temperature_celsius{site="north",building="B",room="wet",channel="tray"}`, s.clock.Now().Wall)
	want := map[int64]string{}
	for _, from := range begun {
		for i := range int64(60) {
			want[from+i*1000] = fmt.Sprint(i + 1)
		}
	}
	require.Equal(t, want, got)
	x := s.sender.Standing()
	require.Zero(t, x.OutOfOrder+x.Rejected, "%+v", x)
	require.Positive(t, x.Present, "what was taken without an answer is there already")
	require.Empty(t, p.values(`wetside_temperature_celsius{site="south"}`, s.clock.Now().Wall))
}

func TestTwoSitesThatPassForOneAreSeen(t *testing.T) {
	p := newServer(t)
	s := newSending(t)
	s.options.URL, s.options.Labels = p.front+"/api/v1/write", map[string]string{"site": "north"}
	other := newSending(t)
	other.options.URL, other.options.Labels = s.options.URL, s.options.Labels
	s.start()
	other.start()
	s.record(100, sensors.Good)
	s.clock.Advance(5 * time.Second)
	s.settle()
	other.record(50, sensors.Good)
	other.clock.Advance(5 * time.Second)
	other.settle()
	s.end()
	other.end()
	require.EqualValues(t, 50, other.sender.Standing().OutOfOrder)
	require.Len(t, p.values(`wetside_temperature_celsius{site="north"}`, s.clock.Now().Wall), 100, "nothing is counted twice")
}
