package formtest

import (
	"iter"
	"slices"
	"strings"

	"golang.org/x/net/html"
)

// elements are all elements below a node, in document order.
func elements(root *html.Node) iter.Seq[*html.Node] {
	return func(yield func(*html.Node) bool) {
		if root == nil {
			return
		}
		for n := range root.Descendants() {
			if n.Type == html.ElementNode && !yield(n) {
				return
			}
		}
	}
}

func attribute(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Namespace == "" && a.Key == name {
			return a.Val
		}
	}
	return ""
}

func has(n *html.Node, name string) bool {
	return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Namespace == "" && a.Key == name })
}

// ancestor is the nearest element of a kind around a node; nil when there is none.
func ancestor(n *html.Node, kind string) *html.Node {
	for a := range n.Ancestors() {
		if a.Type == html.ElementNode && a.Data == kind {
			return a
		}
	}
	return nil
}

// concealed says whether nobody can see an element, because it or what is around it is hidden.
func concealed(n *html.Node) bool {
	if has(n, "hidden") {
		return true
	}
	for a := range n.Ancestors() {
		if has(a, "hidden") {
			return true
		}
	}
	return false
}

// flowing are elements that do not part the words around them.
func flowing() []string {
	return []string{"a", "abbr", "b", "bdi", "code", "em", "i", "kbd", "small", "span", "strong", "sub", "sup", "svg", "time"}
}

// textOf is what a person reads of a node, without what is hidden in it, each run of blanks one.
func textOf(n *html.Node) string {
	var out strings.Builder
	write(&out, n)
	return strings.Join(strings.Fields(out.String()), " ")
}

func write(out *strings.Builder, n *html.Node) {
	if n == nil {
		return
	}
	if n.Type == html.TextNode {
		out.WriteString(n.Data)
		return
	}
	if n.Type == html.ElementNode && slices.Contains([]string{"head", "script", "style", "template", "select", "textarea", "noscript"},
		n.Data) {
		out.WriteString(" ")
		return
	}
	parted := n.Type == html.ElementNode && !slices.Contains(flowing(), n.Data)
	if parted {
		out.WriteString(" ")
	}
	for c := range n.ChildNodes() {
		if !has(c, "hidden") {
			write(out, c)
		}
	}
	if parted {
		out.WriteString(" ")
	}
}
