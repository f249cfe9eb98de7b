package remotewrite

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/prometheus/client_golang/exp/api/remote"
	"go.uber.org/zap"
)

// send sends a request. What the receiver will never take is counted and let go.
func (s *Sender) send(ctx context.Context, b batch) error {
	s.sending = b.to
	err := s.deliver(ctx, b.rows)
	if err != nil && s.answer.status == http.StatusRequestEntityTooLarge && s.shorten() {
		err = fmt.Errorf("a request was too large and will be sent in smaller ones: %w", err)
	}
	return err
}

// ask makes one request. The library tries it a second time by itself, so the answer that it
// gives is of the second when the first was lost: the receiver may have taken the first.
func (s *Sender) ask(ctx context.Context, kind remote.WriteMessageType, message any) (int, error) {
	s.answer.lost = false
	stats, err := s.api.Write(ctx, kind, message)
	if s.answer.lost && s.sending.After(s.unsure) {
		s.unsure = s.sending
	}
	return stats.Samples, err
}

// deliver sends rows in one request. A receiver of version 1.0 takes a request as a whole or
// refuses it without saying which value was wrong: then each series goes by itself.
func (s *Sender) deliver(ctx context.Context, rows []row) error {
	written, err := s.write(ctx, rows)
	switch {
	case err != nil && !s.answer.refused():
		return err
	case err == nil || s.version == second20:
		s.refuse(count(rows)-s.took(written, rows), rows, err)
		return nil
	case len(rows) > 1:
		for _, r := range rows {
			if err := s.deliver(ctx, []row{r}); err != nil {
				return err
			}
		}
		return nil
	}
	return s.deliverSingly(ctx, rows[0])
}

// took counts what was written and gives it back.
func (s *Sender) took(written int, rows []row) int {
	written = min(written, count(rows))
	s.standing.Change(func(x *Standing) { x.Written += uint64(written) })
	return written
}

// deliverSingly sends the values of one series one at a time, oldest first, and the rest
// together as soon as a single one is taken, or after 1, 2, 4, 8 and so on that are not.
func (s *Sender) deliverSingly(ctx context.Context, r row) error {
	refused, together := 0, 1
	for len(r.points) > 0 {
		n := 1
		if refused >= together && len(r.points) > 1 {
			n, together = len(r.points), 2*together
		}
		part := []row{{r.labels, r.points[:n]}}
		_, err := s.write(ctx, part)
		switch {
		case err == nil:
			s.took(n, part)
			refused, together = 1, 1 // the rest may go as a whole
		case !s.answer.refused():
			return err
		case n > 1:
			continue
		default:
			s.refuse(n, part, err)
			refused++
		}
		r.points = r.points[n:]
	}
	return nil
}

// write makes one request of the version that the receiver takes. Until it has once said how
// much of version 2.0 it wrote, an answer that does not say so means that it knows 1.0 alone:
// such receivers read nothing in a request of 2.0 and answer that all is well.
func (s *Sender) write(ctx context.Context, rows []row) (written int, err error) {
	if s.version == second20 {
		written, err = s.ask(ctx, remote.WriteV2MessageType, second(rows))
		s.confirmed = s.confirmed || s.answer.counted
		if s.confirmed || !s.answer.notTaken() {
			return written, err
		}
		s.version = first10
		s.options.Log.Info("the receiver of remote write takes no version 2.0: it gets version 1.0 from now on",
			zap.Int("status", s.answer.status))
	}
	if _, err = s.ask(ctx, remote.WriteV1MessageType, newFirst(rows)); err != nil {
		return 0, err
	}
	return count(rows), nil
}

// refuse counts values of some rows that the receiver does not take, by why.
func (s *Sender) refuse(n int, rows []row, err error) {
	if n == 0 {
		return
	}
	text := ""
	if err != nil {
		text = strings.ToLower(err.Error())
	}
	if !strings.Contains(text, "out of order") && !strings.Contains(text, "out-of-order") {
		s.standing.Change(func(x *Standing) { x.Rejected += uint64(n) })
	} else {
		present := min(n, s.mayBeThere(rows))
		s.standing.Change(func(x *Standing) { x.Present += uint64(present); x.OutOfOrder += uint64(n - present) })
		if present == n {
			return // as it should be after an answer that was lost
		}
	}
	s.options.Log.Error("the receiver of remote write refused samples", zap.Int("refused", n), zap.Error(err))
}

// mayBeThere counts the values of a time that was sent before, without an answer.
func (s *Sender) mayBeThere(rows []row) (n int) {
	for _, r := range rows {
		for _, p := range r.points {
			if p.at <= s.unsure.UnixMilli() {
				n++
			}
		}
	}
	return n
}

// The versions of the protocol.
type protocol int

const (
	second20 protocol = iota
	first10
)

// answering carries requests and remembers what it matters of the last answer.
type answering struct {
	token  string
	status int
	// counted says that the answer told how many samples were written, as 2.0 wants it.
	counted bool
	// lost says that a request may have been taken although its answer does not say so.
	lost bool
}

// writtenHeader is given by the specification of version 2.0.
const writtenHeader = "X-Prometheus-Remote-Write-Samples-Written"

func (a *answering) RoundTrip(r *http.Request) (*http.Response, error) {
	a.status, a.counted = 0, false
	if a.token != "" {
		r = r.Clone(r.Context())
		r.Header.Set("Authorization", "Bearer "+a.token)
	}
	answer, err := http.DefaultTransport.RoundTrip(r)
	a.lost = a.lost || err != nil || answer.StatusCode >= http.StatusInternalServerError
	if err == nil {
		a.status, a.counted = answer.StatusCode, answer.Header.Get(writtenHeader) != ""
	}
	return answer, err
}

// refused says that the samples themselves are not wanted, which asking again would not
// change. Every other failure is one of the way there, and the samples wait.
func (a *answering) refused() bool {
	return a.status == http.StatusBadRequest || a.status == http.StatusUnprocessableEntity
}

// notTaken says that the answer is that of a receiver which does not know this version.
func (a *answering) notTaken() bool {
	return !a.counted && (a.status/100 == 2 || a.refused() || a.status == http.StatusUnsupportedMediaType)
}

// Standing is how the sending does.
type Standing struct {
	// Written counts samples since the start, Failed attempts that did not get through.
	Written, Failed uint64
	// Present counts samples that the receiver had already, from a request whose answer was
	// lost; OutOfOrder those that came after newer ones of the same series, which is so when
	// another sender uses the same labels; Rejected those refused for any other reason.
	Present, OutOfOrder, Rejected uint64
	// Behind is how old the oldest reading is that may still wait.
	Behind time.Duration
	// Problem is why nothing gets through; empty while all is well.
	Problem string
}

// Standing tells how the sending does.
func (s *Sender) Standing() Standing { return s.standing.Get() }

func (s *Sender) note(err error, behind time.Duration) {
	s.standing.Change(func(x *Standing) {
		x.Behind, x.Problem = max(behind, 0), ""
		if err != nil {
			x.Problem = err.Error()
			x.Failed++
		}
	})
}
