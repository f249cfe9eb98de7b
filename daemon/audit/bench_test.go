package audit_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/record"
	"wetside/rules/session"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// fit gives the room further bath channels, so that it has so many in all.
func (p *place) fit(channels int) {
	room := &p.site.Rooms[0]
	for n := len(room.Channels); n < channels; n++ {
		more := room.Channels[0]
		more.ID, more.Name = sensors.ChannelID(fmt.Sprintf("bath-%d", n)), fmt.Sprintf("Bath %d", n)
		room.Channels = append(room.Channels, more)
	}
	require.NoError(p, audit.Keep(p.Context(), p.store, p.site.Settings()))
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
		p.record(history.Entry{Kind: rules.SessionPhase}, rules.Event{Session: &session.Session{Phase: session.Closed, Begun: begun,
			Since: begun.Add(3 * time.Hour)}})
		p.clock.Advance(48*time.Hour - 190*time.Minute)
	}
	p.store.Settle(p.Context())
	return samples
}

// BenchmarkGather gathers the report on a fortnight of evenings of the simulated
// room, and on a year of teaching (150 evenings) in a room of 64 channels. The year
// takes minutes to write before it is measured: ask for it with -benchtime 3x.
// Two cores at rest: a year of 64 channels, 150 evenings, 109 million samples, with its PDF,
// in 2.8 s.
func BenchmarkGather(b *testing.B) {
	for _, c := range []struct {
		name               string
		channels, evenings int
	}{{"fortnight", 0, 7}, {"fortnight of 64 channels", 64, 7}, {"year of 64 channels", 64, 150}} {
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
		d, err := audit.Gather(b.Context(), book, audit.Question{From: term(), To: term().AddDate(1, 0, 0), Zone: time.UTC,
			Now: p.clock.Now().Wall})
		require.NoError(b, err)
		require.Len(b, d.Sessions, evenings)
		require.NoError(b, report.WritePDF(io.Discard, report.Compose(d), d.Made))
	}
	b.ReportMetric(float64(samples)/1e6, "Msamples")
}

// BenchmarkVerify walks the file of a year of teaching in a room of 64 channels, samples and all.
// A load of 5 to 10: 12 s for a file of 1.1 GB.
func BenchmarkVerify(b *testing.B) {
	p := newPlace(b)
	p.fit(64)
	samples := p.evenings(150)
	p.close()
	file, err := os.Stat(filepath.Join(p.dir, "wetside.db"))
	require.NoError(b, err)
	for b.Loop() {
		found, err := history.Verify(b.Context(), p.dir)
		require.NoError(b, errors.Join(err, found.Err()))
		require.Greater(b, found.Attested+found.Waiting, 149*64)
	}
	b.ReportMetric(float64(samples)/1e6, "Msamples")
	b.ReportMetric(float64(file.Size())/1e6, "MB")
}

// BenchmarkChronicle reads a book for the first time that a page looks back, and looks
// at one evening of it when it was read already. A year is 250 evenings of eighty records.
func BenchmarkChronicle(b *testing.B) {
	for _, years := range []int{1, 10} {
		p := newPlace(b)
		records := p.yearsOfRecords(years)
		look := func(b *testing.B, c *audit.Chronicle) {
			now := p.clock.Now().Wall
			s, err := c.Between(b.Context(), "practice", audit.Question{From: now.AddDate(0, 0, -2), To: now, Now: now})
			require.NoError(b, err)
			require.Len(b, s.Sessions, 1)
		}
		b.Run(fmt.Sprintf("first/%d years", years), func(b *testing.B) {
			for b.Loop() {
				look(b, audit.NewChronicle(&p.store.Reader))
			}
			b.ReportMetric(float64(records), "records")
		})
		b.Run(fmt.Sprintf("again/%d years", years), func(b *testing.B) {
			c := audit.NewChronicle(&p.store.Reader)
			look(b, c)
			for b.Loop() {
				look(b, c)
			}
		})
		b.Run(fmt.Sprintf("verify/%d years", years), func(b *testing.B) {
			for b.Loop() {
				found, err := p.store.VerifyBook(b.Context())
				require.NoError(b, errors.Join(err, found.Err()))
			}
			b.ReportMetric(float64(records), "records")
		})
	}
}

// BenchmarkTheAlarmsOfAYear reads them out of the book of ten years, as the page of alarm statistics does.
func BenchmarkTheAlarmsOfAYear(b *testing.B) {
	p := newPlace(b)
	p.yearsOfRecords(10)
	from := p.clock.Now().Wall.AddDate(0, 0, -485)
	for b.Loop() {
		var records []record.Record
		for r, err := range p.store.EachTold(b.Context(), history.Query{Room: "practice", From: from,
			Kinds: append(rules.AlarmKinds(), rules.SessionPhase)}) {
			require.NoError(b, err)
			records = append(records, r)
		}
		b.ReportMetric(float64(len(records)), "records")
		require.NotEmpty(b, rules.AlarmTransitions(records))
	}
}

// yearsOfRecords writes years of evenings without readings.
func (p *place) yearsOfRecords(years int) (records int) {
	for range 250 * years {
		records += p.busyEvening()
	}
	return records
}

// busyEvening writes the records of an evening without readings: phases and counts of the
// session, alarms that come, are answered and go, and entries of the baths.
func (p *place) busyEvening() (records int) {
	begun := p.clock.Now().Wall
	s := session.Session{Phase: session.Open, Title: "Class", Leader: "Ada", Begun: begun, Since: begun}
	entries := []history.Entry{p.entry(rules.SessionPhase, rules.Event{Session: &s})}
	for n := range 20 {
		s.Tally = session.Tally{Known: time.Duration(n*10) * time.Minute, To: begun.Add(time.Duration(n*10) * time.Minute)}
		entries = append(entries, p.entry(rules.SessionCounts, rules.Event{Session: &s}))
	}
	for range 8 {
		for _, state := range []alarm.State{alarm.Unacknowledged, alarm.Acknowledged, alarm.Normal} {
			entries = append(entries, p.entry(rules.AlarmChange, rules.Event{Subject: "air", From: string(alarm.Normal), To: string(state),
				Alarm: &alarm.Alarm{ID: "air", State: state, Text: phrase.Say("The air does not move enough")}}))
		}
	}
	for range 34 {
		entries = append(entries, p.entry(rules.TrayKinds()[1], map[string]string{"bath": "developer"}))
	}
	s.Phase = session.Closed
	entries = append(entries, p.entry(rules.SessionPhase, rules.Event{Session: &s}))
	_, err := p.store.RecordAll(p.Context(), entries)
	require.NoError(p, err)
	p.clock.Advance(35 * time.Hour)
	return len(entries)
}

func (p *place) entry(kind string, content any) history.Entry {
	text, err := json.Marshal(content)
	require.NoError(p, err)
	return history.Entry{Kind: kind, Room: "practice", Person: "Ada", Role: "volunteer", Content: text}
}
