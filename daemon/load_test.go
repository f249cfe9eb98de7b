package daemon_test

import (
	"bufio"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/campaign"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/dashboard/formtest"
	"wetside/rules"
	"wetside/sensors"
)

// stillInTime is what a frame may take on a computer that does other things as well;
// the figures of an idle one are those of the benchmarks.
const stillInTime = time.Second

// crowd is what a daemon has to bear beside its readings.
type crowd struct {
	pages, people int
	every         time.Duration // between two forms of a person
}

// visitors are the people and pages of a crowd at work.
type visitors struct {
	*wired
	ctx    context.Context
	client *http.Client
	all    sync.WaitGroup

	mu      sync.Mutex
	refused []error
	forms   int
	slowest time.Duration
	reports int
	exports int
}

// visit lets a crowd in until the context ends. Every second page is never read.
func (r *wired) visit(ctx context.Context, c crowd) *visitors {
	v := &visitors{wired: r, ctx: ctx, client: &http.Client{Transport: &http.Transport{MaxConnsPerHost: 0, ReadBufferSize: 1 << 10}}}
	for n := range c.pages {
		v.all.Go(func() { v.follow(n%2 == 0) })
	}
	for n := range c.people {
		v.all.Go(func() { v.complain(n, c.every) })
	}
	return v
}

// follow keeps a live page open and opens it again when it is cut off.
func (v *visitors) follow(reads bool) {
	for v.ctx.Err() == nil {
		request, err := http.NewRequestWithContext(v.ctx, http.MethodGet, v.daemon.URL()+"/rooms/room-0/events", nil)
		if err != nil {
			return
		}
		answer, err := v.client.Do(request)
		if err != nil {
			continue
		}
		if reads {
			_, _ = io.Copy(io.Discard, bufio.NewReader(answer.Body)) // until it ends
		} else {
			<-v.ctx.Done()
		}
		_ = answer.Body.Close()
	}
}

// complain posts a form again and again, as a person would.
func (v *visitors) complain(who int, every time.Duration) {
	for n := 0; v.ctx.Err() == nil; n++ {
		began := time.Now()
		err := v.post(fmt.Sprintf("invented complaint %d by %d", n, who))
		v.mu.Lock()
		if v.ctx.Err() == nil {
			v.forms++
			v.slowest = max(v.slowest, time.Since(began))
			if err != nil {
				v.refused = append(v.refused, err)
			}
		}
		v.mu.Unlock()
		select {
		case <-time.After(every):
		case <-v.ctx.Done():
		}
	}
}

func (v *visitors) post(what string) error {
	form := formtest.Forged("act", "complain", "who", "invented volunteer", "complaint", what, "token", rand.Text())
	request, err := http.NewRequestWithContext(v.ctx, http.MethodPost, v.daemon.URL()+"/rooms/room-0/alarms", strings.NewReader(form.Encode()))
	if err != nil {
		return err
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	request.Header.Set("Accept", "text/plain")
	answer, err := v.client.Do(request)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	said, err := io.ReadAll(answer.Body)
	if err == nil && answer.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s: %s", answer.Status, said)
	}
	return err
}

// office has reports made over HTTP and samples exported, one after another, beside all that.
func (v *visitors) office() {
	book, err := history.OpenReader(v.ctx, history.Options{Dir: v.dir, Clock: sensors.NewSystemClock(1), Zone: time.UTC})
	require.NoError(v, err)
	now := time.Now()
	today, yesterday := now.Format(time.DateOnly), now.AddDate(0, 0, -1).Format(time.DateOnly)
	samples := history.SampleExport{From: now.Add(-3 * time.Hour), To: now}
	for line := range v.lines {
		samples.Channels = append(samples.Channels, sensors.ChannelID(fmt.Sprintf("tray-0-%d-0", line)))
	}
	v.all.Go(func() {
		v.again(&v.reports, func() error { return v.fetch("/report/report.zip?from=" + yesterday + "&to=" + today) })
	})
	v.all.Go(func() {
		defer book.Close()
		v.again(&v.exports, func() error { return book.ExportSamples(v.ctx, io.Discard, samples) })
	})
}

func (v *visitors) again(done *int, work func() error) {
	for v.ctx.Err() == nil {
		err := work()
		v.mu.Lock()
		if v.ctx.Err() == nil {
			*done++
			if err != nil {
				v.refused = append(v.refused, err)
			}
		}
		v.mu.Unlock()
	}
}

func (v *visitors) fetch(path string) error {
	request, err := http.NewRequestWithContext(v.ctx, http.MethodGet, v.daemon.URL()+path, nil)
	if err != nil {
		return err
	}
	answer, err := v.client.Do(request)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	_, err = io.Copy(io.Discard, answer.Body)
	if answer.StatusCode != http.StatusOK {
		err = errors.Join(err, errors.New(path+": "+answer.Status))
	}
	return err
}

// leave ends the visit.
func (v *visitors) leave(cancel context.CancelFunc) {
	cancel()
	v.all.Wait()
	v.client.CloseIdleConnections()
}

// lateness measures a number of frames from the wire to the snapshot, ten a second.
func (r *wired) lateness(frames int) (sorted []time.Duration) {
	for range frames {
		began := time.Now()
		sorted = append(sorted, r.late())
		time.Sleep(100*time.Millisecond - time.Since(began)%(100*time.Millisecond))
	}
	slices.Sort(sorted)
	return sorted
}

// hourBefore gives a new folder with the samples of an hour, every channel at 1 Hz.
func (o wiredOptions) hourBefore(t testing.TB) (dir string) {
	site, err := config.Parse("wired.toml", []byte(o.site()))
	require.NoError(t, err)
	dir = filepath.Join(t.TempDir(), "data")
	store, err := history.Open(t.Context(), history.Options{Dir: dir, Clock: sensors.NewSystemClock(1), Zone: time.UTC})
	require.NoError(t, err)
	require.NoError(t, store.RegisterChannels(t.Context(), site.Rooms[0].ID, site.Rooms[0].Channels))
	for began, second := time.Now().Add(-2*time.Hour), 0; second < 3600; second++ {
		var b history.Batch
		for i, c := range site.Rooms[0].Channels {
			b.Samples = append(b.Samples, history.Sample{Channel: c.ID, At: began.Add(time.Duration(second) * time.Second),
				Raw: 30 + float64((second+i)%40)/10, Grade: sensors.Good})
		}
		require.NoError(t, store.Append(t.Context(), b))
	}
	require.NoError(t, store.Close())
	return dir
}

func TestAFullHouseGetsItsReadingsItsFormsAndItsPages(t *testing.T) {
	o := wiredOptions{rooms: 1, lines: 8, channels: 8}
	o.dir = o.hourBefore(t)
	r := startWired(t, o)
	r.talk(100 * time.Millisecond)
	ctx, cancel := context.WithCancel(t.Context())
	v := r.visit(ctx, crowd{pages: 200, people: 20, every: 500 * time.Millisecond})
	v.office()
	took := r.lateness(campaign.Size(t, 15))
	require.Eventually(t, func() bool {
		v.mu.Lock()
		defer v.mu.Unlock()
		return v.reports > 0 && v.exports > 0
	}, time.Minute, 10*time.Millisecond, "a report and an export were made meanwhile")
	v.leave(cancel)
	require.Empty(t, v.refused, "no form, report or export is refused")
	require.NotZero(t, v.forms)
	t.Logf("64 channels at 10 Hz, 200 pages, 20 people: a frame is shown after %v (median), %v (99 of 100), %v (worst); %d forms, the "+
		"slowest %v; meanwhile %d reports and %d exports",
		took[len(took)/2], took[len(took)*99/100], took[len(took)-1], v.forms, v.slowest, v.reports, v.exports)
	require.Less(t, took[len(took)/2], stillInTime)
}

func TestFiftyRoomsShowTheirReadings(t *testing.T) {
	r := startWired(t, wiredOptions{rooms: 50, lines: 4, channels: 5})
	r.talk(time.Second)
	took := r.lateness(campaign.Size(t, 10))
	require.Eventually(t, func() bool {
		return !slices.ContainsFunc(r.daemon.Now().Rooms[1:], func(s *rules.Snapshot) bool {
			_, live := s.Baths[0].Temperature()
			return !live
		})
	}, 10*time.Second, 10*time.Millisecond, "every room is live")
	t.Logf("50 rooms, 1000 channels at 1 Hz: a frame is shown after %v (median), %v (worst)", took[len(took)/2], took[len(took)-1])
	require.Less(t, took[len(took)/2], stillInTime)
}

// BenchmarkFrameAmongChannels is one frame from the wire to the snapshot while all
// other channels speak once a second.
func BenchmarkFrameAmongChannels(b *testing.B) {
	for _, o := range []wiredOptions{{rooms: 1, lines: 1, channels: 8}, {rooms: 1, lines: 8, channels: 8},
		{rooms: 8, lines: 8, channels: 8}, {rooms: 50, lines: 4, channels: 5}} {
		b.Run(fmt.Sprintf("channels=%d", o.rooms*o.lines*o.channels), func(b *testing.B) {
			r := startWired(b, o)
			r.talk(time.Second)
			for b.Loop() {
				r.late()
			}
		})
	}
}
