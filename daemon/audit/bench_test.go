package audit_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/rules"
	"wetside/rules/session"
)

// fortnight writes fourteen evenings of three hours, every channel at 1 Hz, and
// seals them. It gives how many samples they have.
func (p *place) fortnight() (samples int) {
	for range 14 {
		begun := p.clock.Now().Wall
		p.record(history.Entry{Kind: rules.SessionPhase}, rules.Event{Session: &session.Session{Phase: session.Open, Begun: begun, Since: begun}})
		for range 180 {
			var b history.Batch
			for second := range 60 {
				at := p.clock.Now().Wall.Add(time.Duration(second) * time.Second)
				for _, c := range p.site.Rooms[0].Channels {
					b.Samples = append(b.Samples, history.Sample{Channel: c.ID, At: at, Raw: 2 + float64(second%7)/100, Grade: 2})
				}
			}
			samples += len(b.Samples)
			require.NoError(p, p.store.Append(p.Context(), b))
			p.clock.Advance(time.Minute)
		}
		p.record(history.Entry{Kind: rules.SessionPhase}, rules.Event{Session: &session.Session{Phase: session.Closed, Begun: begun, Since: p.clock.Now().Wall}})
		p.clock.Advance(21 * time.Hour)
	}
	return samples
}

// BenchmarkGather gathers a fortnight of evenings; a year of teaching has about ten times as many.
func BenchmarkGather(b *testing.B) {
	p := newPlace(b)
	samples := p.fortnight()
	p.close()
	book, err := history.OpenReader(b.Context(), history.Options{Dir: p.dir, Clock: p.clock, Zone: time.UTC})
	require.NoError(b, err)
	defer book.Close()
	b.ResetTimer()
	for range b.N {
		d, err := audit.Gather(b.Context(), book, audit.Question{From: term(), To: term().AddDate(0, 0, 30), Zone: time.UTC, Now: p.clock.Now().Wall})
		require.NoError(b, err)
		require.Len(b, d.Sessions, 14)
	}
	b.ReportMetric(float64(samples)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Msamples/s")
}
