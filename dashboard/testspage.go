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
	Guides []guideCard
}

func (s *shelfPages) testsPage(w http.ResponseWriter, r *http.Request, c shelfContext) {
	p := s.shelfPage(r, "tests")
	body := testsBody{Due: c.dueTests()}
	for _, kind := range ledger.TestKinds() {
		body.Guides = append(body.Guides, c.guideTo(kind))
	}
	p.Title, p.Body = s.words.Say("title.tests"), body
	s.show(w, r, http.StatusOK, p)
}

// guideCard is how to do a test.
type guideCard struct {
	Test, Due               string
	Steps, Cautions         []string
	Rule, Source, OnFailure string
	// What a pass shows, what it does not, and for how much work it counts.
	Shows, ShowsSource, ShowsNot, Reach string
}

func (f figures) guideTo(kind ledger.TestKind) guideCard {
	g, reach := ledger.GuideTo(kind), ledger.ReachOf(kind)
	counts := f.words.Say("test.reach-print")
	if reach.Share > 0 {
		counts = f.words.Say("test.reach-bath", int(100*reach.Share+0.5), int(ledger.TestCounts.Hours()))
	}
	return guideCard{Shows: f.tell(reach.Shows), ShowsSource: f.sourced(f.tell(reach.Source), reach.Standing), ShowsNot: f.tell(reach.Not), Reach: counts,
		Test: f.word(kind), Due: f.tell(g.Due), Steps: f.tellAll(g.Steps), Cautions: f.tellAll(g.Cautions), Rule: f.tell(g.Rule),
		Source: f.sourced(f.tell(g.Source), g.Standing), OnFailure: f.tell(g.OnFail)}
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
		due = append(due, link{Href: "/shelf/enter/test-done?" + q.Encode(), Text: c.words.Say("tests.due-of", c.word(test), id, c.tell(answer.Because.Words))})
	}
	return due
}
