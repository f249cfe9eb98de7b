package daemon_test

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/dashboard/formtest"
)

// sending is one form, sent as a browser sends it, and what must be true after it.
type sending struct {
	form  string            // its name, as the crawl gives it
	at    string            // the page on which it stands
	among formtest.Which    // which of several forms of that name
	fill  []string          // fields with what goes in, in turn; a field twice is two choices
	press string            // the button; empty for the only one
	says  string            // on the page that the answer leads to
	kept  string            // the kind of record that is in the book then
	has   []string          // what that record says
	does  func(*placeForms) // what has to happen before
	white bool              // its answer is white: the red look shows no button for it
}

// placeForms is a place in one look, with every form found on its pages and every form sent.
type placeForms struct {
	*teaching
	crawl  *crawl
	sent   map[string]bool
	reader *history.Reader
}

func newPlaceForms(t *testing.T, k *teaching, look string) *placeForms {
	reader, err := history.OpenReader(t.Context(), history.Options{Dir: filepath.Join(k.dir, "data")})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, reader.Close()) })
	return &placeForms{k, newCrawl(t, k.Browser, look), map[string]bool{}, reader}
}

// records are those that were written after a number.
func (p *placeForms) records(after uint64) []history.Record {
	records, err := p.reader.Records(p.crawl.t.Context(), history.Query{AfterNumber: after})
	require.NoError(p.crawl.t, err)
	return records
}

func (p *placeForms) last() uint64 {
	all := p.records(0)
	return all[len(all)-1].Number
}

// newest is the number of the newest record of a kind.
func (p *placeForms) newest(kind string) uint64 {
	of, err := p.reader.Records(p.crawl.t.Context(), history.Query{Kinds: []string{kind}})
	require.NoError(p.crawl.t, err)
	require.NotEmpty(p.crawl.t, of)
	return of[len(of)-1].Number
}

// sendAll sends forms one after another.
func (p *placeForms) sendAll(t *testing.T, parts ...[]sending) {
	for _, s := range slices.Concat(parts...) {
		t.Run(s.form, func(t *testing.T) { p.send(t, s) })
	}
}

// look crawls all pages as they are now.
func (p *placeForms) look() { p.crawl.again("/") }

func (p *placeForms) send(t *testing.T, s sending) {
	t.Helper()
	if s.does != nil {
		s.does(p)
	}
	before := p.last()
	page := p.In(t).Open(at(s.at, p.crawl.look))
	p.crawl.note(page)
	form := p.named(t, page, s)
	p.sent[s.form] = true
	if s.white && p.crawl.look == "red" {
		require.Empty(t, form.Buttons())
		return
	}
	form.FillIn(s.fill...)
	var after *formtest.Page
	if s.press == "" {
		after = form.Send()
	} else {
		after = form.Press(s.press)
	}
	p.crawl.note(after)
	require.Empty(t, after.Problem())
	require.Less(t, after.Status, 400, "%s", after.Text())
	if alwaysRed := []string{"", "board", "timer"}; form.Method() == "POST" && !slices.Contains(alwaysRed, pageName(after)) {
		require.Equal(t, p.crawl.look == "red" || slices.Contains(alwaysRed, pageName(page)), strings.Contains(after.Source, "look-red.css"),
			"the answer comes in the look of the form: %s", after.Address)
	}
	require.True(t, s.says != "" || s.kept != "", "something must be true after")
	require.True(t, strings.Contains(after.Text()+after.Source[:min(len(after.Source), 4)], s.says), "the page says %q, not: %s", s.says,
		after.Text())
	if s.kept != "" {
		requireKept(t, p.records(before), s)
	}
}

// named finds the form of a case on its page.
func (p *placeForms) named(t *testing.T, page *formtest.Page, s sending) *formtest.Form {
	t.Helper()
	which := []formtest.Which{func(f *formtest.Form) bool { return formName(page, f) == s.form }}
	if s.among != nil {
		which = append(which, s.among)
	}
	return page.Form(which...)
}

// requireKept requires a record of the kind of the case with all that it says.
func requireKept(t *testing.T, records []history.Record, s sending) {
	t.Helper()
	var kinds []string
	for _, r := range records {
		kinds = append(kinds, r.Kind+" "+string(r.Content))
		if r.Kind == s.kept && !slices.ContainsFunc(s.has, func(part string) bool { return !strings.Contains(string(r.Content), part) }) {
			return
		}
	}
	require.Fail(t, "the book has no such record", "%s with %q among\n%s", s.kept, s.has, strings.Join(kinds, "\n"))
}

// whileAnAlarmIsOpen is a form that a page has only while an alarm is open; the page of alarms
// has the same one, which is sent.
const whileAnAlarmIsOpen = "baths: POST /rooms/{room}/baths act=acknowledge"

// requireAllSent requires that every form that was found has been sent; a case whose form
// is gone has failed before.
func (p *placeForms) requireAllSent(t *testing.T) {
	t.Helper()
	var unsent []string
	for name, where := range p.crawl.forms {
		if !p.sent[name] && name != whileAnAlarmIsOpen {
			unsent = append(unsent, name+"   on "+where)
		}
	}
	slices.Sort(unsent)
	require.Empty(t, strings.Join(unsent, "\n"), "add a case of this name for each of these forms, as in airSendings or classSendings")
	for _, name := range allPages(t) {
		if !slices.Contains(elsewhere(), name) {
			require.True(t, p.crawl.pages[name], "the crawl has visited the page %s", name)
		}
	}
}

// elsewhere are the pages that this place does not show: of a refusal, of several rooms, of
// the first start, and of people who sign in, whose forms other tests of this package send,
// and of a centre of many sites.
func elsewhere() []string {
	return []string{"error", "index", "first-run", "sign-in", "sign-in-code", "second-step", "join", "people", "programs", "sites",
		"sites-report"}
}

// TestEveryFormIsSentAsABrowserSendsIt goes through an evening on every page of the real
// program, in both looks: every form that a crawl of all pages finds is filled as a person
// fills it and sent, and what it enters is in the book.
func TestEveryFormIsSentAsABrowserSendsIt(t *testing.T) {
	for _, look := range looks() {
		t.Run(look, func(t *testing.T) {
			p := newPlaceForms(t, newTeaching(t, "0s fill trays; 0s stop fan; 30s start fan; 150s stop fan"), look)
			p.look()
			p.sendAll(t, supplySendings(), setUpSendings(), classSendings(), testSendings(), timerSendings())
			p.look()
			p.sendAll(t, airSendings(), proofSendings(), probeSendings(), placeSendings(), mixSendings(), alarmSendings())
			p.look()
			p.sendAll(t, takeBackSendings(p.newest("sheets used")), moveSendings())
			p.correctEach(t)
			p.sendAll(t, takeDownSendings())
			p.look()
			p.requireAllSent(t)
		})
	}
}
