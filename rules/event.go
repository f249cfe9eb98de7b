package rules

import (
	"encoding/json"
	"strings"
	"time"
	"unicode/utf8"

	"wetside/rules/alarm"
	"wetside/sensors/quantity/phrase"
)

// ReadEvent reads an event back from the content of a record.
func ReadEvent(content []byte) (e Event, err error) {
	if e, ok := readAlarm(content); ok {
		return e, nil
	}
	err = json.Unmarshal(content, &e)
	return e, err
}

// readAlarm reads the change of an alarm as it is mostly written, without an escaped sign: a book
// of years has tens of thousands, each of which a report reads. It walks over the text once; ok is
// false for every other text, good or bad.
func readAlarm(content []byte) (e Event, ok bool) {
	c := eventText{string(content), utf8.Valid(content)}
	e.Subject, e.From, e.To, e.Cause = c.text(`{"subject":`), c.text(`,"from":`), c.text(`,"to":`), c.text(`,"cause":`)
	a := alarm.Alarm{ID: c.text(`,"alarm":{"id":`), State: alarm.State(c.text(`,"state":`)), Text: c.sentence(`,"text":`),
		Act: c.sentence(`,"act":`), Cause: c.sentence(`,"cause":`)}
	if a.Urgent = c.has(`,"urgent":true`); !a.Urgent {
		c.must(`,"urgent":false`)
	}
	a.Since, a.Raised = c.moment(`,"since":`), c.someMoment(`,"raised":`)
	a.By, a.Note, a.Screen = c.some(`,"by":`), c.some(`,"note":`), c.some(`,"screen":`)
	a.Until = c.someMoment(`,"until":`)
	if c.must(`}}`); !c.ok || c.rest != "" {
		return Event{}, false
	}
	e.Alarm = &a
	return e, true
}

// eventText walks over the text of an event; once something is not as expected it stays not ok.
type eventText struct {
	rest string
	ok   bool
}

// has passes over what may come next.
func (c *eventText) has(literal string) (found bool) {
	c.rest, found = strings.CutPrefix(c.rest, literal)
	return found
}

// must passes over what must come next.
func (c *eventText) must(literal string) { c.ok = c.has(literal) && c.ok }

// text is a string without any sign that JSON writes in another way, after its key.
func (c *eventText) text(key string) string {
	c.must(key)
	c.must(`"`)
	for i := 0; c.ok && i < len(c.rest); i++ {
		switch b := c.rest[i]; {
		case b == '"':
			text := c.rest[:i]
			c.rest = c.rest[i+1:]
			return text
		case b < ' ' || b == '\\':
			c.ok = false
		}
	}
	c.ok = false
	return ""
}

func (c *eventText) sentence(key string) phrase.Sentence { return phrase.Plain(c.text(key)) }

func (c *eventText) moment(key string) (t time.Time) {
	if text := c.text(key); c.ok {
		c.ok = t.UnmarshalText([]byte(text)) == nil
	}
	return t
}

// some is a text that is left out where it is empty.
func (c *eventText) some(key string) string {
	if !strings.HasPrefix(c.rest, key) {
		return ""
	}
	return c.text(key)
}

// someMoment is a moment that is left out where there is none.
func (c *eventText) someMoment(key string) time.Time {
	if !strings.HasPrefix(c.rest, key) {
		return time.Time{}
	}
	return c.moment(key)
}
