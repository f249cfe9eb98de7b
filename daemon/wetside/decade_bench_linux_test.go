package main

import (
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"wetside/daemon/audit"
	"wetside/daemon/history"
)

// BenchmarkTenYears is what somebody waits for with an invented book of ten years, 208,000
// records and 3 GB, by the whole program, over its socket: a start until /healthz answers
// and until the first live reading after that; the page of a past moment, with the memory
// that it takes above rest; the report of a term and of all ten years, by the command, which
// walks the whole book, and as the running program makes it after its daily inspection of the book.
// The first report counts every session, the others take what was kept of those that are over.
// On two cores at rest, whose speed differs by a third from hour to hour: 0.12 to 0.13 s until /healthz answers and 0.93 s until
// the first live reading; a past moment 20 to 34 ms on average (24 to 36 ms of processor), 48 to 110 ms the longest, in which memory
// is collected, 1 to 27 MB above rest; by the command 0.9 to 1.1 s the first report of a term and 6.6 to 8.8 s that of ten years, 0.6
// to 0.8 and 4.1 to 4.7 s each later one; by the running program 0.2 to 0.5 and 4.5 to 7.1 s. The first start of a program that knows
// other kinds of records takes 1.5 s.
func BenchmarkTenYears(b *testing.B) {
	d := tenYears(b)
	b.Run("start", d.start)
	b.Run("past moment", d.pastMoment)
	for name, days := range map[string]int{"term": 105, "ten years": decadeDays} {
		b.Run("first report/"+name, func(b *testing.B) {
			require.NoError(b, audit.ForgetCounted(d.dir))
			d.report(b, days)
		})
		b.Run("report/"+name, func(b *testing.B) { d.report(b, days) })
		b.Run("page/"+name, func(b *testing.B) { d.page(b, days) })
	}
}

// demo starts the program on the book.
func (d *decade) demo(b *testing.B, address string) *program {
	p := wetside("demo", "--listen", address, "--data", d.dir)
	p.started = time.Now()
	require.NoError(b, p.Start())
	return p
}

func (p *program) stop(b *testing.B) {
	require.NoError(b, p.Process.Signal(unix.SIGTERM))
	require.NoError(b, p.Wait(), p.errs)
	http.DefaultClient.CloseIdleConnections()
}

func (d *decade) start(b *testing.B) {
	var live, worked time.Duration
	for b.Loop() {
		b.StopTimer()
		address := freeAddress(b)
		b.StartTimer()
		p := d.demo(b, address)
		await(b, p, func() bool { return fetch(io.Discard, "http://"+address+"/healthz") == nil })
		b.StopTimer()
		well := time.Now()
		worked += p.worked(b)
		await(b, p, func() bool {
			s, err := look(http.DefaultClient, "http://"+address)
			return err == nil && s.live()
		})
		live += time.Since(well)
		p.stop(b)
		b.StartTimer()
	}
	b.ReportMetric(float64(live.Milliseconds())/float64(b.N), "ms-to-live")
	b.ReportMetric(float64(worked.Milliseconds())/float64(b.N), "cpu-ms/op")
}

// await asks again and again until something is so.
func await(b *testing.B, p *program, is func() bool) {
	for began := time.Now(); !is(); time.Sleep(2 * time.Millisecond) {
		require.Less(b, time.Since(began), time.Minute, p.errs)
	}
}

// fetch reads a page.
func fetch(to io.Writer, url string) error {
	answer, err := http.Get(url)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	_, err = io.Copy(to, answer.Body)
	if err == nil && answer.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s: %s", url, answer.Status)
	}
	return err
}

func (d *decade) pastMoment(b *testing.B) {
	address := freeAddress(b)
	p := d.demo(b, address)
	defer p.stop(b)
	moment := func(evening int) string {
		at := d.class(evening).Add(85 * time.Minute)
		return "http://" + address + "/rooms/practice/then?at=" + at.In(time.Local).Format("2006-01-02T15:04")
	}
	await(b, p, func() bool { return fetch(io.Discard, moment(0)) == nil }) // a start reads the book ahead
	time.Sleep(5 * time.Second)
	rest := p.resident(b)
	require.NoError(b, os.WriteFile(fmt.Sprintf("/proc/%d/clear_refs", p.Process.Pid), []byte("5"), 0o200))
	var longest time.Duration
	before := p.worked(b)
	evening := 0
	for b.Loop() {
		began := time.Now()
		url := moment(evening)
		evening = (evening + 977) % decadeEvenings
		var page strings.Builder
		require.NoError(b, fetch(&page, url))
		longest = max(longest, time.Since(began))
		require.True(b, strings.Contains(page.String(), "20.") && !strings.Contains(page.String(), "No readings were kept"), url)
	}
	b.ReportMetric(float64((p.worked(b)-before).Milliseconds())/float64(b.N), "cpu-ms/op")
	b.ReportMetric(float64(longest.Microseconds())/1000, "ms-longest")
	b.ReportMetric(rest, "MB-rest")
	b.ReportMetric(p.highest(b)-rest, "MB-above")
}

// highest is the most memory that the program held since that was last set back, in megabytes.
func (p *program) highest(b *testing.B) (kilobytes float64) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.Process.Pid))
	require.NoError(b, err)
	_, after, found := strings.Cut(string(text), "VmHWM:")
	require.True(b, found)
	_, err = fmt.Sscan(after, &kilobytes)
	require.NoError(b, err)
	return kilobytes * 1024 / 1e6
}

// report has the last days of the book reported by the command, with every file.
func (d *decade) report(b *testing.B, days int) {
	end := d.first.AddDate(0, 0, decadeDays)
	n := 0
	var worked time.Duration
	for b.Loop() {
		n++
		p := wetside("report", "--data", d.dir, "--from", end.AddDate(0, 0, -days).Format(time.DateOnly), "--to", end.Format(time.DateOnly),
			"--out", filepath.Join(b.TempDir(), fmt.Sprint(n)))
		out, err := p.Output()
		require.NoError(b, err, p.errs)
		require.Contains(b, string(out), "sessions and ")
		worked += p.ProcessState.UserTime() + p.ProcessState.SystemTime()
	}
	b.ReportMetric(float64(worked.Milliseconds())/float64(b.N), "cpu-ms/op")
}

// page has the last days of the book reported as the program does that has run for a day: the
// sessions of the book are known, and the book was inspected as a whole.
func (d *decade) page(b *testing.B, days int) {
	reader, err := history.OpenReader(b.Context(), history.Options{Dir: d.dir, Zone: time.UTC})
	require.NoError(b, err)
	defer func() { require.NoError(b, reader.Close()) }()
	chronicle, end := audit.NewChronicle(reader), d.first.AddDate(0, 0, decadeDays)
	q := audit.Question{From: end.AddDate(0, 0, -days), To: end, Zone: time.UTC, Now: end, Version: version()}
	walked, err := reader.VerifyBook(b.Context())
	require.NoError(b, err)
	q.Inspected = history.Inspection{Last: walked.Last, At: end}
	_, err = chronicle.Up(b.Context(), "practice", end)
	require.NoError(b, err)
	var before, after unix.Rusage
	require.NoError(b, unix.Getrusage(unix.RUSAGE_SELF, &before))
	for b.Loop() {
		data, err := chronicle.Gather(b.Context(), q)
		require.NoError(b, err)
		require.True(b, data.Book.Holds && len(data.Sessions) > 0)
		require.NoError(b, audit.WriteZip(b.Context(), reader, data, io.Discard))
	}
	require.NoError(b, unix.Getrusage(unix.RUSAGE_SELF, &after))
	worked := after.Utime.Nano() + after.Stime.Nano() - before.Utime.Nano() - before.Stime.Nano()
	b.ReportMetric(float64(worked)/1e6/float64(b.N), "cpu-ms/op")
}
