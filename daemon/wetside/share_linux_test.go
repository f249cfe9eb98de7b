package main

import (
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"wetside/sensors/dialect"
)

// BenchmarkShareOfACore is what the whole program takes of one core, of memory and of the
// life of a disk, with its channels at 1 Hz on serial lines, all in one frame or each in a
// frame of its own. An iteration is a second of the wall clock; who talks and who measures
// is another process.
// Two cores at rest, eight channels at 1 Hz in one frame a second and in eight: 0.40 and 1.0
// to 1.3 % of a core, 37 and 40 MB, 8 to 9 kB a second written to the disk.
func BenchmarkShareOfACore(b *testing.B) {
	for _, frames := range []int{1, 8} {
		b.Run(fmt.Sprintf("frames=%d", frames), func(b *testing.B) {
			p := talkedTo(b, frames, 8/frames)
			before, wrote, began := p.worked(b), p.wrote(b), time.Now()
			for b.Loop() {
				time.Sleep(time.Second)
			}
			b.ReportMetric(100*float64(p.worked(b)-before)/float64(time.Since(began)), "%core")
			b.ReportMetric(p.resident(b), "MB")
			b.ReportMetric((p.wrote(b)-wrote)/1e3/time.Since(began).Seconds(), "written-kB/s")
		})
	}
}

// terminals opens so many lines, each with so many channels, for which the configuration is written
// too: the test speaks at the peers, the program reads the ends.
func terminals(b *testing.B, lines, channels int) (peers []*os.File, ends []string, configuration string) {
	var site strings.Builder
	site.WriteString("[[room]]\nid = \"practice\"\nvolume = \"60 m3\"\n")
	for line := range lines {
		peer, end, err := pty.Open()
		require.NoError(b, err)
		b.Cleanup(func() { _ = peer.Close(); _ = end.Close() })
		peers, ends = append(peers, peer), append(ends, end.Name())
		fmt.Fprintf(&site, "[[room.line]]\nid = \"line-%d\"\nport = %q\ndialect = \"text\"\n", line, end.Name())
		for c := range channels {
			fmt.Fprintf(&site, "[[room.line.channel]]\nid = \"tray-%d-%d\"\nquantity = \"bath-temperature\"\naddress = \"C%d\"\nunit = \"C\"\n"+
				"jump = 30\n", line, c, c)
		}
		fmt.Fprintf(&site, "[[room.bath]]\nid = \"bath-%d\"\nrole = \"fixer\"\nchannel = \"tray-%d-0\"\n", line, line)
	}
	return peers, ends, site.String()
}

// talkedTo starts the program on so many lines, each with so many channels at 1 Hz, and waits until it has settled.
func talkedTo(b *testing.B, lines, channels int) *program {
	dir := b.TempDir()
	peers, _, site := terminals(b, lines, channels)
	for line, peer := range peers {
		talkEverySecond(b, peer, channels, time.Duration(line)*time.Second/time.Duration(lines))
	}
	file := filepath.Join(dir, "site.toml")
	require.NoError(b, os.WriteFile(file, []byte(site), 0o600))
	address := freeAddress(b)
	p := wetside("run", "--config", file, "--data", filepath.Join(dir, "data"), "--listen", address)
	require.NoError(b, p.Start())
	b.Cleanup(func() {
		require.NoError(b, p.Process.Signal(unix.SIGTERM))
		require.NoError(b, p.Wait(), p.errs)
	})
	require.Eventually(b, func() bool {
		s, err := look(http.DefaultClient, "http://"+address)
		return err == nil && s.live()
	}, 20*time.Second, 100*time.Millisecond, p.errs)
	http.DefaultClient.CloseIdleConnections()
	time.Sleep(3 * time.Second) // the start is not meant
	return p
}

func freeAddress(b testing.TB) string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(b, err)
	defer l.Close()
	return l.Addr().String()
}

// talkEverySecond says a frame with all channels of a line until the test ends.
func talkEverySecond(b *testing.B, peer *os.File, channels int, first time.Duration) {
	done := make(chan struct{})
	ended := make(chan struct{})
	b.Cleanup(func() { close(done); <-ended })
	go func() {
		defer close(ended)
		for next, i := time.Now().Add(first), 0; ; next, i = next.Add(time.Second), i+1 {
			select {
			case <-done:
				return
			case <-time.After(time.Until(next)):
			}
			_, _ = peer.WriteString(frameOf(channels, func(c int) float64 { return 20 + float64((i+c)%10)/10 }))
		}
	}()
}

// frameOf is one checked line with a value for each channel.
func frameOf(channels int, value func(channel int) float64) string {
	values := make([]dialect.TextValue, channels)
	for c := range values {
		values[c] = dialect.TextValue{Name: fmt.Sprintf("C%d", c), Value: fmt.Sprintf("%.1f", value(c)), Unit: "C"}
	}
	return dialect.EncodeText(values)
}

// worked is the processor time that the threads of the program have taken so far.
func (p *program) worked(b *testing.B) (sum time.Duration) {
	threads, err := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/schedstat", p.Process.Pid))
	require.NoError(b, err)
	require.NotEmpty(b, threads)
	for _, thread := range threads {
		text, err := os.ReadFile(thread)
		require.NoError(b, err)
		var ran time.Duration
		_, err = fmt.Sscan(string(text), &ran)
		require.NoError(b, err)
		sum += ran
	}
	return sum
}

// resident is how much memory the program holds, in megabytes.
func (p *program) resident(b *testing.B) float64 {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/statm", p.Process.Pid))
	require.NoError(b, err)
	var size, pages float64
	_, err = fmt.Sscan(string(text), &size, &pages)
	require.NoError(b, err)
	return pages * float64(os.Getpagesize()) / 1e6
}

// wrote is how many bytes the program has had written to the disk so far.
func (p *program) wrote(b *testing.B) (bytes float64) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/io", p.Process.Pid))
	require.NoError(b, err)
	_, after, found := strings.Cut(string(text), "\nwrite_bytes: ")
	require.True(b, found)
	_, err = fmt.Sscan(after, &bytes)
	require.NoError(b, err)
	return bytes
}
