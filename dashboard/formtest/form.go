package formtest

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// Form is one form of a page with what stands in it.
type Form struct {
	page     *Page
	node     *html.Node
	controls []*control // in document order
}

// pair is one entry of what a form sends.
type pair struct{ name, value string }

func readForm(p *Page, node *html.Node) (*Form, error) {
	f := &Form{page: p, node: node}
	for n := range elements(p.root) {
		if owner(p.root, n) != node {
			continue
		}
		c, err := readControl(n, !p.browser.plain)
		if err != nil {
			return nil, err
		}
		if c != nil {
			c.label, c.group = labelOf(p.root, n), legendOf(n)
			f.controls = append(f.controls, c)
		}
	}
	f.settleRadios()
	return f, nil
}

// owner is the form that an element belongs to: the one that its attribute form names,
// or else the one around it.
func owner(root, n *html.Node) *html.Node {
	if !has(n, "form") {
		return ancestor(n, "form")
	}
	for other := range elements(root) {
		if attribute(other, "id") == attribute(n, "form") {
			if other.Data == "form" {
				return other
			}
			return nil
		}
	}
	return nil
}

// settleRadios leaves one radio button of a name on: the last that is marked.
func (f *Form) settleRadios() {
	last := map[string]*control{}
	for _, c := range f.controls {
		if c.kind != "radio" || !c.on || c.name == "" {
			continue
		}
		if before := last[c.name]; before != nil {
			before.on = false
		}
		last[c.name] = c
	}
}

// labelOf is what an element is called: by its label, or by aria-label.
func labelOf(root, n *html.Node) string {
	if called := attribute(n, "aria-label"); called != "" {
		return called
	}
	id := attribute(n, "id")
	for l := range elements(root) {
		if l.Data == "label" && id != "" && attribute(l, "for") == id {
			return textOf(l)
		}
	}
	if around := ancestor(n, "label"); around != nil && !has(around, "for") {
		return textOf(around)
	}
	return ""
}

func legendOf(n *html.Node) string {
	around := ancestor(n, "fieldset")
	if around == nil {
		return ""
	}
	if l := firstLegend(around); l != nil {
		return textOf(l)
	}
	return ""
}

// Path is where the form is sent, without a query.
func (f *Form) Path() string {
	to, err := f.target(nil)
	if err != nil {
		return ""
	}
	return to.Path
}

// Method is GET or POST.
func (f *Form) Method() string { return f.method(nil) }

func (f *Form) method(by *control) string {
	method := attribute(f.node, "method")
	if by != nil && has(by.node, "formmethod") {
		method = attribute(by.node, "formmethod")
	}
	if strings.EqualFold(method, "post") {
		return http.MethodPost
	}
	return http.MethodGet
}

// target is where the form is sent: an empty action is the address of the page itself.
func (f *Form) target(by *control) (*url.URL, error) {
	action := attribute(f.node, "action")
	if by != nil && has(by.node, "formaction") {
		action = attribute(by.node, "formaction")
	}
	action = strings.TrimSpace(action)
	if action == "" {
		at := *f.page.Address
		at.Fragment = ""
		return &at, nil
	}
	return f.page.Address.Parse(action)
}

// Shown are the names of the fields that a person can fill.
func (f *Form) Shown() []string {
	return f.names(func(c *control) bool { return c.kind != "hidden" && !c.button() })
}

// Hidden are the names of the hidden fields.
func (f *Form) Hidden() []string {
	return f.names(func(c *control) bool { return c.kind == "hidden" })
}

// Offers are the values that a person can choose in a field; none where one types.
func (f *Form) Offers(field string) (values []string) {
	for _, c := range f.controls {
		switch {
		case c.name != field || c.disabled:
		case c.kind == "checkbox" || c.kind == "radio":
			values = append(values, c.value)
		case c.kind == "select":
			for _, o := range c.options {
				if !o.disabled {
					values = append(values, o.value)
				}
			}
		}
	}
	return values
}

// Doubled are the names under which the form has several fields to type or choose in, of
// which a program that asks for the name sees one alone.
func (f *Form) Doubled() []string {
	seen := map[string]bool{}
	return f.names(func(c *control) bool {
		again := seen[c.name] && !c.checkable()
		seen[c.name] = seen[c.name] || c.kind != "hidden" && !c.button()
		return again && c.kind != "hidden" && !c.button()
	})
}

func (f *Form) names(wanted func(*control) bool) []string {
	var names []string
	for _, c := range f.controls {
		if c.name != "" && wanted(c) && !slices.Contains(names, c.name) {
			names = append(names, c.name)
		}
	}
	return names
}

// Buttons are the texts of the buttons that send the form.
func (f *Form) Buttons() []string {
	var texts []string
	for _, c := range f.controls {
		if c.kind == "submit" && !c.disabled && !concealed(c.node) {
			texts = append(texts, cmp.Or(textOf(c.node), c.label, c.value))
		}
	}
	return texts
}

// Values is what the form would send now, but for its button.
func (f *Form) Values() url.Values { return f.values(nil) }

// Sending is what the form would send by a button.
func (f *Form) Sending(button string) url.Values {
	f.page.browser.t.Helper()
	by, err := f.buttonSaying(button)
	require.NoError(f.page.browser.t, err)
	return f.values(by)
}

func (f *Form) values(by *control) url.Values {
	values := url.Values{}
	for _, p := range f.entries(by) {
		values.Add(p.name, p.value)
	}
	return values
}

// entries builds the entry list of the standard, in document order.
func (f *Form) entries(by *control) []pair {
	var list []pair
	for _, c := range f.controls {
		switch {
		case c.disabled || c.name == "" || ancestor(c.node, "datalist") != nil:
		case c.button() && c != by, c.checkable() && !c.on:
		case c.kind == "select":
			for _, o := range c.options {
				if o.chosen && !o.disabled {
					list = append(list, pair{c.name, o.value})
				}
			}
		case c.kind == "hidden" && strings.EqualFold(c.name, "_charset_"):
			list = append(list, pair{c.name, "UTF-8"})
		default:
			list = append(list, pair{c.name, c.value})
		}
	}
	return list
}

// encoded writes a list as application/x-www-form-urlencoded, with the line ends of the standard.
func encoded(list []pair) string {
	lines := strings.NewReplacer("\r\n", "\r\n", "\r", "\r\n", "\n", "\r\n")
	var parts []string
	for _, p := range list {
		parts = append(parts, url.QueryEscape(lines.Replace(p.name))+"="+url.QueryEscape(lines.Replace(p.value)))
	}
	return strings.Join(parts, "&")
}

// refusal is why a browser would not send the form, or why this package can't.
func (f *Form) refusal(by *control) error {
	kind := attribute(f.node, "enctype")
	if by != nil && has(by.node, "formenctype") {
		kind = attribute(by.node, "formenctype")
	}
	if kind != "" && !strings.EqualFold(kind, "application/x-www-form-urlencoded") {
		return fmt.Errorf("the form is sent as %s, which this package can't", kind)
	}
	if has(f.node, "novalidate") || by != nil && has(by.node, "formnovalidate") {
		return nil
	}
	for _, c := range f.controls {
		for _, rule := range []string{"pattern", "min", "max", "minlength"} {
			if has(c.node, rule) {
				return fmt.Errorf("the field %q has the rule %s, which this package can't check", c.name, rule)
			}
		}
		if has(c.node, "required") && !c.disabled && !slices.ContainsFunc(f.entries(by), func(p pair) bool {
			return p.name == c.name &&
				p.value != ""
		}) {
			return fmt.Errorf("the field %q is required and empty: a browser does not send the form", c.name)
		}
	}
	return nil
}
