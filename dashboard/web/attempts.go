package web

import (
	"net/http"
	"strings"
	"sync"

	"wetside/sensors/quantity/phrase"
)

// Attempt is a form that was sent and could not be carried out.
type Attempt struct {
	Typed   Typed
	Problem *Problem
}

// Sentence says what is wrong with it; empty where nothing came back.
func (a Attempt) Sentence() string {
	if a.Problem == nil {
		return ""
	}
	return a.Problem.Sentence
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
	Attempt
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
	token := it.Typed.Token
	if _, known := a.kept[token]; !known {
		a.order = append(a.order, token)
	}
	a.kept[token] = it
	if len(a.order) > a.most {
		delete(a.kept, a.order[0])
		a.order = a.order[1:]
	}
}

func (a *attempts) of(token, sender, page string) (Attempt, bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	it, known := a.kept[token]
	if !known || it.sender != sender || it.page != page {
		return Attempt{}, false
	}
	return it.Attempt, true
}

// Attempt gives back a form that could not be carried out, to the person who sent the form;
// an empty one when there is none, or when it has gone through since.
func (s *Kit) Attempt(r *http.Request) Attempt {
	token := r.URL.Query().Get("again")
	if token == "" || s.submissions.through(token) {
		return Attempt{}
	}
	if a, known := s.attempts.of(token, senderOf(r), r.URL.Path); known {
		return a
	}
	a, _ := s.early.of(token, "", r.URL.Path)
	return a
}

// receiptFor is what was recorded for the form that an address names, for the person who
// sent the form.
func (s *Kit) receiptFor(r *http.Request) Receipt {
	token := r.URL.Query().Get("done")
	if token == "" {
		return Receipt{}
	}
	got := s.submissions.receipt(token, senderOf(r), r.URL.Path)
	if got.Undo != nil {
		undo := *got.Undo
		undo.Token, undo.Look = NewToken(), LookOf(r)
		got.Undo = &undo
	}
	return got
}

// Receipted says whether a page is shown as the answer to a form that was recorded.
func (s *Kit) Receipted(r *http.Request) bool { return s.receiptFor(r).Text != "" }

// SentenceCase begins a clause with a capital and ends it with a full stop.
func SentenceCase(clause string) string {
	if clause == "" {
		return ""
	}
	return strings.TrimSuffix(phrase.Capital(clause), ".") + "."
}

// WantsText says whether a script asks, which stays on its page.
func WantsText(r *http.Request) bool { return r.Header.Get("Accept") == "text/plain" }

// SendText answers a script, which stays on its page.
func SendText(w http.ResponseWriter, status int, text string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write([]byte(text)) // the reader went away: nobody to tell
}

// What several pages say when they can't do what was asked.
const (
	// NoSuchPage answers for an address without a page.
	NoSuchPage = "There is no page at this address."
	// NotDrawn answers where a page failed.
	NotDrawn = "This page could not be drawn. The log says why."
	// Incomplete refuses a form of which a part is missing.
	Incomplete = "Part of the form did not arrive. Reload the page and try again."
	// UnknownAct refuses a form whose act the page does not have.
	UnknownAct = "This form asks for something wetside does not know. Reload the page."
	// NoSuchChannel answers for a channel that the room does not have.
	NoSuchChannel = "This room has no such channel."

	otherContents = "This form was already sent once, with other contents. Check what was recorded before you send the form again."
)
