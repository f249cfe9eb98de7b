package audit_test

import (
	"fmt"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/daemon/settings"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/session"
	"wetside/sensors"
)

// fit gives the room further bath channels, so that it has so many in all.
func (p *place) fit(channels int) {
	room := &p.site.Rooms[0]
	for n := len(room.Channels); n < channels; n++ {
		more := room.Channels[0]
		more.ID, more.Name = sensors.ChannelID(fmt.Sprintf("bath-%d", n)), fmt.Sprintf("Bath %d", n)
		room.Channels = append(room.Channels, more)
	}
	require.NoError(p, settings.Keep(p.Context(), p.store, settings.Of(p.site)))
	require.NoError(p, p.store.RegisterChannels(p.Context(), "practice", room.Channels))
}

// evenings writes so many evenings of three hours, two days apart, every channel at 1 Hz
// with a plug pulled for a minute, and seals them. It gives how many samples they have.
func (p *place) evenings(n int) (samples int) {
	var b history.Batch
	for range n {
		begun := p.clock.Now().Wall
		p.record(history.Entry{Kind: rules.SessionPhase}, rules.Event{Session: &session.Session{Phase: session.Open, Begun: begun, Since: begun}})
		for minute := range 190 {
			b.Samples = b.Samples[:0]
			for second := range 60 {
				at := p.clock.Now().Wall.Add(time.Duration(second) * time.Second)
				for i, c := range p.site.Rooms[0].Channels {
					if minute != 40+i%60 {
						b.Samples = append(b.Samples, history.Sample{Channel: c.ID, At: at, Raw: 2 + float64((second*7+minute*3+i)%23)/100, Grade: 2})
					}
				}
			}
			samples += len(b.Samples)
			require.NoError(p, p.store.Append(p.Context(), b))
			p.clock.Advance(time.Minute)
		}
		p.record(history.Entry{Kind: rules.SessionPhase}, rules.Event{Session: &session.Session{Phase: session.Closed, Begun: begun, Since: begun.Add(3 * time.Hour)}})
		p.clock.Advance(48*time.Hour - 190*time.Minute)
	}
	return samples
}

// BenchmarkGather gathers the report on a fortnight of evenings of the simulated
// room, and on a year of teaching (150 evenings) in a room of 64 channels. The year
// takes minutes to write before it is measured: ask for it with -benchtime 3x.
func BenchmarkGather(b *testing.B) {
	for _, c := range []struct {
		name               string
		channels, evenings int
	}{{"fortnight", 0, 7}, {"year of 64 channels", 64, 150}} {
		b.Run(c.name, func(b *testing.B) { gatherAll(b, c.channels, c.evenings) })
	}
}

func gatherAll(b *testing.B, channels, evenings int) {
	p := newPlace(b)
	p.fit(channels)
	samples := p.evenings(evenings)
	p.close()
	book, err := history.OpenReader(b.Context(), history.Options{Dir: p.dir, Clock: p.clock, Zone: time.UTC})
	require.NoError(b, err)
	defer book.Close()
	for b.Loop() {
		d, err := audit.Gather(b.Context(), book, audit.Question{From: term(), To: term().AddDate(1, 0, 0), Zone: time.UTC, Now: p.clock.Now().Wall})
		require.NoError(b, err)
		require.Len(b, d.Sessions, evenings)
		require.NoError(b, report.WritePDF(io.Discard, report.Compose(d), d.Made))
	}
	b.ReportMetric(float64(samples)/1e6, "Msamples")
}
