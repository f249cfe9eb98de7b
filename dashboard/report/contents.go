package report

import (
	"strconv"

	"wetside/sensors/quantity/phrase"
)

// contentsColumns is in how many columns the list of the sections is drawn.
const contentsColumns = 3

// begins notes on which page a section begins, for the list that names it on an earlier one.
func (p *pages) begins(section int) {
	p.SetLink(p.links[section], -1, -1)
	p.RegisterAlias(pageOf(section), strconv.Itoa(p.PageNo()))
}

// pageOf stands for the number of a page that is not drawn yet.
func pageOf(section int) string { return "{page " + strconv.Itoa(section) + "}" }

// contents lists sections with their pages; a press on one leads there.
func (p *pages) contents() {
	if len(p.doc.contents) == 0 {
		return
	}
	rows := (len(p.doc.contents) + contentsColumns - 1) / contentsColumns
	const row = gridSize*lineHeight + 1.6
	p.room(float64(rows)*row + 12)
	p.Ln(4)
	p.letters("B", bodySize)
	p.CellFormat(p.width, 6, phrase.Say("Contents").By(p.doc.by), "", 1, "L", false, 0, "")
	p.letters("", gridSize+0.5)
	top, width := p.GetY(), p.width/contentsColumns
	for i, section := range p.doc.contents {
		p.SetXY(pageMargin+float64(i/rows)*width, top+float64(i%rows)*row)
		p.CellFormat(7, row, pageOf(section), "", 0, "L", false, 0, "")
		p.CellFormat(width-9, row, p.shortened(p.doc.Sections[section].Heading, width-9), "", 0, "L", false, 0, "")
		p.Link(pageMargin+float64(i/rows)*width, top+float64(i%rows)*row, width-2, row, p.links[section])
	}
	p.SetXY(pageMargin, top+float64(rows)*row+2)
}

// shortened is a text cut to one line.
func (p *pages) shortened(text string, width float64) string {
	if lines := p.SplitText(text, width); len(lines) > 1 {
		return lines[0] + " …"
	}
	return text
}
