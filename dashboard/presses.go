package dashboard

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"net/http"
	"sync"
	"time"

	"wetside/rules/access"
	"wetside/sensors"
)

// presses remembers which forms were already acted on, so that a button pressed
// twice acts once. It holds the newest mostPresses and forgets older ones.
type presses struct {
	clock sensors.Clock

	mu    sync.Mutex
	known map[string]*press
	order []string
}

const (
	// mostPresses is how many forms are remembered.
	mostPresses = 1000
	// secretFor is how long a receipt with a secret waits for the browser that fetches it.
	secretFor = 2 * time.Minute
)

// submission is a form as it was sent: by whom, to which page, and a digest of its
// content. Another content under the same token is another submission.
type submission struct {
	token, sender, path string
	content             [sha256.Size]byte
}

// press is one form that was sent. The outcome may be read once done is closed.
type press struct {
	submission
	done chan struct{}
	outcome
	ended time.Duration // monotonic
}

// outcome is what became of a form; it has no address when the act failed.
type outcome struct {
	receipt string
	// address shows the receipt, page is its path alone.
	address, page string
	// secret is set for a receipt that is shown once and then forgotten.
	secret bool
}

func newPresses(clock sensors.Clock) *presses {
	return &presses{clock: clock, known: map[string]*press{}}
}

// newToken names one drawing of a form.
func newToken() string { return rand.Text() }

// validToken says whether a token may be one of ours, whichever daemon drew it.
func validToken(token string) bool {
	if len(token) < 20 || len(token) > 64 {
		return false
	}
	for _, c := range token {
		if (c < 'A' || c > 'Z') && (c < '2' || c > '7') {
			return false
		}
	}
	return true
}

// senderOf stands for the session or the token of whoever was let in; it is empty
// where nobody signs in, and for whoever has not.
func senderOf(r *http.Request) string {
	if _, known := access.From(r.Context()); !known {
		return ""
	}
	k := keyOf(r)
	sum := sha256.Sum256([]byte(k.Token + "\n" + k.Session))
	return string(sum[:])
}

// submissionOf is the form that a request brings.
func submissionOf(r *http.Request) submission {
	return submission{r.PostForm.Get("token"), senderOf(r), r.URL.Path, sha256.Sum256([]byte(r.PostForm.Encode()))}
}

// begin gives the press of a form; first is set for whoever must act and then
// call finish. Everyone else waits for that one's receipt.
func (p *presses) begin(sub submission) (it *press, first bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if it, known := p.known[sub.token]; known {
		return it, false
	}
	it = &press{submission: sub, done: make(chan struct{})}
	p.known[sub.token] = it
	p.order = append(p.order, sub.token)
	if len(p.order) > mostPresses {
		delete(p.known, p.order[0])
		p.order = p.order[1:]
	}
	return it, true
}

// finish ends a press. Without an address the act failed and the form may be sent again.
func (p *presses) finish(it *press, o outcome) {
	p.mu.Lock()
	defer p.mu.Unlock()
	it.outcome, it.ended = o, p.clock.Now().Mono
	close(it.done)
	if o.address == "" && p.known[it.token] == it {
		delete(p.known, it.token)
	}
}

// receipt is what was recorded for a form, for the sender of the form and on the page
// that shows it; empty for anybody else, and when nothing was recorded (yet).
func (p *presses) receipt(token, sender, page string) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.forgetSecrets()
	it, known := p.known[token]
	if !known || it.sender != sender || it.page != page {
		return ""
	}
	receipt := it.receipt
	if it.secret {
		it.receipt = ""
	}
	return receipt
}

// forgetSecrets forgets receipts with a secret that nobody fetched in time.
func (p *presses) forgetSecrets() {
	now := p.clock.Now().Mono
	for _, it := range p.known {
		if it.secret && now-it.ended > secretFor {
			it.receipt = ""
		}
	}
}

// through says whether the form of a token was carried out.
func (p *presses) through(token string) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	it, known := p.known[token]
	return known && it.address != ""
}

// wait says whether a press that somebody else carries out went through.
func (it *press) wait(ctx context.Context) bool {
	select {
	case <-it.done:
		return it.address != ""
	case <-ctx.Done():
		return false
	}
}
