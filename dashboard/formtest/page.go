package formtest

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// Page is what the browser shows.
type Page struct {
	Status  int
	Address *url.URL
	// Source is the answer as it came.
	Source  string
	browser *Browser
	policy  string
	root    *html.Node // nil where the answer is no page
	opened  map[*html.Node]bool
}

func readPage(b *Browser, answer *http.Response, text []byte) (*Page, error) {
	p := &Page{Status: answer.StatusCode, Address: answer.Request.URL, Source: string(text), browser: b,
		policy: answer.Header.Get("Referrer-Policy"), opened: map[*html.Node]bool{}}
	kind, _, err := mime.ParseMediaType(answer.Header.Get("Content-Type"))
	if err != nil || kind != "text/html" {
		return p, nil
	}
	p.root, err = html.Parse(strings.NewReader(p.Source))
	return p, err
}

// Text is what a person reads on the page, blanks between parts, each run of blanks one.
func (p *Page) Text() string { return textOf(p.root) }

// Says requires a text on the page.
func (p *Page) Says(text string) *Page {
	p.browser.t.Helper()
	require.Contains(p.browser.t, p.Text(), text, "%s", p.Address)
	return p
}

// Problem is what a form that came back says is wrong with it.
func (p *Page) Problem() string {
	for n := range elements(p.root) {
		if attribute(n, "role") == "alert" && strings.Contains(attribute(n, "class"), "problem") {
			return textOf(n)
		}
	}
	return ""
}

// Links are the addresses that the page leads to, in its order.
func (p *Page) Links() []*url.URL {
	var links []*url.URL
	for n := range elements(p.root) {
		if n.Data != "a" || !has(n, "href") {
			continue
		}
		if to, err := p.Address.Parse(attribute(n, "href")); err == nil {
			links = append(links, to)
		}
	}
	return links
}

// Follow presses the one link with a text.
func (p *Page) Follow(text string) *Page {
	p.browser.t.Helper()
	n, err := p.link(text)
	require.NoError(p.browser.t, err)
	return p.press(n)
}

// FollowTo presses the first link that leads to a path, with these names and values in its query.
func (p *Page) FollowTo(path string, query ...string) *Page {
	p.browser.t.Helper()
	for n := range elements(p.root) {
		to, err := p.Address.Parse(attribute(n, "href"))
		if n.Data != "a" || concealed(n) || err != nil || to.Path != path {
			continue
		}
		alike := true
		for i := 0; i+1 < len(query); i += 2 {
			alike = alike && to.Query().Get(query[i]) == query[i+1]
		}
		if alike {
			return p.press(n)
		}
	}
	require.Fail(p.browser.t, "no such link", "%s has no link to %s with %q", p.Address, path, query)
	return nil
}

func (p *Page) press(n *html.Node) *Page {
	p.browser.t.Helper()
	to, err := p.Address.Parse(attribute(n, "href"))
	require.NoError(p.browser.t, err)
	p.uncover(n)
	p.browser.effort.Presses++
	return p.browser.fetch(http.MethodGet, to, "", p)
}

// link finds a link by its text; several that lead to one place are one.
func (p *Page) link(text string) (found *html.Node, err error) {
	for n := range elements(p.root) {
		if n.Data != "a" || !has(n, "href") || concealed(n) || textOf(n) != text {
			continue
		}
		if found != nil && attribute(found, "href") != attribute(n, "href") {
			return nil, fmt.Errorf("%s has several links %q that lead to different places", p.Address, text)
		}
		found = n
	}
	if found == nil {
		return nil, fmt.Errorf("%s has no link %q", p.Address, text)
	}
	return found, nil
}

// uncover opens the folded parts around an element, each with one press.
func (p *Page) uncover(n *html.Node) {
	for at := n; at.Parent != nil; at = at.Parent {
		fold := at.Parent
		inSummary := at.Type == html.ElementNode && at.Data == "summary"
		if fold.Type == html.ElementNode && fold.Data == "details" && !has(fold, "open") && !inSummary && !p.opened[fold] {
			p.opened[fold] = true
			p.browser.effort.Presses++
		}
	}
}

// Forms lists the forms of the page in their order.
func (p *Page) Forms() []*Form {
	p.browser.t.Helper()
	var forms []*Form
	for n := range elements(p.root) {
		if n.Data != "form" {
			continue
		}
		f, err := readForm(p, n)
		require.NoError(p.browser.t, err, "%s", p.Address)
		forms = append(forms, f)
	}
	return forms
}

// Which tells one form of a page from the others.
type Which func(*Form) bool

// To is a form that is sent to a path.
func To(path string) Which {
	return func(f *Form) bool { return f.Path() == path }
}

// Saying is a form with a button of that text.
func Saying(button string) Which {
	return func(f *Form) bool {
		return slices.ContainsFunc(f.controls, func(c *control) bool { return c.presses(button) })
	}
}

// Doing is a form that does an act, by its hidden field of that name.
func Doing(act string) Which { return Having("act", act) }

// Having is a form with a field, by its name or label; with values, one that would send these.
func Having(field string, values ...string) Which {
	return func(f *Form) bool {
		group, err := f.group(field)
		if err != nil {
			return false
		}
		for _, value := range values {
			if !slices.Contains(f.Values()[group[0].name], value) {
				return false
			}
		}
		return true
	}
}

// Form finds the one form for which everything is so.
func (p *Page) Form(which ...Which) *Form {
	p.browser.t.Helper()
	found := p.formsThat(which)
	require.Len(p.browser.t, found, 1, "exactly one form of %s (%d): %s", p.Address, p.Status, p.Problem())
	return found[0]
}

// First finds the first form for which everything is so, on a page that puts the best one first.
func (p *Page) First(which ...Which) *Form {
	p.browser.t.Helper()
	found := p.formsThat(which)
	require.NotEmpty(p.browser.t, found, "a form of %s (%d): %s", p.Address, p.Status, p.Problem())
	return found[0]
}

func (p *Page) formsThat(which []Which) []*Form {
	p.browser.t.Helper()
	return slices.DeleteFunc(p.Forms(), func(f *Form) bool {
		return slices.ContainsFunc(which, func(w Which) bool { return !w(f) })
	})
}

// Whole requires every element of a page to be closed where it belongs and no identity to be given
// twice. It gives the page with its entities as signs, and plain spaces for those that hold words together.
func Whole(t testing.TB, text string) string {
	t.Helper()
	require.NotContains(t, text, "ZgotmplZ", "a value was refused by its template")
	d := xml.NewDecoder(strings.NewReader(strings.TrimPrefix(text, "<!DOCTYPE html>")))
	d.Entity = xml.HTMLEntity
	ids := map[string]bool{}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return strings.ReplaceAll(html.UnescapeString(text), "\u00a0", " ")
		}
		require.NoError(t, err)
		start, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		for _, a := range start.Attr {
			require.NotEqual(t, "style", a.Name.Local, "styles within elements are refused by the policy")
			require.False(t, strings.HasPrefix(a.Name.Local, "on"), "scripts within elements are refused by the policy")
			if a.Name.Local == "id" {
				require.False(t, ids[a.Value], "%s stands twice", a.Value)
				ids[a.Value] = true
			}
		}
	}
}
