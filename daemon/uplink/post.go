package uplink

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"wetside/daemon/centre/wire"
)

// Refused is why the centre does not take what this site sends. Sending again does not change it.
type Refused struct{ Why string }

func (r *Refused) Error() string { return r.Why }

func (s *Sender) post(ctx context.Context, p wire.Push) (a wire.Answer, err error) {
	var body bytes.Buffer
	packed := gzip.NewWriter(&body)
	text := json.NewEncoder(packed)
	text.SetEscapeHTML(false)
	if err := errors.Join(text.Encode(p), packed.Close()); err != nil {
		return a, fmt.Errorf("the message can't be written: %w", err)
	}
	size := body.Len()
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, s.url+wire.Path, &body)
	if err != nil {
		return a, err
	}
	request.Header.Set("Content-Type", "application/json")
	request.Header.Set("Content-Encoding", "gzip")
	err = s.ask(request, &a)
	if err == nil {
		s.standing.Change(func(now *Standing) { now.Bytes += uint64(size) })
	}
	return a, err
}

// Witness asks the centre for a record that it took from this site, by its number; 0 is the
// newest. found is false where the centre has none.
func (s *Sender) Witness(ctx context.Context, number uint64) (w wire.Witness, found bool, err error) {
	query := url.Values{"number": {strconv.FormatUint(number, 10)}}
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, s.url+wire.WitnessPath+"?"+query.Encode(), nil)
	if err != nil {
		return w, false, err
	}
	err = s.ask(request, &w)
	if errors.Is(err, errNone) {
		return w, false, nil
	}
	return w, err == nil, err
}

// errNone is an answer that there is nothing.
var errNone = errors.New("the centre has no such record")

const mostAnswer = 4 << 20

func (s *Sender) ask(request *http.Request, into any) error {
	request.Header.Set("Authorization", "Bearer "+s.options.Key)
	answer, err := s.client.Do(request)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(io.LimitReader(answer.Body, mostAnswer))
	if err != nil {
		return fmt.Errorf("reading the answer of the centre: %w", err)
	}
	if answer.StatusCode == http.StatusOK {
		if err := json.Unmarshal(body, into); err != nil {
			return fmt.Errorf("the answer of %s is not one of a centre: %w", s.options.URL, err)
		}
		return nil
	}
	var why wire.Refusal
	_ = json.Unmarshal(body, &why) // an answer of some other program has no reason that we know
	switch answer.StatusCode {
	case http.StatusConflict, http.StatusUnauthorized:
		if why.Why != "" {
			return &Refused{why.Why}
		}
	case http.StatusNotFound:
		if why.Why != "" {
			return errNone
		}
	}
	return fmt.Errorf("the centre at %s answered %s: %s", s.options.URL, answer.Status, why.Why)
}

// Standing is how the sending does.
type Standing struct {
	// Last is the newest record that the centre has.
	Last wire.Place
	// At is when the centre last answered; zero when it has not yet.
	At time.Time
	// Complete says that the centre has everything that was there then.
	Complete bool
	// Problem is why nothing gets through; empty while all is well.
	Problem string
	// Messages, Bytes and Failed count since the start.
	Messages, Bytes, Failed uint64
}

// Standing tells how the sending does.
func (s *Sender) Standing() Standing { return s.standing.Get() }

// note keeps a problem and gives the one before.
func (s *Sender) note(err error) (before string) {
	s.standing.Change(func(now *Standing) {
		before, now.Problem = now.Problem, ""
		if err != nil {
			now.Problem = err.Error()
			now.Failed++
		}
	})
	return before
}

func (s *Sender) count(m message, a wire.Answer) {
	s.standing.Change(func(now *Standing) {
		now.Messages++
		now.Last, now.At = a.Last, s.spoke.Wall
		now.Complete = m.push.Complete && len(a.Wanted) == 0
	})
}
