package web

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"net/http"
	"net/url"
	"sync"
	"time"

	"wetside/rules/access"
	"wetside/sensors"
)

// submissions remembers which forms were already acted on, so that a button pressed
// twice acts once. It holds the newest mostPresses and forgets older ones.
type submissions struct {
	clock sensors.Clock

	mu    sync.Mutex
	known map[string]*received
	order []string
}

const (
	// mostSubmissions is how many forms are remembered.
	mostSubmissions = 1000
	// secretFor is how long a receipt with a secret waits for the browser that fetches it.
	secretFor = 2 * time.Minute
)

// submission is a form as it was sent: by whom, to which page, and a digest of its
// content. Another content under the same token is another submission.
type submission struct {
	token, sender, path string
	content             [sha256.Size]byte
}

// received is one form that was sent. The outcome may be read once done is closed.
type received struct {
	submission
	done chan struct{}
	outcome
	ended time.Duration // monotonic
}

// outcome is what became of a form; it has no address when the act failed.
type outcome struct {
	receipt Receipt
	// address shows the receipt, page is its path alone.
	address, page string
	// secret is set for a receipt that is shown once and then forgotten.
	secret bool
}

// NewToken names one drawing of a form.
func NewToken() string { return rand.Text() }

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
	k := KeyOf(r)
	sum := sha256.Sum256([]byte(k.Token + "\n" + k.Session))
	return string(sum[:])
}

// begin gives the press of a form; first is set for whoever must act and then
// call finish. Everyone else waits for that one's receipt.
func (p *submissions) begin(sub submission) (it *received, first bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if it, known := p.known[sub.token]; known {
		return it, false
	}
	it = &received{submission: sub, done: make(chan struct{})}
	p.known[sub.token] = it
	p.order = append(p.order, sub.token)
	if len(p.order) > mostSubmissions {
		delete(p.known, p.order[0])
		p.order = p.order[1:]
	}
	return it, true
}

// finish ends a press. Without an address the act failed and the form may be sent again.
func (p *submissions) finish(it *received, o outcome) {
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
func (p *submissions) receipt(token, sender, page string) Receipt {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.forgetSecrets()
	it, known := p.known[token]
	if !known || it.sender != sender || it.page != page {
		return Receipt{}
	}
	receipt := it.receipt
	if it.secret {
		it.receipt = Receipt{}
	}
	return receipt
}

// forgetSecrets forgets receipts with a secret that nobody fetched in time.
func (p *submissions) forgetSecrets() {
	now := p.clock.Now().Mono
	for _, it := range p.known {
		if it.secret && now-it.ended > secretFor {
			it.receipt = Receipt{}
		}
	}
}

// through says whether the form of a token was carried out.
func (p *submissions) through(token string) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	it, known := p.known[token]
	return known && it.address != ""
}

// wait says whether a press that somebody else carries out went through.
func (it *received) wait(ctx context.Context) bool {
	select {
	case <-it.done:
		return it.address != ""
	case <-ctx.Done():
		return false
	}
}

// Receipt is what was recorded for a form, and how it is taken back.
type Receipt struct {
	Text string
	// Undo takes the act back in one press; nil where nothing does.
	Undo *Undo
	// Stays says what stays whatever is pressed.
	Stays string
	// More leads to what follows from it; nil where nothing does.
	More *Link
}

// Undo is the form that takes an act back: where it is sent, and all that it says.
type Undo struct {
	Action string
	Says   url.Values
	Token  string
	Look   Look
}

// OnRecord says of an act that there is no way to take it back.
const OnRecord = "This stays in the record. If it was wrong, enter what is right."
