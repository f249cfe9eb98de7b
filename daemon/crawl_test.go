package daemon_test

import (
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/formtest"
)

// crawl visits every page that links lead to, from the addresses given, in one look, and
// gives the forms that it found by their names, with the page on which each stands.
type crawl struct {
	*formtest.Browser
	t     testing.TB
	look  string
	seen  map[string]bool
	pages map[string]bool
	forms map[string]string
}

func newCrawl(t testing.TB, b *formtest.Browser, look string) *crawl {
	return &crawl{Browser: b, t: t, look: look, seen: map[string]bool{}, pages: map[string]bool{}, forms: map[string]string{}}
}

// again crawls everything from an address, also what was seen before.
func (c *crawl) again(address string) {
	c.seen = map[string]bool{}
	waiting := []string{address}
	for len(waiting) > 0 {
		next := at(waiting[0], c.look)
		waiting = waiting[1:]
		to, err := url.Parse(next)
		require.NoError(c.t, err)
		if c.seen[alike(to)] || !isPage(to) {
			continue
		}
		c.seen[alike(to)] = true
		page := c.Open(next)
		require.Less(c.t, page.Status, 500, "%s", next)
		require.Less(c.t, len(c.seen), 1500, "the crawl ends: %s", next)
		c.note(page)
		for _, link := range page.Links() {
			if link.Host == page.Address.Host {
				link.Scheme, link.Host, link.Fragment = "", "", ""
				waiting = append(waiting, link.String())
			}
		}
	}
}

// note keeps the forms of a page, but for the one with which its receipt is undone: that one has tests of its own.
func (c *crawl) note(page *formtest.Page) {
	c.pages[pageName(page)] = true
	for _, f := range page.Forms() {
		if formtest.Saying("Undo")(f) {
			continue
		}
		if name := formName(page, f); c.forms[name] == "" {
			c.forms[name] = page.Address.RequestURI()
		}
		requireOwnNames(c.t, page, f)
	}
}

// isPage leaves out what is no page: files, streams, pictures, figures for programs.
func isPage(to *url.URL) bool {
	return !strings.HasPrefix(to.Path, "/assets/") && !strings.HasPrefix(to.Path, "/api/") && !strings.HasSuffix(to.Path, ".pdf") &&
		!strings.HasSuffix(to.Path, ".zip") && !strings.HasSuffix(to.Path, "/events") && to.Path != "/metrics"
}

// telling are the parts of a query by which a page shows other forms.
func telling() []string { return []string{"test", "do", "method", "look", "step"} }

// alike is the same for addresses that show the same forms: which time, batch or person
// is looked at makes no other form, but whether one is.
func alike(to *url.URL) string {
	q := to.Query()
	keys := []string{}
	for key := range q {
		if slices.Contains(telling(), key) {
			key += "=" + q.Get(key)
		}
		keys = append(keys, key)
	}
	slices.Sort(keys)
	return to.Path + "?" + strings.Join(keys, "&")
}

var (
	bodyClass = regexp.MustCompile(`<body class="page-([a-z-]+)`)
	varying   = []struct{ of, is string }{
		{`/rooms/practice/`, `/rooms/{room}/`}, {`/probe/[^/]+`, `/probe/{channel}`}, {`/shelf/entry/\d+`, `/shelf/entry/{number}`},
	}
)

// pageName is what the program calls a page.
func pageName(p *formtest.Page) string {
	if m := bodyClass.FindStringSubmatch(p.Source); m != nil {
		return m[1]
	}
	return ""
}

// formName is what tells a form from all others of the program: its page, where it goes, and what it asks for.
func formName(p *formtest.Page, f *formtest.Form) string {
	path := f.Path()
	for _, v := range varying {
		path = regexp.MustCompile(v.of).ReplaceAllString(path, v.is)
	}
	name := pageName(p) + ": " + f.Method() + " " + path
	values := f.Values()
	for _, key := range []string{"act", "test", "do", "method", "meant"} {
		if value := values.Get(key); value != "" && slices.Contains(f.Hidden(), key) {
			name += " " + key + "=" + value
		}
	}
	if slices.Contains(f.Shown(), "new_vessel") {
		name += " into a new vessel"
	}
	if values.Has("corrects") {
		name += " corrects"
	}
	return name
}

// requireOwnNames requires that nothing that goes back by itself has the name of a field.
func requireOwnNames(t testing.TB, p *formtest.Page, f *formtest.Form) {
	require.Empty(t, f.Doubled(), "%s: several fields of %s have one name", p.Address, f.Path())
	shown := f.Shown()
	for _, hidden := range f.Hidden() {
		require.NotContains(t, shown, hidden, "%s: a hidden field of %s stands before the field of that name", p.Address, f.Path())
	}
}

// allPages are the names of all pages that the templates define, as far as they are whole pages.
func allPages(t testing.TB) []string {
	files, err := filepath.Glob(filepath.Join("..", "dashboard", "templates", "*.html"))
	require.NoError(t, err)
	var names []string
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		page := regexp.MustCompile(`{{define "([a-z-]+)"}}{{template "(?:top|day-top|door-top)"`)
		for _, m := range page.FindAllStringSubmatch(string(text), -1) {
			if !strings.HasSuffix(m[1], "-top") {
				names = append(names, m[1])
			}
		}
	}
	require.Greater(t, len(names), 20)
	return names
}
