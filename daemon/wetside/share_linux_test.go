package main

import (
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"

	"wetside/sensors/dialect"
)

// BenchmarkShareOfACore is what the whole program takes of one core, of memory and of the life of a
// disk, and how often it is woken, with its channels at 1 Hz and somebody who looks: of this program
// and of the least one that could do it. At rest are eight channels in one frame a second, the others
// are eight lines where each channel has a frame of its own. An iteration is a second of the wall
// clock; who talks and who measures is another process.
// Two cores that others used meanwhile, in turns with the least program and with this one as it was
// before readings that come often were judged together; percent of a core:
//
//	                 rest   8    64   256       1,000 channels
//	least program    0.15   0.5  3.2  13        16 to 24
//	before           0.47   1.9  7.4  23 to 35  65 to 83
//	this program     0.53   1.8  6.0  13 to 17  18 to 25
//
// Later, fed the same frames at the same moments, at rest 0.3 % (the least program 0.11) and with 64 channels 4.5 %,
// where it was 5.0 before an alarm that nothing changes was left where it is (1.9). From 256 channels on its pace
// decides: what a turn takes less goes into more turns, 195 a second with 256 channels where it was 155.
//
// At rest 43 MB, of which 30 are the test's own program text, as they are for the least one (28), and
// 11 are its own; 98 switches a second (42), 8 kB a second written to the disk (8). What is left at few
// channels has no single cause: the loop of the room, the page, the stream and the lines take a part each.
func BenchmarkShareOfACore(b *testing.B) {
	for _, least := range []bool{true, false} {
		b.Run(fmt.Sprintf("least=%t/rest", least), func(b *testing.B) { shareOfACore(b, least, 1, 1, 8) })
		for _, channels := range []int{8, 64, 256, 1000} {
			b.Run(fmt.Sprintf("least=%t/channels=%d", least, channels), func(b *testing.B) {
				shareOfACore(b, least, 8, channels/8, 1)
			})
		}
	}
}

// shareOfACore measures with so many lines, on each so many frames a second of so many channels.
func shareOfACore(b *testing.B, least bool, lines, frames, channels int) {
	peers, ends, site := terminals(b, lines, frames*channels)
	p := started(b, least, ends, site)
	for line, peer := range peers {
		talkEverySecond(b, peer, frames, channels, time.Duration(line)*time.Second/time.Duration(lines*frames))
	}
	p.listen(b, func([]byte) {})
	time.Sleep(4 * time.Second) // the start is not meant
	before, wrote, woken, began := p.worked(b), p.wrote(b), p.woken(b), time.Now()
	for b.Loop() {
		time.Sleep(time.Second)
	}
	took := time.Since(began)
	b.ReportMetric(100*float64(p.worked(b)-before)/float64(took), "%core")
	b.ReportMetric(p.resident(b), "MB")
	b.ReportMetric((p.woken(b)-woken)/took.Seconds(), "woken/s")
	b.ReportMetric((p.wrote(b)-wrote)/1e3/took.Seconds(), "written-kB/s")
	b.ReportMetric(0, "ns/op")
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

func freeAddress(b testing.TB) string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(b, err)
	defer l.Close()
	return l.Addr().String()
}

// talkEverySecond says every second, until the test ends, so many frames of so many channels, evenly spread.
func talkEverySecond(b *testing.B, peer *os.File, frames, channels int, first time.Duration) {
	done := make(chan struct{})
	ended := make(chan struct{})
	b.Cleanup(func() { close(done); <-ended })
	go func() {
		defer close(ended)
		for next, i := time.Now().Add(first), 0; ; next, i = next.Add(time.Second/time.Duration(frames)), i+1 {
			select {
			case <-done:
				return
			case <-time.After(time.Until(next)):
			}
			first := i % frames * channels
			_, _ = peer.WriteString(frameOf(first, channels, func(c int) float64 { return 20 + float64((i/frames+c)%10)/10 }))
		}
	}()
}

// frameOf is one checked line with a value for each of so many channels from the first on.
func frameOf(first, channels int, value func(channel int) float64) string {
	values := make([]dialect.TextValue, channels)
	for i := range values {
		values[i] = dialect.TextValue{Name: fmt.Sprintf("C%d", first+i), Value: fmt.Sprintf("%.1f", value(first+i)), Unit: "C"}
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

// woken is how often the threads of the program have given a core away so far.
func (p *program) woken(b *testing.B) (sum float64) {
	threads, err := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/status", p.Process.Pid))
	require.NoError(b, err)
	require.NotEmpty(b, threads)
	for _, thread := range threads {
		text, err := os.ReadFile(thread)
		require.NoError(b, err)
		for _, name := range []string{"\nvoluntary_ctxt_switches:", "\nnonvoluntary_ctxt_switches:"} {
			_, after, found := strings.Cut(string(text), name)
			require.True(b, found)
			var times float64
			_, err = fmt.Sscan(after, &times)
			require.NoError(b, err)
			sum += times
		}
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
