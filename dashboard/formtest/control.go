package formtest

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"golang.org/x/net/html"
)

// control is one element of a form that may be sent.
type control struct {
	node *html.Node
	// kind is the type of an input or button, or "select" or "textarea".
	kind, name, value string
	label             string
	group             string // the legend of the fieldset around a choice
	disabled          bool
	on                bool // of a box or a radio button
	options           []*offer
}

// offer is one option of a select.
type offer struct {
	value, text      string
	chosen, disabled bool
}

func (c *control) button() bool    { return c.kind == "submit" || c.kind == "button" || c.kind == "reset" }
func (c *control) checkable() bool { return c.kind == "checkbox" || c.kind == "radio" }

// presses says whether a person presses the control by that text.
func (c *control) presses(text string) bool {
	return c.kind == "submit" && !concealed(c.node) && text != "" && slices.Contains([]string{c.label, textOf(c.node), c.value}, text)
}

// texts are the types of input into which a person types.
func texts() []string {
	return []string{"text", "search", "tel", "url", "email", "password", "number", "date", "time", "datetime-local"}
}

// readControl reads an element; nil for one that is no part of a form. A type that this
// package knows nothing about is an error: what a browser would send is not guessed.
// Without pickers a date or time is a plain line of text.
func readControl(n *html.Node, pickers bool) (*control, error) {
	c := &control{node: n, name: attribute(n, "name"), disabled: isDisabled(n)}
	switch n.Data {
	case "input":
		c.kind = strings.ToLower(attribute(n, "type"))
		if c.kind == "" || !pickers && len(layouts(c.kind)) > 0 {
			c.kind = "text"
		}
		c.value, c.on = attribute(n, "value"), has(n, "checked")
		if c.checkable() && !has(n, "value") {
			c.value = "on"
		}
		if !slices.Contains(append(texts(), "hidden", "checkbox", "radio", "submit", "button", "reset"), c.kind) {
			return nil, fmt.Errorf("the field %q has the type %s, which this package can't send", c.name, c.kind)
		}
		c.value = c.sanitized(c.value)
	case "button":
		c.kind, c.value = "submit", attribute(n, "value")
		if kind := strings.ToLower(attribute(n, "type")); kind == "button" || kind == "reset" {
			c.kind = kind
		}
	case "textarea":
		c.kind, c.value = "textarea", content(n)
	case "select":
		c.kind, c.options = "select", readOptions(n)
	default:
		return nil, nil
	}
	return c, nil
}

func content(n *html.Node) string {
	var text strings.Builder
	for c := range n.ChildNodes() {
		text.WriteString(c.Data)
	}
	return text.String()
}

// isDisabled says whether an element is off by itself or by a fieldset around it. What
// stands in the legend of the fieldset stays on.
func isDisabled(n *html.Node) bool {
	if has(n, "disabled") {
		return true
	}
	var legend *html.Node
	for a := range n.Ancestors() {
		switch {
		case a.Data == "legend":
			legend = a
		case a.Data == "fieldset" && has(a, "disabled") && (legend == nil || legend != firstLegend(a)):
			return true
		}
	}
	return false
}

func firstLegend(fieldset *html.Node) *html.Node {
	for c := range fieldset.ChildNodes() {
		if c.Type == html.ElementNode && c.Data == "legend" {
			return c
		}
	}
	return nil
}

// readOptions reads a select. One that shows a single line always has an option chosen:
// the last that is marked, or the first that can be.
func readOptions(n *html.Node) []*offer {
	var all []*offer
	for o := range elements(n) {
		if o.Data != "option" {
			continue
		}
		it := &offer{value: attribute(o, "value"), text: textOf(o), chosen: has(o, "selected"), disabled: has(o, "disabled")}
		if !has(o, "value") {
			it.value = it.text
		}
		if g := ancestor(o, "optgroup"); g != nil && has(g, "disabled") {
			it.disabled = true
		}
		all = append(all, it)
	}
	if has(n, "multiple") {
		return all
	}
	var chosen *offer
	for _, o := range all {
		if o.chosen || chosen == nil && !o.disabled && attribute(n, "size") == "" {
			chosen = o
		}
	}
	for _, o := range all {
		o.chosen = o == chosen
	}
	return all
}

// layouts are how a date or time of a type of input is written.
func layouts(kind string) []string {
	return map[string][]string{
		"date":           {time.DateOnly},
		"time":           {"15:04", "15:04:05"},
		"datetime-local": {"2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02 15:04", "2006-01-02 15:04:05"},
	}[kind]
}

// sanitized is a value as an input of that type holds it: a date that is none is nothing.
func (c *control) sanitized(value string) string {
	if formats := layouts(c.kind); len(formats) > 0 {
		for _, layout := range formats {
			if _, err := time.Parse(layout, value); err == nil {
				return strings.Replace(value, " ", "T", 1)
			}
		}
		return ""
	}
	if slices.Contains(texts(), c.kind) {
		value = strings.NewReplacer("\r", "", "\n", "").Replace(value)
	}
	return value
}
