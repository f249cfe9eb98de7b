package report

import "strings"

// grid draws a table. A row is kept together on one page, and the heading stands
// again on each new one.
func (p *pages) grid(g Grid) {
	if len(g.Rows) == 0 {
		p.text(g.Empty)
		return
	}
	widths := p.fitted(g)
	p.room(p.beginning(g)) // a heading does not stand alone
	p.heading(g, widths)
	for i, cells := range g.Rows {
		p.letters("", gridSize)
		lines, height := p.wrapped(cells, widths)
		keep := height
		if i == len(g.Rows)-2 { // the last row does not come alone onto a page
			_, last := p.wrapped(g.Rows[i+1], widths)
			keep += last
		}
		if p.room(min(keep, 200)) {
			p.heading(g, widths)
			p.letters("", gridSize)
		}
		p.row(g, lines, widths)
		p.rule(widths, 205)
	}
	p.Ln(2.4)
	p.text(g.left(p.doc.by))
}

// beginning is the height of a table's heading and its first row; a narrow table is not parted.
func (p *pages) beginning(g Grid) (height float64) {
	if len(g.Rows) == 0 {
		return bodySize*lineHeight + 1.6
	}
	widths, whole := p.fitted(g), g.Rows[:1]
	if g.Narrow {
		whole = g.Rows
	}
	for _, cells := range whole {
		p.letters("", gridSize)
		_, row := p.wrapped(cells, widths)
		height += row
	}
	return min(height, 210) + 12
}

// widths are the columns' shares of a breadth, in millimetres.
func (g Grid) widths(breadth float64) []float64 {
	sum := 0.0
	for _, c := range g.Columns {
		sum += c.Width
	}
	widths := make([]float64, len(g.Columns))
	for i, c := range g.Columns {
		widths[i] = breadth * c.Width / sum
		if g.Narrow {
			widths[i] *= 0.62
		}
	}
	return widths
}

// fitted are the widths of columns, each wide enough for its longest word where the others
// have room to spare: no heading and no figure is broken within a word.
func (p *pages) fitted(g Grid) []float64 {
	widths, need := g.widths(p.width), make([]float64, len(g.Columns))
	missing, spare := 0.0, 0.0
	for i := range g.Columns {
		need[i] = min(p.longestWord(g, i)+2*cellGap+0.2, p.width/4)
		missing, spare = missing+max(0, need[i]-widths[i]), spare+max(0, widths[i]-need[i])
	}
	if missing > spare {
		return widths
	}
	for i := range widths {
		if widths[i] < need[i] {
			widths[i] = need[i]
		} else if spare > 0 {
			widths[i] -= (widths[i] - need[i]) * missing / spare
		}
	}
	return widths
}

// longestWord is how wide the longest word of a column is, its heading with it; a moment is one word.
func (p *pages) longestWord(g Grid, column int) (longest float64) {
	measure := func(text string) {
		for word := range strings.FieldsSeq(text) {
			longest = max(longest, p.GetStringWidth(word))
		}
	}
	p.letters("B", gridSize)
	measure(g.Columns[column].Title)
	p.letters("", gridSize)
	for _, cells := range g.Rows {
		if isMoment(cells[column]) {
			longest = max(longest, p.GetStringWidth(cells[column]))
			continue
		}
		measure(cells[column])
	}
	return longest
}

func (p *pages) heading(g Grid, widths []float64) {
	titles := make([]string, len(g.Columns))
	named := false
	for i, c := range g.Columns {
		titles[i] = c.Title
		named = named || c.Title != ""
	}
	if !named {
		return
	}
	p.letters("B", gridSize)
	lines, height := p.wrapped(titles, widths)
	p.room(height + 8)
	p.letters("B", gridSize)
	p.row(g, lines, widths)
	p.rule(widths, 60)
}

// rule draws a line below a row, in a grey from 0 to 255.
func (p *pages) rule(widths []float64, grey int) {
	end := pageMargin
	for _, w := range widths {
		end += w
	}
	p.SetDrawColor(grey, grey, grey)
	p.Line(pageMargin, p.GetY(), end, p.GetY())
	p.SetDrawColor(110, 110, 110)
}

// cellGap is the space left free at either side of a cell, in millimetres.
const cellGap = 1.4

// mostLines bounds what one cell takes, so that a row always fits on a page.
const mostLines = 40

// wrapped breaks each cell into lines and gives the height of the row.
func (p *pages) wrapped(cells []string, widths []float64) (lines [][]string, height float64) {
	most := 1
	for i, cell := range cells {
		var broken []string
		if cell != "" {
			broken = p.SplitText(cell, widths[i]-2*cellGap)
		}
		if len(broken) > mostLines {
			broken = append(broken[:mostLines-1], "…")
		}
		lines = append(lines, broken)
		most = max(most, len(broken))
	}
	return lines, float64(most)*gridSize*lineHeight + 1.4
}

func (p *pages) row(g Grid, lines [][]string, widths []float64) {
	top, x, bottom := p.GetY()+0.7, pageMargin, p.GetY()
	for i, cell := range lines {
		align := "L"
		if g.Columns[i].Right() {
			align = "R"
		}
		for n, line := range cell {
			p.SetXY(x+cellGap, top+float64(n)*gridSize*lineHeight)
			p.CellFormat(widths[i]-2*cellGap, gridSize*lineHeight, line, "", 0, align, false, 0, "")
		}
		bottom = max(bottom, top+float64(max(len(cell), 1))*gridSize*lineHeight+0.7)
		x += widths[i]
	}
	p.SetXY(pageMargin, bottom)
}
