// Package notify tells people who are not in the room what needs them: alarms that nobody
// answers, duties that are overdue, backups that are late; by e-mail or by a plain HTTP POST,
// to each person at their hours, each matter once, and in a daily digest. What can't be
// delivered waits in a file and is tried again; nothing else ever waits for a server. Each
// message carries the checkpoint of the record book, so that whoever keeps it is a witness.
package notify

import (
	"context"
	"errors"
	"net/http"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/outgoing"
	"wetside/sensors"
)

const (
	look     = 30 * time.Second // how often matters are looked at
	pause    = 10 * time.Minute // between two messages to one person: an alarm that comes and goes is no flood
	shortest = time.Minute      // wait after a first failure
	longest  = 30 * time.Minute
)

// Options say whom to tell, of what, and by what means.
type Options struct {
	People []Person
	Server Server
	// File keeps what people were told and what waits for them.
	File string
	// Matters are what needs somebody now.
	Matters func(context.Context) ([]Matter, error)
	Facts   func() Facts
	Clock   sensors.Clock
	Log     *zap.Logger
}

// Teller tells people. One goroutine, in Run, owns it, but for its standing.
type Teller struct {
	options Options
	client  *http.Client
	outbox  *outbox
	last    map[string]time.Time // when a person's last message was written
	waits   map[string]*rest

	standing outgoing.Standing[Standing]
}

// rest is how long the way to a person is left alone.
type rest struct {
	until time.Time
	sensors.Backoff
}

// Standing is how many messages wait, when the last was delivered since the start, and what
// was wrong with the newest attempt that failed; nil once a later one to the same person is delivered.
type Standing struct {
	Waiting   int
	Delivered time.Time
	Problem   error
	whose     string
}

// New prepares a teller.
func New(o Options) (*Teller, error) {
	t := &Teller{options: o, last: map[string]time.Time{}, waits: map[string]*rest{}, client: outgoing.Client(answerTime, nil)}
	var err error
	if t.outbox, err = openOutbox(o.File); err != nil {
		return nil, err
	}
	for _, p := range o.People {
		t.waits[p.Name] = &rest{Backoff: sensors.Backoff{First: shortest, Longest: longest}}
	}
	t.count()
	return t, nil
}

// Standing tells how the telling does.
func (t *Teller) Standing() Standing { return t.standing.Get() }

func (t *Teller) count() { t.standing.Change(func(s *Standing) { s.Waiting = len(t.outbox.Waiting) }) }

// Run tells people until ctx ends.
func (t *Teller) Run(ctx context.Context) {
	defer t.client.CloseIdleConnections()
	for ctx.Err() == nil {
		t.turn(ctx)
		sensors.Pause(ctx, t.options.Clock, look)
	}
}

// turn writes what is new, keeps it, and delivers what waits.
func (t *Teller) turn(ctx context.Context) {
	facts := t.options.Facts()
	now := t.options.Clock.Now().Wall.In(facts.Zone)
	list, err := t.options.Matters(ctx)
	if err != nil {
		if ctx.Err() == nil {
			t.options.Log.Warn("the messages that are due can't be worked out", zap.Error(err))
		}
	} else if t.write(list, facts, now) {
		if err := t.outbox.keep(); err != nil {
			t.options.Log.Error("a message may be sent twice", zap.Error(err))
		}
	}
	for _, p := range t.options.People {
		t.deliver(ctx, p, now)
	}
	t.count()
}

// write puts messages about what is new into the outbox, and says whether there are any.
func (t *Teller) write(list []Matter, facts Facts, now time.Time) (any bool) {
	t.outbox.forget(list, t.options.People, "digest "+now.Format(time.DateOnly))
	for _, p := range t.options.People {
		told := t.outbox.of(p.Name)
		if key := p.digestKey(now); key != "" && told[key].IsZero() {
			t.put(p, p.wants(list), facts, now)
			told[key], any = now, true
			continue
		}
		if news := p.news(list, told, now); len(news) > 0 && now.Sub(t.last[p.Name]) >= pause {
			t.put(p, news, facts, now)
			any = true
		}
	}
	return any
}

// put writes one message on some matters, which are told with it.
func (t *Teller) put(p Person, list []Matter, facts Facts, now time.Time) {
	m := Message{Person: p.Name, Written: now}
	m.Subject, m.Text = facts.write(list, now)
	t.outbox.add(m)
	t.last[p.Name] = now
	for _, matter := range list {
		t.outbox.of(p.Name)[matter.Key] = now
	}
}

// deliver sends what waits for a person, oldest first, up to the first that fails.
func (t *Teller) deliver(ctx context.Context, p Person, now time.Time) {
	way := t.waits[p.Name]
	for m, waiting := t.outbox.first(p.Name); waiting && !now.Before(way.until); m, waiting = t.outbox.first(p.Name) {
		err := t.send(ctx, p, m)
		if ctx.Err() != nil {
			return
		}
		t.note(p, err, now)
		if no := (refused{}); err != nil && !errors.As(err, &no) {
			way.until = now.Add(way.Next())
			return
		}
		way.Reset()
		t.outbox.gone(p.Name)
		if err := t.outbox.keep(); err != nil {
			t.options.Log.Error("a message may be sent twice", zap.Error(err))
		}
	}
}

func (t *Teller) send(ctx context.Context, p Person, m Message) error {
	if p.Mail != "" {
		return t.options.Server.mail(ctx, p.Mail, m)
	}
	return p.Push.push(ctx, t.client, m)
}

// note remembers how an attempt went, and logs when that changes.
func (t *Teller) note(p Person, err error, now time.Time) {
	before := t.standing.Get()
	if err != nil && (before.Problem == nil || before.whose != p.Name) {
		t.options.Log.Warn("a message to somebody outside could not be delivered", zap.String("person", p.Name), zap.Error(err))
	}
	t.standing.Change(func(s *Standing) {
		switch {
		case err != nil:
			s.Problem, s.whose = err, p.Name
		case s.whose == p.Name:
			s.Delivered, s.Problem = now, nil
		default:
			s.Delivered = now
		}
	})
}
