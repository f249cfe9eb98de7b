package audit

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"wetside/daemon/history"
	"wetside/rules/breathing"
	"wetside/rules/coverage"
	"wetside/rules/past"
	"wetside/rules/truth"
	"wetside/sensors"
)

// countedForm is raised whenever readings or records come to something else than before, or are
// kept in another form: what was kept is then counted again.
const countedForm = 5

// countedFile with a year is the file beside the history that keeps what the readings of the
// sessions of the year came to. What it holds follows from the history, and it may be deleted.
const countedFile = "wetside.counted-"

// countedBook is such a file of the record book itself.
const countedBook = countedFile + "book"

// taken is what the readings of a session come to before anything is judged by them.
type taken struct {
	Covered []coverage.Coverage // by the channels of the room
	// Flow is set where the room has a probe of the flow, Air are its minutes.
	Flow bool
	Air  []past.AirMinute
	// Gases are the minutes of each gas of the session.
	Gases [][]breathing.Minute
}

// taken gives what the readings of a session come to: what was kept of them, if that was counted
// from the same, or the readings.
func (c counting) taken(s evening, room past.Room, gases []*past.GasCourse) (taken, error) {
	from, lasting, err := c.countedFrom(s, room, gases)
	if err != nil {
		return taken{}, err
	}
	if !lasting {
		return c.read(s, room, gases)
	}
	year := c.kept.years[yearOf(s)]
	if t, found := year.find(s, from); found {
		return t, nil
	}
	t, err := c.read(s, room, gases)
	if err == nil {
		year.keep(s, from, t)
	}
	return t, err
}

// basis is everything that the readings of a session are counted by.
type basis struct {
	Form             int
	Version          string
	Place            string // hash of the settings of the session's day, corrections among them
	Room             string
	Span             coverage.Span
	Open, Disputed   []coverage.Span
	Gaps             [][]coverage.Gap  // by the channels
	Doubted          [][]truth.Stretch // by the channels
	Samples, Deleted []string          // hashes of the records that say what samples there are
}

// countedFrom is the hash of everything that the readings of a session are counted by. It is not
// lasting while something of that may still change without a record of it.
func (c counting) countedFrom(s evening, room past.Room, gases []*past.GasCourse) (hash string, lasting bool, err error) {
	channels := room.Channels
	for _, gas := range gases {
		channels = append(channels[:len(channels):len(channels)], gas.Channel)
	}
	var reach time.Duration // to the last value before the session, and the first after it
	for _, channel := range channels {
		reach = max(reach, 2*silenceOf(channel)+time.Second)
	}
	wide := coverage.Span{From: s.Span().From.Add(-reach), To: s.Span().To.Add(reach)}
	b := basis{Form: countedForm, Version: c.Version, Room: s.Room, Span: s.Span(), Open: s.Open(), Disputed: c.chronicle.Disputed(s.Room,
		s.Span())}
	if b.Samples, b.Deleted = c.samples.over(wide); len(b.Samples) == 0 || s.Last.Phase.Running() || c.Now.Before(wide.To) || !c.kept.open {
		return "", false, nil
	}
	if lasting, err = c.look.Attested(wide.From, wide.To); !lasting || err != nil {
		return "", false, err
	}
	for _, channel := range channels {
		b.Gaps = append(b.Gaps, c.recorded[channel.ID].Over(s.Span()))
		b.Doubted = append(b.Doubted, c.doubted(channel, wide))
	}
	if b.Place, err = c.kept.place(s.Settled); err != nil {
		return "", false, err
	}
	text, err := json.Marshal(b)
	return fmt.Sprintf("%x", sha256.Sum256(text)), true, err
}

// doubted are the parts of a time by whether the probe of a channel is believed; none if it was
// never suspected.
func (g *gathering) doubted(channel past.Channel, over coverage.Span) []truth.Stretch {
	trust := g.probesBelieved.Trust(sensors.ChannelID(channel.ID))
	if trust.Always() {
		return nil
	}
	return slices.Collect(trust.Believed(truth.Stretch{From: over.From, To: over.To, Grade: sensors.Good}))
}

type samplesOf struct {
	hash   string
	day    string // the day that the record attests
	before string // the day before which it says that samples were deleted
}

// samplesOf reads what a record says of the samples of the time and of the day before it.
func (g *gathering) samplesOf(r history.Record) (out samplesOf) {
	out.hash = r.Hash
	switch {
	case r.At.Before(g.told()):
	case r.Kind == history.KindAttested:
		out.day, _ = history.AttestedDay(r) // a record that makes no sense attests no day
	case r.Kind == history.KindDeleted:
		var d history.Deleted
		_ = json.Unmarshal(r.Content, &d) // as above
		out.before = d.Before
	}
	return out
}

// samplesTold is what the book says of the samples: which record attests each day, the latest
// counts, and which ones say that samples were deleted.
type samplesTold struct {
	attested map[string]string
	deleted  []samplesOf
}

func (t *samplesTold) take(s samplesOf) {
	if t.attested == nil {
		t.attested = map[string]string{}
	}
	if s.day != "" {
		t.attested[s.day] = s.hash
	}
	if s.before != "" {
		t.deleted = append(t.deleted, s)
	}
}

// over gives the hashes of the records that say what samples there are of the days that a time
// touches; none where a day is not attested.
func (t *samplesTold) over(span coverage.Span) (samples, deleted []string) {
	first, last := span.From.UTC().Truncate(24*time.Hour), span.To.UTC()
	for day := first; !day.After(last); day = day.AddDate(0, 0, 1) {
		hash, attested := t.attested[day.Format(time.DateOnly)]
		if !attested {
			return nil, nil
		}
		samples = append(samples, hash)
	}
	for _, d := range t.deleted {
		if d.before > first.Format(time.DateOnly) {
			deleted = append(deleted, d.hash)
		}
	}
	return samples, deleted
}
