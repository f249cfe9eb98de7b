package report

import (
	_ "embed"
	"encoding/xml"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/sensors/quantity/phrase"
)

//go:embed page.css
var pageStyle string

// Sheet is the style of a document, for a page that takes it as a [Fragment].
//
//go:embed sheet.css
var Sheet string

//go:embed page.html
var pageText string

// WriteHTML writes a document as one page that needs nothing else, with a style for paper.
func WriteHTML(w io.Writer, doc Document) error {
	return write(w, "page", struct {
		Style template.CSS
		leaf
	}{template.CSS(pageStyle + Sheet), leafOf(doc)})
}

// Fragment is a document as a part of another page, which brings the style: its own colours, and [Sheet].
func Fragment(doc Document) (template.HTML, error) {
	var out strings.Builder
	err := write(&out, "document", leafOf(doc))
	return template.HTML(out.String()), err
}

func write(w io.Writer, name string, body any) error {
	t, err := template.New("").Funcs(template.FuncMap{"together": phrase.Together}).Parse(pageText)
	if err != nil {
		return phrase.Errorf("reading the page of the report: %w", err)
	}
	if err := t.ExecuteTemplate(w, name, body); err != nil {
		return phrase.Errorf("writing the page of the report: %w", err)
	}
	return nil
}

// leaf is a document as the template takes it: each part has one of its three blocks.
type leaf struct {
	Title, Banner string
	Subtitle      []string
	Sections      []leafSection
}

type leafSection struct {
	ID, Heading string
	Chapter     bool // it begins a page of paper
	Parts       []leafPart
	// Contents lists other sections behind this one; a press on one leads there.
	Contents []leafSection
}

type leafPart struct {
	Label string // of a part that may be wider than its page
	Text  string
	Lead  string
	// Figures stand side by side.
	Figures Figures
	// Large and Small are one drawing, for a wide screen and for a phone; Title stands above it.
	Title        string
	Large, Small template.HTML
	// Square is a code for a camera, with words about its text.
	Square template.HTML
	Of     string
	Grid   *leafGrid
	Left   string
}

type leafGrid struct {
	Columns []Column
	Titled  bool // it has a heading
	Narrow  bool
	Rows    [][]leafCell
}

// leafCell is a cell with how it stands: figures to the right, times on one line. Label
// is the title of its column, for a screen that has no room for columns.
type leafCell struct{ Text, Class, Label string }

// isMoment says whether a text is one date with its time of day, which stays on one line.
func isMoment(text string) bool {
	_, err := time.Parse(momentForm, text)
	return err == nil
}

// gridOf gives each cell its class.
func gridOf(g Grid) *leafGrid {
	out := &leafGrid{Columns: g.Columns, Narrow: g.Narrow, Titled: g.Columns[0].Title+g.Columns[1].Title != ""}
	for _, cells := range g.Rows {
		row := make([]leafCell, len(cells))
		for i, text := range cells {
			row[i].Text = text
			if !g.Narrow {
				row[i].Label = g.Columns[i].Title
			}
			switch {
			case g.Columns[i].Right():
				row[i].Class = "right"
			case isMoment(text):
				row[i].Class = "when"
			}
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

func leafOf(doc Document) leaf {
	l := leaf{Title: doc.Title, Banner: doc.Banner, Subtitle: doc.Subtitle}
	for i, s := range doc.Sections {
		section := leafSection{ID: "part-" + strconv.Itoa(i+1), Heading: s.Heading, Chapter: slices.Contains(doc.chapters, i)}
		for n, b := range s.Blocks {
			part := doc.partOf(b, fmt.Sprintf("%s-%d", section.ID, n+1))
			part.Label = fmt.Sprintf("%s, %d", s.Heading, n+1)
			section.Parts = append(section.Parts, part)
		}
		l.Sections = append(l.Sections, section)
	}
	for _, i := range doc.contents {
		after := &l.Sections[doc.contentsAfter]
		after.Contents = append(after.Contents, leafSection{ID: l.Sections[i].ID, Heading: l.Sections[i].Heading})
	}
	return l
}

func (d Document) partOf(b Block, id string) leafPart {
	switch b := b.(type) {
	case Text:
		return leafPart{Text: string(b)}
	case Lead:
		return leafPart{Lead: string(b)}
	case Figures:
		return leafPart{Figures: b}
	case Bars:
		return leafPart{Title: b.Title, Large: svg(drawn{id, b.Title, place{1120, 300}}, b.draw),
			Small: svg(drawn{id + "-small", b.Title, place{420, 260}}, b.draw)}
	case Evening:
		return leafPart{Title: b.Title, Large: svg(drawn{id, b.Title, place{1120, 14 * eveningHigh}}, b.draw),
			Small: svg(drawn{id + "-small", b.Title, place{420, 14 * eveningHigh}}, b.draw)}
	case Parted:
		return leafPart{Title: b.Title, Large: svg(drawn{id, b.Title, place{1120, 300}}, b.draw),
			Small: svg(drawn{id + "-small", b.Title, place{420, 300}}, b.draw)}
	case Code:
		return leafPart{Square: b.square.SVG(b.Text), Of: b.Of}
	case Grid:
		g := b.printed()
		if len(g.Rows) == 0 {
			return leafPart{Text: g.Empty}
		}
		return leafPart{Grid: gridOf(g), Left: g.left(d.by)}
	}
	return leafPart{}
}

// drawn is a drawing with its name on the page, its title and its size.
type drawn struct {
	id, title string
	size      place
}

// svg draws a scalable picture; colours come from the page.
func svg(about drawn, draw func(c canvas, size place, text float64)) template.HTML {
	d := &picture{id: about.id}
	d.printf(`<svg class="chart" viewBox="0 0 %g %g" role="img" aria-labelledby="%s-title" xmlns="http://www.w3.org/2000/svg"><title `+
		`id="%s-title">%s</title>`,
		about.size.x, about.size.y, about.id, about.id, escape(about.title))
	d.printf(`<defs><pattern id="%s-hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path `+
		`class="chart-hatch" d="M0 0V7"/></pattern></defs>`, about.id)
	draw(d, about.size, 14)
	d.printf(`</svg>`)
	return template.HTML(d.out.String()) //nolint:gosec // all text is escaped
}

// picture draws as SVG.
type picture struct {
	out strings.Builder
	id  string
}

func (d *picture) printf(format string, values ...any) { fmt.Fprintf(&d.out, format, values...) }

func (d *picture) line(kind string, from, to place) {
	class := map[string]string{"grid": "chart-grid", "limit": "chart-limit", "axis": "chart-axis", "lowest": "chart-lowest"}[kind]
	d.printf(`<path class="%s" d="M%.1f %.1fL%.1f %.1f"/>`, class, from.x, from.y, to.x, to.y)
}

func (d *picture) box(kind string, at, size place) {
	if kind == "bar" {
		d.printf(`<rect class="chart-bar" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, at.x, at.y, size.x, size.y)
		return
	}
	if class, known := map[string]string{"proven": "chart-proven", "unknown": "chart-unknown"}[kind]; known {
		d.printf(`<rect class="%s" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, class, at.x, at.y, size.x, size.y)
		return
	}
	class := "chart-gap"
	if kind == "low" {
		class = "chart-low"
	}
	d.printf(`<rect class="%s" fill="url(#%s-hatch)" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, class, d.id, at.x, at.y, size.x, size.y)
}

func (d *picture) words(at place, anchor, text string) {
	d.printf(`<text x="%.1f" y="%.1f" text-anchor="%s" font-size="14">%s</text>`, at.x, at.y, anchor, escape(text))
}

func escape(text string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(text)) // a Builder never fails to write
	return b.String()
}
