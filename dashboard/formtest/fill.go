package formtest

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"

	"github.com/stretchr/testify/require"
)

// Fill types into a field or chooses in it, by its name or its label. Of a group of
// boxes exactly the given ones are ticked then. A field that is not there, or a choice
// that is not offered, fails the test.
func (f *Form) Fill(field string, values ...string) *Form {
	f.page.browser.t.Helper()
	require.NoError(f.page.browser.t, f.fill(field, values), "%s", f.page.Address)
	return f
}

// FillIn fills field after field: a name or label, what goes in, the next. A field that is
// named several times gets all of these values.
func (f *Form) FillIn(typed ...string) *Form {
	f.page.browser.t.Helper()
	for i := 0; i+1 < len(typed); i += 2 {
		var values []string
		for j := 0; j+1 < len(typed); j += 2 {
			if typed[j] == typed[i] {
				values = append(values, typed[j+1])
			}
		}
		f.Fill(typed[i], values...)
	}
	return f
}

// Forge sets what no person can set in a browser, and says why a test must.
func (f *Form) Forge(why, name, value string) *Form {
	f.page.browser.t.Helper()
	require.NotEmpty(f.page.browser.t, why, "a forgery needs a reason")
	for _, c := range f.controls {
		if c.name == name && !c.checkable() && c.kind != "select" {
			c.value = value
			return f
		}
	}
	f.controls = slices.DeleteFunc(f.controls, func(c *control) bool { return c.name == name })
	f.controls = append(f.controls, &control{node: f.node, kind: "hidden", name: name, value: value})
	return f
}

// Forged are values that no form of a page would send: names and values in turn.
func Forged(pairs ...string) url.Values {
	values := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		values.Add(pairs[i], pairs[i+1])
	}
	return values
}

func (f *Form) fill(field string, values []string) error {
	group, err := f.group(field)
	if err != nil {
		return err
	}
	first := group[0]
	if first.kind == "hidden" || concealed(first.node) {
		return fmt.Errorf("the field %q is hidden: nobody can fill it", field)
	}
	for _, c := range group {
		if c.disabled && len(group) == 1 {
			return fmt.Errorf("the field %q is off", field)
		}
	}
	f.page.uncover(first.node)
	switch {
	case first.checkable():
		return f.choose(field, group, values)
	case len(group) > 1:
		return fmt.Errorf("the form has %d fields %q", len(group), field)
	case first.kind == "select":
		return f.pick(field, first, values)
	}
	return f.write(field, first, values)
}

// group finds a field by its name, or else by its label; several boxes or radio buttons
// of one name are one field.
func (f *Form) group(field string) ([]*control, error) {
	var found []*control
	for _, by := range []func(*control) string{func(c *control) string { return c.name }, func(c *control) string { return c.group },
		func(c *control) string { return c.label }} {
		for _, c := range f.controls {
			if !c.button() && field != "" && by(c) == field && (len(found) == 0 || c.name == found[0].name) {
				found = append(found, c)
			}
		}
		if len(found) > 0 {
			// What goes back by itself under the same name stands beside the field, not in its way.
			if shown := slices.DeleteFunc(slices.Clone(found), func(c *control) bool { return c.kind == "hidden" }); len(shown) > 0 {
				return shown, nil
			}
			return found, nil
		}
	}
	return nil, fmt.Errorf("the form has no field %q; it has %q", field, f.Shown())
}

func (f *Form) write(field string, c *control, values []string) error {
	if len(values) != 1 {
		return fmt.Errorf("the field %q takes one text, not %d", field, len(values))
	}
	if has(c.node, "readonly") {
		return fmt.Errorf("the field %q can only be read", field)
	}
	clean := c.sanitized(values[0])
	if clean == "" && values[0] != "" {
		return fmt.Errorf("%q can't be typed into a field of the type %s", values[0], c.kind)
	}
	if c.value != clean {
		f.page.browser.effort.Entries++
	}
	c.value = clean
	return nil
}

// choose ticks the boxes, or presses the radio button, with these values or labels.
func (f *Form) choose(field string, group []*control, values []string) error {
	if group[0].kind == "radio" && len(values) != 1 {
		return fmt.Errorf("of the buttons %q one is chosen, not %d", field, len(values))
	}
	wanted := map[*control]bool{}
	for _, value := range values {
		at := slices.IndexFunc(group, func(c *control) bool { return !c.disabled && (c.value == value || c.label == value) })
		if at < 0 {
			return fmt.Errorf("the field %q does not offer %q", field, value)
		}
		wanted[group[at]] = true
	}
	for _, c := range group {
		if c.on != wanted[c] && (c.kind == "checkbox" || wanted[c]) {
			f.page.browser.effort.Presses++
		}
		c.on = wanted[c]
	}
	return nil
}

// pick chooses the options of a select with these values or texts.
func (f *Form) pick(field string, c *control, values []string) error {
	if !has(c.node, "multiple") && len(values) != 1 {
		return fmt.Errorf("the list %q takes one choice, not %d", field, len(values))
	}
	wanted := map[*offer]bool{}
	for _, value := range values {
		at := slices.IndexFunc(c.options, func(o *offer) bool { return !o.disabled && (o.value == value || o.text == value) })
		if at < 0 {
			return fmt.Errorf("the list %q does not offer %q", field, value)
		}
		wanted[c.options[at]] = true
	}
	for _, o := range c.options {
		if !o.chosen && wanted[o] {
			f.page.browser.effort.Presses++
		}
		o.chosen = wanted[o]
	}
	return nil
}

// Press presses the button with a text and gives the page that the answer leads to.
func (f *Form) Press(button string) *Page {
	f.page.browser.t.Helper()
	by, err := f.buttonSaying(button)
	require.NoError(f.page.browser.t, err, "%s", f.page.Address)
	f.page.uncover(by.node)
	f.page.browser.effort.Presses++
	return f.send(by)
}

// Send presses the one button that the form has.
func (f *Form) Send() *Page {
	f.page.browser.t.Helper()
	buttons := f.Buttons()
	require.Len(f.page.browser.t, buttons, 1, "the form of %s has exactly one button", f.page.Address)
	return f.Press(buttons[0])
}

// Enter presses the key Enter in a field, for which the first button of the form counts, seen or not.
func (f *Form) Enter() *Page {
	f.page.browser.t.Helper()
	f.page.browser.effort.Presses++
	at := slices.IndexFunc(f.controls, func(c *control) bool { return c.kind == "submit" })
	if at < 0 {
		return f.send(nil)
	}
	require.False(f.page.browser.t, f.controls[at].disabled, "the key Enter does nothing: the first button is off")
	return f.send(f.controls[at])
}

func (f *Form) buttonSaying(text string) (*control, error) {
	var found []*control
	for _, c := range f.controls {
		if c.presses(text) && !c.disabled {
			found = append(found, c)
		}
	}
	if len(found) != 1 {
		return nil, fmt.Errorf("the form has %d buttons %q; it has %q", len(found), text, f.Buttons())
	}
	return found[0], nil
}

func (f *Form) send(by *control) *Page {
	t := f.page.browser.t
	t.Helper()
	require.NoError(t, f.refusal(by), "%s", f.page.Address)
	to, err := f.target(by)
	require.NoError(t, err)
	list := encoded(f.entries(by))
	if f.method(by) == http.MethodPost {
		return f.page.browser.fetch(http.MethodPost, to, list, f.page)
	}
	to.RawQuery = list
	return f.page.browser.fetch(http.MethodGet, to, "", f.page)
}
