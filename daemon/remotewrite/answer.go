package remotewrite

import (
	"net/http"
	"time"
)

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

// RoundTrip carries one request.
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
