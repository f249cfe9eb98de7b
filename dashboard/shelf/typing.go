package shelf

import (
	"errors"
	"fmt"
	"net/http"
	"strings"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
)

// typing tells whether what stands in a form so far can be entered, for a page that
// asks while somebody types. What is still empty is no mistake yet; nothing is recorded.
func (s *Pages) typing(w http.ResponseWriter, r *http.Request) {
	k, known := kindOf(r.PathValue("kind"))
	if !known {
		web.SendText(w, http.StatusBadRequest, web.Incomplete)
		return
	}
	answer := s.reads().reader(r.PostForm).sofar(k)
	if answer == "" {
		w.WriteHeader(http.StatusNoContent)
		return
	}
	web.SendText(w, http.StatusOK, answer)
}

// sofar reads the fields that are filled in, and the whole act once none that is needed is empty.
func (r *entryReader) sofar(k kind) string {
	act, whole := map[string]any{}, strings.TrimSpace(r.values.Get("who")) != ""
	for _, f := range k.fields {
		if strings.TrimSpace(r.values.Get(f.name)) == "" {
			whole = whole && !f.needed
			continue
		}
		act[f.name] = r.value(f)
	}
	e := cards.ShelfEntry{Happened: r.moment("happened")}
	if r.form.Problem == nil && whole {
		r.complete(k.act.Kind(), act)
		e.Act = r.act(k.act.Kind(), act)
	}
	switch {
	case r.form.Problem != nil:
		return r.form.Problem.Sentence
	case !whole:
		return ""
	}
	if r.values.Get("corrects") == "" {
		if problem := r.impossible(e); problem != "" {
			return problem
		}
	}
	return fmt.Sprintf("Fine so far: %s.", r.Text(e.Act.Sentence()))
}

// impossible is what the ledger says against an entry. A tray that the book does not
// know yet is named when the entry is made, and is no mistake.
func (r *entryReader) impossible(e cards.ShelfEntry) string {
	entry := ledger.Entry{At: r.book.At, Entered: r.book.At, By: strings.TrimSpace(r.values.Get("who")), Session: r.values.Get("in_session"),
		Act: e.Act}
	if !e.Happened.IsZero() {
		entry.At = e.Happened
	}
	if err := r.book.Check(entry); err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return r.ErrorText(err)
	}
	return ""
}
