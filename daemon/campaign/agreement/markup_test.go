package agreement_test

import (
	"encoding/xml"
	"strings"

	"github.com/stretchr/testify/require"
)

// element is a part of a page: the whole page, an element, or a text without a name.
type element struct {
	name  string
	attrs map[string]string
	inner []*element
	text  string
}

// page reads a page of the daemon.
func (e *evening) page(path string) *element { return e.parse(e.get(path)) }

// parse reads a page: the pages are written so that XML can read them, but for what HTML never closes.
func (e *evening) parse(text string) *element {
	d := xml.NewDecoder(strings.NewReader(text))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	top := &element{}
	open := []*element{top}
	for {
		token, err := d.Token()
		if token == nil {
			require.Len(e, open, 1, "the page ends within an element: %v", err)
			return top
		}
		switch t := token.(type) {
		case xml.StartElement:
			next := &element{name: t.Name.Local, attrs: map[string]string{}}
			for _, a := range t.Attr {
				next.attrs[a.Name.Local] = a.Value
			}
			last := open[len(open)-1]
			last.inner, open = append(last.inner, next), append(open, next)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			last := open[len(open)-1]
			last.inner = append(last.inner, &element{text: string(t)})
		}
	}
}

// all lists the elements within that have an attribute, in the order of the page.
func (n *element) all(attribute string) (list []*element) {
	for _, one := range n.inner {
		if _, has := one.attrs[attribute]; has {
			list = append(list, one)
		}
		list = append(list, one.all(attribute)...)
	}
	return list
}

// where is the first element within whose attribute has a value; nil where there is none.
func (n *element) where(attribute, value string) *element {
	if n == nil {
		return nil
	}
	for _, one := range n.all(attribute) {
		if one.attrs[attribute] == value {
			return one
		}
	}
	return nil
}

// classed is the first element within of a class; nil where there is none.
func (n *element) classed(class string) *element {
	if n == nil {
		return nil
	}
	for _, one := range n.all("class") {
		if strings.Contains(" "+one.attrs["class"]+" ", " "+class+" ") {
			return one
		}
	}
	return nil
}

// first is the first element within of a name; nil where there is none.
func (n *element) first(name string) *element {
	if n == nil {
		return nil
	}
	for _, one := range n.inner {
		if one.name == name {
			return one
		}
		if found := one.first(name); found != nil {
			return found
		}
	}
	return nil
}

// words is the text within, with single spaces; empty for no element.
func (n *element) words() string {
	if n == nil {
		return ""
	}
	return strings.Join(strings.Fields(n.spell()), " ")
}

func (n *element) spell() string {
	var b strings.Builder
	b.WriteString(n.text)
	for _, one := range n.inner {
		b.WriteString(one.spell() + " ")
	}
	return b.String()
}
