package main

import (
	"bufio"
	"bytes"
	"database/sql"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// asMinimal makes of this test the least program that could do the work: it reads the lines named,
// writes one durable row a second and sends every frame to whoever listens.
const asMinimal = "WETSIDE_MINIMAL"

func init() {
	if what := os.Getenv(asMinimal); what != "" {
		fmt.Fprintln(os.Stderr, minimal(what))
		os.Exit(exitFailed)
	}
}

// minimal serves the lines of the environment, a space between them, at the address in front of them.
func minimal(what string) error {
	words := strings.Fields(what)
	db, err := sql.Open("sqlite", filepath.Join(os.TempDir(), fmt.Sprintf("minimal-%d.db", os.Getpid())))
	if err != nil {
		return err
	}
	if _, err = db.Exec("PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; CREATE TABLE row (frame TEXT)"); err != nil {
		return err
	}
	var mu sync.Mutex
	listeners, newest := map[chan string]bool{}, ""
	for _, name := range words[1:] {
		line, err := os.OpenFile(name, os.O_RDWR|unix.O_NOCTTY, 0)
		if err != nil {
			return err
		}
		settings, err := unix.IoctlGetTermios(int(line.Fd()), unix.TCGETS)
		if err != nil {
			return err
		}
		settings.Lflag &^= unix.ICANON | unix.ECHO
		if err := unix.IoctlSetTermios(int(line.Fd()), unix.TCSETS, settings); err != nil {
			return err
		}
		go func() {
			for frames := bufio.NewScanner(line); frames.Scan(); {
				mu.Lock()
				newest = frames.Text()
				for l := range listeners {
					select {
					case l <- newest:
					default:
					}
				}
				mu.Unlock()
			}
		}()
	}
	go func() {
		for range time.Tick(time.Second) {
			mu.Lock()
			frame := newest
			mu.Unlock()
			if _, err := db.Exec("INSERT INTO row VALUES (?)", frame); err != nil {
				fmt.Fprintln(os.Stderr, err)
			}
		}
	}()
	return http.ListenAndServe(words[0], http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		mine := make(chan string, 16)
		mu.Lock()
		listeners[mine] = true
		mu.Unlock()
		w.Header().Set("Content-Type", "text/event-stream")
		control := http.NewResponseController(w)
		for control.Flush() == nil {
			_, _ = fmt.Fprintf(w, "data: %s\n\n", <-mine)
		}
	}))
}

// BenchmarkWireToClient is the time from a frame that is written on a serial line until a client of
// the network has its value, with 64 channels at 10 Hz on eight lines, and what the program takes of
// a core meanwhile: of this program and of the least one that could do it. An iteration is a frame.
// Two cores at rest, the lines one after another, 1, 20 and 200 clients, beside the least program: median
// 1.1, 1.2 and 3.6 ms (0.46, 0.73, 3.0), 99th percentile 7.0, 7.0 and 15 ms (2.7, 4.8, 10), of a core 9.6,
// 12 and 38 % (4.9, 6.9, 34).
// Of a core with one client, fed the same frames at the same moments on two cores that others used too: 6.5 %, where
// it was 7.0 before an alarm that nothing changes was left where it is; the least program 2.2 %.
// All lines at the same instant, two cores that others used meanwhile, in turns, 20 and 200 clients: median
// 6.7 and 14 ms (4.9, 19), where it was 8.8 and 23 before what comes at one instant was drawn at once.
func BenchmarkWireToClient(b *testing.B) {
	for _, least := range []bool{true, false} {
		for _, clients := range []int{1, 20, 200} {
			for _, together := range []bool{false, true} {
				b.Run(fmt.Sprintf("least=%t/clients=%d/together=%t", least, clients, together), func(b *testing.B) {
					wireToClient(b, least, clients, together)
				})
			}
		}
	}
}

// started runs the program, or the least one, on the lines given until the test ends.
func started(b *testing.B, least bool, ends []string, site string) (p *program) {
	address := freeAddress(b)
	if least {
		p = &program{Cmd: exec.Command(os.Args[0]), errs: &bytes.Buffer{}, url: "http://" + address + "/"}
		p.Env, p.Stderr = append(os.Environ(), asMinimal+"="+address+" "+strings.Join(ends, " ")), p.errs
	} else {
		file := filepath.Join(b.TempDir(), "site.toml")
		require.NoError(b, os.WriteFile(file, []byte(site), 0o600))
		p = wetside("run", "--config", file, "--data", filepath.Join(b.TempDir(), "data"), "--listen", address)
		p.url = "http://" + address + "/rooms/practice/events"
	}
	require.NoError(b, p.Start())
	b.Cleanup(func() {
		require.NoError(b, p.Process.Signal(unix.SIGTERM))
		if err := p.Wait(); !least {
			require.NoError(b, err, p.errs)
		}
	})
	require.Eventually(b, func() bool {
		c, err := net.Dial("tcp", address)
		if err == nil {
			_ = c.Close()
		}
		return err == nil
	}, 20*time.Second, 20*time.Millisecond, p.errs)
	return p
}

// listen hands on what the program sends to a client of its own until the test ends.
func (p *program) listen(b *testing.B, take func(piece []byte)) {
	r, err := http.NewRequest(http.MethodGet, p.url, nil)
	require.NoError(b, err)
	c, err := net.Dial("tcp", r.Host)
	require.NoError(b, err)
	require.NoError(b, r.Write(c))
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		piece := make([]byte, 1<<16)
		for {
			got, err := c.Read(piece)
			if err != nil {
				return
			}
			take(piece[:got])
		}
	}()
	b.Cleanup(func() { _ = c.Close(); <-ended })
}

func wireToClient(b *testing.B, least bool, clients int, together bool) {
	const every, channels = 100 * time.Millisecond, 8
	peers, ends, site := terminals(b, 8, channels)
	p := started(b, least, ends, site)
	stop, talking := make(chan struct{}), sync.WaitGroup{}
	for line := range 7 {
		talking.Go(func() {
			next := time.Now().Truncate(every).Add(every)
			if !together {
				next = next.Add(time.Duration(line+1) * every / 8)
			}
			for i := 0; ; i++ {
				select {
				case <-stop:
					return
				case <-time.After(time.Until(next)):
				}
				next = next.Add(every)
				_, _ = peers[line+1].WriteString(frameOf(0, channels, func(int) float64 { return 30 + float64(i%40)/10 }))
			}
		})
	}
	b.Cleanup(func() { close(stop); talking.Wait() })

	arrived := make(chan []byte, 1<<12)
	for n := range clients {
		p.listen(b, func(piece []byte) {
			if n == clients/2 {
				arrived <- slices.Clone(piece)
			}
		})
	}
	time.Sleep(2 * time.Second) // the start is not meant
	for len(arrived) > 0 {
		<-arrived
	}
	var took []time.Duration
	before, began := p.worked(b), time.Now()
	for i := 0; b.Loop(); i++ {
		value := 18 + float64(i%40)/10
		time.Sleep(time.Until(time.Now().Truncate(every).Add(every)))
		from := time.Now()
		_, err := peers[0].WriteString(frameOf(0, channels, func(int) float64 { return value }))
		require.NoError(b, err)
		for want := []byte(fmt.Sprintf("%.1f", value)); ; {
			select {
			case piece := <-arrived:
				if !bytes.Contains(piece, want) {
					continue
				}
			case <-time.After(5 * time.Second):
				require.Fail(b, "a frame never arrived", p.errs)
			}
			break
		}
		took = append(took, time.Since(from))
	}
	b.ReportMetric(100*float64(p.worked(b)-before)/float64(time.Since(began)), "%core")
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms-median")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "ms-p99")
	b.ReportMetric(0, "ns/op")
}
