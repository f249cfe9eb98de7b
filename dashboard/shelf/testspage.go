package shelf

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"

	"wetside/chem/ledger"
	"wetside/dashboard/web"
	"wetside/sensors/quantity/phrase"
)

type testsBody struct {
	Due    []web.Link
	Guides []guideCard
}

func (s *Pages) testsPage(w http.ResponseWriter, r *http.Request, c shelfContext) {
	p := s.shelfPage(r, web.Head{Name: "tests", Title: "Tests"})
	body := testsBody{Due: stockPart{c}.dueTests()}
	for _, kind := range ledger.TestKinds() {
		g := c.guideTo(kind)
		g.Record = "/shelf/enter/test-done?" + url.Values{"test": {string(kind)}, "next": {"/shelf/tests"}}.Encode()
		body.Guides = append(body.Guides, g)
	}
	s.Show(w, r, http.StatusOK, p.With(body))
}

type guideCard struct {
	Test, Due               string
	Record                  string // the form of its result, where none stands beside
	Steps, Cautions         []string
	Rule, Source, OnFailure string
	// What a pass shows, what it does not, and for how much work it counts.
	Shows, ShowsSource, ShowsNot, Reach string
}

func (f figures) guideTo(kind ledger.TestKind) guideCard {
	g, reach := ledger.GuideTo(kind), ledger.ReachOf(kind)
	counts := "for this print only"
	if reach.Share > 0 {
		counts = fmt.Sprintf("until %d %% of the published capacity went through, %d hours at most (common practice), and never past twice "+
			"a figure that is unverified", int(100*reach.Share+0.5), int(ledger.TestCounts.Hours()))
	}
	return guideCard{Shows: f.Text(reach.Shows), ShowsSource: f.Sourced(f.Text(reach.Source), reach.Standing), ShowsNot: f.Text(reach.Not),
		Reach: counts,
		Test:  phrase.Capital(f.Word(kind)), Due: f.Text(g.Due), Steps: f.Texts(g.Steps), Cautions: f.Texts(g.Cautions), Rule: f.Text(g.Rule),
		Source: f.Sourced(f.Text(g.Source), g.Standing), OnFailure: f.Text(g.OnFail)}
}

// dueTests are the tests without which the book does not let a bath be poured.
func (c stockPart) dueTests() []web.Link {
	var due []web.Link
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
		due = append(due, web.Link{Href: "/shelf/enter/test-done?" + q.Encode(),
			Text: fmt.Sprintf("%s of %s: %s", phrase.Capital(c.Word(test)), id, c.Text(answer.Because.Words))})
	}
	return due
}
