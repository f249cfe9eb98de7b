package report

import (
	"slices"
	"strings"

	"wetside/sensors/quantity/phrase"
)

// Document is a pack as people read it: the same for the PDF and for the page.
type Document struct {
	Title    string
	Subtitle []string
	// Banner is said at the head of every page, such as that the data is simulated.
	Banner   string
	Sections []Section
	// chapters are the numbers of sections that begin a page.
	chapters []int
	// contents are the numbers of sections that a list names, which stands behind the section so numbered.
	contents      []int
	contentsAfter int
	by            phrase.Place
}

// Section is a part of a document under a heading.
type Section struct {
	Heading string
	Blocks  []Block
}

// Block is a [Text], a [Grid], a [Bars], a [Lead], [Figures], a [Parted], an [Evening] or a [Code].
type Block interface{ block() }

// Text is a paragraph.
type Text string

// Grid is a table as people read it.
type Grid struct {
	Columns []Column
	Rows    [][]string
	// Empty is said in the place of a table without rows.
	Empty string
	// File holds every row where there are too many to print.
	File string
	// Narrow tables are drawn over a part of the breadth, so that figures stay near their names.
	Narrow bool
	rest   int // rows that are left to the file
}

// Column is a column of a grid. Width is its share of the breadth.
type Column struct {
	Title string
	Width float64
	Side  side
}

// side is where the text of a column stands.
type side uint8

const (
	left side = iota
	right
)

// Right says that the column stands to the right.
func (c Column) Right() bool { return c.Side == right }

// Bars draws a figure for each of a row of things against what is required of it.
type Bars struct {
	Title, Unit string
	Bars        []Bar
	// Required is drawn as a line; nil where nothing is.
	Required *float64
	by       phrase.Place
}

// Bar is one figure and the lowest that it is the middle of; nil where nothing was measured.
type Bar struct {
	Label           string
	Typical, Lowest *float64
}

func (Text) block() {}
func (Grid) block() {}
func (Bars) block() {}

// sharing puts rows that differ in one column alone into one row, which names all that is in that column.
func (g Grid) sharing(column int) Grid {
	var rows [][]string
	at := map[string]int{}
	for _, cells := range g.Rows {
		rest := strings.Join(slices.Concat(cells[:column], cells[column+1:]), "\x00")
		if i, met := at[rest]; met {
			rows[i][column] += "; " + cells[column]
			continue
		}
		at[rest] = len(rows)
		rows = append(rows, cells)
	}
	g.Rows = rows
	return g
}

// mostRows is how many rows of a table are printed; beyond it the file has the rest.
const mostRows = 300

// full says that no more rows are printed and leaves one to the file, so that a row that nobody sees is not made.
func (g *Grid) full() bool {
	if len(g.Rows) < mostRows {
		return false
	}
	g.rest++
	return true
}

// printed gives the grid with the rows that are printed; the others are left to the file.
func (g Grid) printed() Grid {
	if n := len(g.Rows); n > mostRows {
		g.Rows, g.rest = g.Rows[:mostRows], n-mostRows
	}
	return g
}

// left says what is not printed; empty when everything is.
func (g Grid) left(by phrase.Place) string {
	if g.rest == 0 {
		return ""
	}
	return phrase.Say("%d more rows are in the table %s.", g.rest, g.File).By(by)
}
