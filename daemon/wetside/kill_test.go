package main

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/campaign"
	"wetside/daemon/history"
	"wetside/sensors"
)

// victims is how many programs are killed side by side, to save time.
const victims = 4

// victim is one data folder whose program is killed again and again.
type victim struct {
	*testing.T
	dir    string
	aside  string // where what runs beside the program puts its files
	speeds []string
	client *http.Client
	lives  int

	mu     sync.Mutex
	told   map[string]bool // what people were told is recorded
	last   shown           // the last state that was shown before the end
	starts []time.Duration
	firsts []time.Duration
}

func TestNothingIsLostWhenTheWholeProgramIsKilledAtRandom(t *testing.T) {
	kills := campaign.Size(t, 8)
	all := make([]*victim, victims)
	t.Run("side by side", func(t *testing.T) {
		for i := range all {
			t.Run(strconv.Itoa(i), func(t *testing.T) {
				t.Parallel()
				v := &victim{T: t, dir: t.TempDir(), aside: t.TempDir(), told: map[string]bool{}, client: &http.Client{Timeout: 20 * time.Second,
					Transport: &http.Transport{}},
					speeds: [][]string{{"1"}, {"1"}, {"1"}, {"600", "30"}}[i]}
				all[i] = v
				for range (kills + victims - 1) / victims {
					v.live()
				}
				v.client.CloseIdleConnections()
			})
		}
	})
	var starts, firsts []time.Duration
	told := 0
	for _, v := range all {
		starts, firsts, told = append(starts, v.starts...), append(firsts, v.firsts...), told+len(v.told)
	}
	require.NotZero(t, told, "somebody was told that something is recorded")
	slices.Sort(starts)
	slices.Sort(firsts)
	t.Logf("%d kills, %d acknowledged forms, none lost; ready after %v (worst %v), live after another %v (worst %v)",
		len(starts), told, starts[len(starts)/2], starts[len(starts)-1], firsts[len(firsts)/2], firsts[len(firsts)-1])
}

// live starts the program on the folder, has it used from all sides, kills
// everything at a random moment, and looks at what is left.
func (v *victim) live() {
	v.lives++
	speed := v.speeds[rand.IntN(len(v.speeds))]
	v.last = shown{}
	if v.lives > 1 && rand.IntN(4) == 0 {
		v.killWhileStarting(speed)
	}
	p := wetside("demo", "--empty", "--class", "--listen", "127.0.0.1:0", "--data", v.dir, "--speed", speed)
	p.serve(v)
	v.starts = append(v.starts, p.ready)
	v.awaitReading(p, speed)
	aside := v.startAside()
	stop := make(chan struct{})
	var users sync.WaitGroup
	for who := range 2 {
		users.Go(func() { v.complainUntil(stop, p.url, who) })
	}
	users.Go(func() { v.watchUntil(stop, p.url) })
	time.Sleep(rand.N(1500 * time.Millisecond))
	require.NoError(v, p.Process.Kill())
	if aside != nil {
		_ = aside.Process.Kill() // it may be done already
		_ = aside.end()
	}
	close(stop)
	require.Error(v, p.end(), "it was killed")
	users.Wait()
	v.inspect(speed)
}

// killWhileStarting kills a program that may not have got as far as its history yet.
func (v *victim) killWhileStarting(speed string) {
	p := wetside("demo", "--empty", "--class", "--listen", "127.0.0.1:0", "--data", v.dir, "--speed", speed)
	require.NoError(v, p.Start())
	time.Sleep(rand.N(600 * time.Millisecond))
	require.NoError(v, p.Process.Kill())
	require.Error(v, p.end(), "it was killed")
	v.inspect("")
}

// awaitReading waits for the first live reading after a start.
func (v *victim) awaitReading(p *program, speed string) {
	began := time.Now()
	require.Eventually(v, func() bool {
		s, err := look(v.client, p.url)
		return err == nil && s.live()
	}, time.Minute, 5*time.Millisecond, p.errs)
	if speed == "1" {
		v.firsts = append(v.firsts, time.Since(began))
	}
}

// startAside starts, now and then, something that reads the same history meanwhile.
func (v *victim) startAside() *program {
	name := filepath.Join(v.aside, fmt.Sprintf("life-%d", v.lives))
	var p *program
	switch rand.IntN(5) {
	case 0:
		p = wetside("report", "--data", v.dir, "--from", "2020-01-01", "--out", name)
	case 1:
		p = wetside("backup", "--data", v.dir, "--to", name+".db")
	case 2:
		p = wetside("export", "--data", v.dir, "--samples", name+".csv", "--book", name+".txt")
	case 3:
		p = wetside("verify", "--data", v.dir)
	default:
		return nil
	}
	require.NoError(v, p.Start())
	return p
}

func (v *victim) complainUntil(stop <-chan struct{}, address string, who int) {
	for n := 0; ; n++ {
		select {
		case <-stop:
			return
		default:
		}
		what := fmt.Sprintf("invented complaint %d of life %d by %d", n, v.lives, who)
		if complain(v.client, address, what) == nil {
			v.mu.Lock()
			v.told[what] = true
			v.mu.Unlock()
		}
	}
}

func (v *victim) watchUntil(stop <-chan struct{}, address string) {
	for {
		select {
		case <-stop:
			return
		case <-time.After(5 * time.Millisecond):
		}
		if s, err := look(v.client, address); err == nil && s.live() {
			v.last = s
		}
	}
}

// inspect looks at what a killed program left behind.
func (v *victim) inspect(speed string) {
	report, err := history.Verify(v.Context(), v.dir)
	require.NoError(v, err)
	require.NoError(v, report.Err())
	book, err := history.OpenReader(v.Context(), history.Options{Dir: v.dir, Clock: sensors.NewSystemClock(1), Zone: time.UTC})
	require.NoError(v, err)
	defer func() { require.NoError(v, book.Close()) }()
	recorded := map[string]bool{}
	for r, err := range book.EachRecord(v.Context(), history.Query{Kinds: []string{"complaint"}}) {
		require.NoError(v, err)
		var c struct{ What string }
		require.NoError(v, json.Unmarshal(r.Content, &c))
		recorded[c.What] = true
	}
	for what := range v.told {
		require.True(v, recorded[what], "acknowledged, but not in the book: %s", what)
	}
	if speed == "1" {
		v.inspectSamples(book)
	}
	v.inspectBackup()
}

// inspectSamples looks for the last value that was shown. What is shown is kept, but for the
// second that waits for the next tick, on top of the second between two.
func (v *victim) inspectSamples(book *history.Reader) {
	if !v.last.live() {
		return // it was killed before anybody looked
	}
	want, found, newest := *v.last.Rooms[0].Baths[0].Temperature, false, time.Time{}
	for s, err := range book.Samples(v.Context(), "developer-tray", v.last.At.Add(-6*time.Second), v.last.At.Add(time.Millisecond)) {
		require.NoError(v, err)
		found, newest = found || s.Raw == want, s.At
	}
	require.True(v, found || newest.After(v.last.At.Add(-2*time.Second)), "%g was shown at %v and the last sample is of %v", want,
		v.last.At, newest)
}

// inspectBackup holds that a copy has its name only when it is whole.
func (v *victim) inspectBackup() {
	name := filepath.Join(v.aside, fmt.Sprintf("life-%d.db", v.lives))
	if _, err := os.Stat(name); err != nil {
		return
	}
	into := filepath.Join(filepath.Dir(name), "restored")
	_, err := history.Restore(v.Context(), name, into)
	require.NoError(v, err)
	require.NoError(v, os.RemoveAll(into))
	require.NoError(v, os.Remove(name))
}
