package dashboard

import (
	"context"
	"crypto/rand"
	"sync"
)

// presses remembers which forms were already acted on, so that a button pressed
// twice acts once. It holds the newest mostPresses and forgets older ones.
type presses struct {
	mu    sync.Mutex
	known map[string]*press
	order []string
	// attempts are forms that came back, to be shown with what was typed.
	attempts map[string]attempt
	tried    []string
}

// How many presses and how many forms that came back are remembered.
const (
	mostPresses  = 1000
	mostAttempts = 200
)

// press is one form that was sent. Receipt may be read once done is closed; it
// is empty when the act failed.
type press struct {
	done    chan struct{}
	receipt string
}

func newPresses() *presses {
	return &presses{known: map[string]*press{}, attempts: map[string]attempt{}}
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

// begin gives the press of a token; first is set for whoever must act and then
// call finish. Everyone else waits for that one's receipt.
func (p *presses) begin(token string) (it *press, first bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if it, known := p.known[token]; known {
		return it, false
	}
	it = &press{done: make(chan struct{})}
	p.known[token] = it
	p.order = append(p.order, token)
	if len(p.order) > mostPresses {
		delete(p.known, p.order[0])
		p.order = p.order[1:]
	}
	return it, true
}

// finish ends a press. Without a receipt the act failed and the form may be sent again.
func (p *presses) finish(token string, it *press, receipt string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	it.receipt = receipt
	close(it.done)
	if receipt == "" && p.known[token] == it {
		delete(p.known, token)
	}
}

// receipt is what was recorded for a token; empty when nothing was (yet).
func (p *presses) receipt(token string) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	if it, known := p.known[token]; known {
		return it.receipt
	}
	return ""
}

// keep remembers a form that could not be carried out.
func (p *presses) keep(a attempt) {
	p.mu.Lock()
	defer p.mu.Unlock()
	token := a.typed.Token
	if _, known := p.attempts[token]; !known {
		p.tried = append(p.tried, token)
	}
	p.attempts[token] = a
	if len(p.tried) > mostAttempts {
		delete(p.attempts, p.tried[0])
		p.tried = p.tried[1:]
	}
}

// attempt gives back a form that could not be carried out; an empty one when
// there is none, or when it has gone through since.
func (p *presses) attempt(token string) attempt {
	p.mu.Lock()
	defer p.mu.Unlock()
	if it, known := p.known[token]; known && it.receipt != "" {
		return attempt{}
	}
	return p.attempts[token]
}

// wait gives the receipt of a press that somebody else carries out.
func (it *press) wait(ctx context.Context) string {
	select {
	case <-it.done:
		return it.receipt
	case <-ctx.Done():
		return ""
	}
}
