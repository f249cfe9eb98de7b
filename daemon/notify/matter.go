package notify

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// Kind is what a matter is about.
type Kind string

// The kinds of matter.
const (
	Alarms  Kind = "alarms"
	Duties  Kind = "duties"
	Backups Kind = "backups"
)

// Kinds lists what a message can be about.
func Kinds() []Kind { return []Kind{Alarms, Duties, Backups} }

// Matter is something that needs somebody who is not there.
type Matter struct {
	Kind Kind
	// Key names the matter for good: the same matter has the same key as long as it lasts,
	// and no other ever has it.
	Key   string
	Since time.Time
	// Text says in a sentence what is wrong, Do what to do.
	Text, Do string
}

// Person is whom to tell, of what and when.
type Person struct {
	Name string
	// Mail is an e-mail address, Push where a message is posted to; one of the two is set.
	Mail string
	Push Push
	// About are the kinds of matter.
	About []Kind
	// Hours are when messages may come.
	Hours Hours
	// After is how long an alarm must have been unanswered.
	After time.Duration
	// Digest is the time of the day for a message on everything, nil for none.
	Digest *time.Duration
}

// Push is where a message is posted to. The token is sent as a bearer token unless it is empty.
type Push struct{ URL, Token string }

// Hours are times of the day since midnight, the last one left out; equal ones are the whole
// day, and a first after the last goes over midnight.
type Hours struct{ From, To time.Duration }

// Has says whether a moment, in the zone of the place, lies within.
func (h Hours) Has(t time.Time) bool {
	at := sinceMidnight(t)
	switch {
	case h.From == h.To:
		return true
	case h.From < h.To:
		return h.From <= at && at < h.To
	}
	return at >= h.From || at < h.To
}

// sinceMidnight is the time of the day by the clock on the wall.
func sinceMidnight(t time.Time) time.Duration {
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute + time.Duration(t.Second())*time.Second
}

func (p Person) wants(list []Matter) []Matter {
	return slices.DeleteFunc(slices.Clone(list), func(m Matter) bool { return !slices.Contains(p.About, m.Kind) })
}

// news are the matters that a person is to be told of now and was not told of before.
func (p Person) news(list []Matter, told map[string]time.Time, now time.Time) []Matter {
	if !p.Hours.Has(now) {
		return nil
	}
	return slices.DeleteFunc(p.wants(list), func(m Matter) bool {
		_, before := told[m.Key]
		return before || m.Kind == Alarms && now.Sub(m.Since) < p.After
	})
}

// digestKey names the digest that is due at a moment; empty for none.
func (p Person) digestKey(now time.Time) string {
	if p.Digest == nil || sinceMidnight(now) < *p.Digest {
		return ""
	}
	return "digest " + now.Format(time.DateOnly)
}

// Facts are what each message says of the place.
type Facts struct {
	// Checkpoint is the newest record of the book: a message that is kept is a witness.
	Checkpoint string
	// Address is where the pages are; empty where nobody said it.
	Address   string
	Simulated bool
	Zone      *time.Location
}

// write gives a message about matters its subject and text.
func (f Facts) write(list []Matter, now time.Time) (subject, text string) {
	subject = fmt.Sprintf("Darkroom: %d things need somebody", len(list))
	var b strings.Builder
	switch len(list) {
	case 0:
		subject = "Darkroom: nothing needs anybody"
		b.WriteString("No alarm is unanswered, no duty is overdue and no backup is late, as far as you asked to be told.\n")
	case 1:
		subject = "Darkroom: " + list[0].Text
	}
	for _, m := range list {
		fmt.Fprintf(&b, "Since %s: %s\n", m.Since.In(f.Zone).Format("Mon 2 Jan 2006 15:04"), m.Text)
		if m.Do != "" {
			fmt.Fprintf(&b, "  What to do: %s\n", m.Do)
		}
		b.WriteString("\n")
	}
	if f.Simulated {
		subject = "SIMULATED. " + subject
		b.WriteString("Simulated: everything in this message is invented.\n")
	}
	if f.Address != "" {
		fmt.Fprintf(&b, "Pages: %s\n", f.Address)
	}
	fmt.Fprintf(&b, "\nWritten %s.\nCheckpoint of the record book: %s\n", now.In(f.Zone).Format("Mon 2 Jan 2006 15:04 MST"), f.Checkpoint)
	b.WriteString("Keep this message. Later, \"wetside verify --checkpoint\" with this number and hash " +
		"shows whether any record up to it was changed or removed.\n")
	return subject, b.String()
}
