package dashboard

import (
	"net/http"
	"net/url"
	"slices"

	"wetside/chem/ledger"
)

// testsBody is every test, step by step, and those that are due.
type testsBody struct {
	Due    []link
	Guides []ledger.Guide
}

func (s *Server) testsPage(w http.ResponseWriter, r *http.Request, c shelfContext) {
	p := s.shelfPage(r, "tests")
	p.Title, p.Body = s.words.Say("title.tests"), testsBody{c.dueTests(), ledger.Guides()}
	s.show(w, r, http.StatusOK, p)
}

// dueTests are the tests without which the book does not let a bath be poured.
func (c shelfContext) dueTests() []link {
	var due []link
	for _, id := range c.book.Containers() {
		held, ok := c.book.Contents(id, c.book.At)
		answer := c.book.MayPour(id, c.book.At)
		if !ok || answer.Verdict != ledger.TestFirst {
			continue
		}
		at := slices.IndexFunc(ledger.TestKinds(), func(t ledger.TestKind) bool { return t.Suits(held.Class) })
		if at < 0 {
			continue
		}
		test := ledger.TestKinds()[at]
		q := url.Values{"test": {string(test)}, "container": {id}, "next": {"/shelf/tests"}}
		due = append(due, link{Href: "/shelf/enter/test-done?" + q.Encode(), Text: c.words.Say("tests.due-of", string(test), id, answer.Because.Words)})
	}
	return due
}
