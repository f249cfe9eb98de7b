// Package webhook tells another program of each change of an alarm, in the order
// of the record book. It remembers how far it came, so that an outage of hours
// loses nothing, and signs each body so that the receiver can check who sent it.
package webhook

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"syscall"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/history"
	"wetside/daemon/history/book"
	"wetside/daemon/outgoing"
	"wetside/sensors"
)

// SignatureHeader carries "sha256=" and the HMAC-SHA256 of the body, in
// hexadecimal, keyed with the shared secret (RFC 2104).
const SignatureHeader = "X-Wetside-Signature"

const (
	look        = 2 * time.Second // how often the book is asked
	shortest    = time.Second     // wait after a first failure
	longest     = 5 * time.Minute
	answerTime  = 10 * time.Second
	atOnce      = 50   // records fetched in one go
	mostCounted = 1000 // of those that wait
)

// Book is where the records come from.
type Book interface {
	Records(ctx context.Context, q history.Query) ([]history.Record, error)
}

// Options say whom to tell, and by what means.
type Options struct {
	URL    string
	Secret []byte
	// Kinds of record that are told.
	Kinds []string
	// Cursor is the file that keeps the number of the last record delivered.
	Cursor string
	// Refuse says why an address ("192.0.2.1:443") must not be spoken to, whatever name
	// led to it; nil refuses none.
	Refuse func(address string) error
	Book   Book
	Clock  sensors.Clock
	Log    *zap.Logger
}

// Sender delivers records. One goroutine, in Run, owns it, but for its standing.
type Sender struct {
	options Options
	client  *http.Client
	after   uint64
	wait    sensors.Backoff

	standing outgoing.Standing[Standing]
}

// Standing is how many records wait, and why; the problem is nil while they are taken.
type Standing struct {
	Waiting int
	Problem error
}

// Standing tells how the delivery does.
func (s *Sender) Standing() Standing { return s.standing.Get() }

// note counts what still waits; after a delivery that went well nothing does.
func (s *Sender) note(ctx context.Context, problem error) {
	var waiting []history.Record
	if problem != nil {
		var err error
		waiting, err = s.options.Book.Records(ctx, history.Query{Kinds: s.options.Kinds, AfterNumber: s.after, Limit: mostCounted})
		if err != nil {
			return
		}
	}
	s.standing.Change(func(now *Standing) { *now = Standing{len(waiting), problem} })
}

// Message is the body of a request.
type Message struct {
	Number  uint64          `json:"number"`
	Kind    string          `json:"kind"`
	At      time.Time       `json:"at"`
	Room    string          `json:"room"`
	Person  string          `json:"person,omitempty"`
	Content json.RawMessage `json:"content"`
	// Checkpoint is the number and hash of the record, for whoever keeps messages as a witness.
	Checkpoint string `json:"checkpoint"`
}

// New prepares a sender. Without a cursor it begins after the newest record: what
// happened before anybody listened is no news.
func New(ctx context.Context, o Options) (*Sender, error) {
	s := &Sender{options: o, client: outgoing.Client(answerTime, o.transport()), wait: sensors.Backoff{First: shortest, Longest: longest}}
	place, found, err := outgoing.Bookmark(o.Cursor).Read()
	if err == nil && !found {
		return s, s.beginAtNewest(ctx)
	}
	s.after = uint64(place)
	return s, err
}

// transport looks at each address once its name is resolved, before it is connected to.
func (o Options) transport() http.RoundTripper {
	t := outgoing.Way()
	d := &net.Dialer{Timeout: answerTime}
	if o.Refuse != nil {
		d.Control = func(_, address string, _ syscall.RawConn) error { return o.Refuse(address) }
	}
	t.DialContext = d.DialContext
	return t
}

func (s *Sender) beginAtNewest(ctx context.Context) error {
	records, err := s.options.Book.Records(ctx, history.Query{Kinds: s.options.Kinds})
	if err != nil {
		return err
	}
	if len(records) > 0 {
		s.after = records[len(records)-1].Number
	}
	return s.keep()
}

// Run delivers until ctx ends.
func (s *Sender) Run(ctx context.Context) {
	defer s.client.CloseIdleConnections()
	for wait := look; ctx.Err() == nil; sensors.Pause(ctx, s.options.Clock, wait) {
		wait = look
		err := s.deliver(ctx)
		if err != nil {
			if !s.wait.Failing() && ctx.Err() == nil {
				s.options.Log.Warn("the webhook does not take messages; they wait", zap.Error(err))
			}
			wait = s.wait.Next()
		} else if s.wait.Failing() {
			s.options.Log.Info("the webhook takes messages again")
			s.wait.Reset()
		}
		s.note(ctx, err)
	}
}

// deliver sends every record that waits, in order, up to the first that fails.
func (s *Sender) deliver(ctx context.Context) error {
	for {
		records, err := s.options.Book.Records(ctx, history.Query{Kinds: s.options.Kinds, AfterNumber: s.after, Limit: atOnce})
		if err != nil {
			return err
		}
		for _, r := range records {
			if err := s.send(ctx, r); err != nil {
				return err
			}
			s.after = r.Number
			if err := s.keep(); err != nil {
				return err
			}
		}
		if len(records) < atOnce {
			return nil
		}
	}
}

// send posts one record. An answer that says the request itself is wrong will not
// get better by asking again: it is told in the log, and the next record follows.
func (s *Sender) send(ctx context.Context, r history.Record) error {
	body, err := json.Marshal(Message{Number: r.Number, Kind: r.Kind, At: r.At, Room: r.Room, Person: r.Person, Content: r.Content,
		Checkpoint: book.Checkpoint{Number: r.Number, Hash: r.Hash}.String()})
	if err != nil {
		return fmt.Errorf("record %d can't be written as a message: %w", r.Number, err)
	}
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, s.options.URL, bytes.NewReader(body))
	if err != nil {
		return fmt.Errorf("the webhook's address: %w", err)
	}
	request.Header.Set("Content-Type", "application/json")
	request.Header.Set(SignatureHeader, Sign(s.options.Secret, body))
	answer, err := s.client.Do(request)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	switch code := answer.StatusCode; {
	case code >= 200 && code < 300:
		return nil
	case code >= 400 && code < 500 && code != http.StatusRequestTimeout && code != http.StatusTooManyRequests:
		s.options.Log.Error("the webhook refused a message", zap.Uint64("record", r.Number), zap.Int("status", code))
		return nil
	default:
		return fmt.Errorf("the webhook answered %s", answer.Status)
	}
}

// Sign gives the signature of a body.
func Sign(secret, body []byte) string {
	mac := hmac.New(sha256.New, secret)
	mac.Write(body)
	return "sha256=" + hex.EncodeToString(mac.Sum(nil))
}

// keep writes down how far the sender came.
func (s *Sender) keep() error { return outgoing.Bookmark(s.options.Cursor).Write(int64(s.after)) }
