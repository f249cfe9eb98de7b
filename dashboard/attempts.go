package dashboard

import (
	"net/http"
	"sync"
)

// attempt is a form that was sent and could not be carried out.
type attempt struct {
	typed   typed
	problem *problem
}

// attempts are forms that came back, to be shown with what was typed. They hold the
// newest few and forget older ones.
type attempts struct {
	most int

	mu    sync.Mutex
	kept  map[string]attemptBy
	order []string
}

// attemptBy is an attempt with the sender who sees it again, and on which page.
type attemptBy struct {
	attempt
	sender, page string
}

// mostAttempts are remembered, and mostEarly of people who have not signed in yet: a
// stranger must not push out what others typed.
const (
	mostAttempts = 200
	mostEarly    = 50
)

func newAttempts(most int) *attempts { return &attempts{most: most, kept: map[string]attemptBy{}} }

// keep remembers a form that could not be carried out.
func (a *attempts) keep(it attemptBy) {
	a.mu.Lock()
	defer a.mu.Unlock()
	token := it.typed.Token
	if _, known := a.kept[token]; !known {
		a.order = append(a.order, token)
	}
	a.kept[token] = it
	if len(a.order) > a.most {
		delete(a.kept, a.order[0])
		a.order = a.order[1:]
	}
}

func (a *attempts) of(token, sender, page string) (attempt, bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	it, known := a.kept[token]
	if !known || it.sender != sender || it.page != page {
		return attempt{}, false
	}
	return it.attempt, true
}

// attempt gives back a form that could not be carried out, to the person who sent the form;
// an empty one when there is none, or when it has gone through since.
func (s *kit) attempt(r *http.Request) attempt {
	token := r.URL.Query().Get("again")
	if token == "" || s.presses.through(token) {
		return attempt{}
	}
	if a, known := s.attempts.of(token, senderOf(r), r.URL.Path); known {
		return a
	}
	a, _ := s.early.of(token, "", r.URL.Path)
	return a
}

// receipt is what was recorded for the form that an address names, for the person who
// sent the form.
func (s *kit) receipt(r *http.Request) string {
	token := r.URL.Query().Get("done")
	if token == "" {
		return ""
	}
	return s.presses.receipt(token, senderOf(r), r.URL.Path)
}
