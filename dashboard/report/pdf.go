package report

import (
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"wetside/sensors/quantity/phrase"
)

// The measures of a page of the PDF, in millimetres, and the sizes of its letters, in points.
const (
	pageMargin = 18.0
	bodySize   = 9.0
	gridSize   = 7.5
	lineHeight = 1.28 * 25.4 / 72 // of a letter of one point
)

// WritePDF draws a document on pages of the paper of its place, A4 or US letter. Its font
// is embedded. The same document made at the same time gives the same bytes.
func WritePDF(w io.Writer, doc Document, made time.Time) error {
	s, err := newSigns()
	if err != nil {
		return err
	}
	p := &pages{Fpdf: fpdf.New("P", "mm", paper(doc), ""), doc: s.readable(doc)}
	whole, _ := p.GetPageSize()
	p.width = whole - 2*pageMargin
	p.prepare(made)
	p.AddPage()
	p.head()
	for range p.doc.Sections {
		p.links = append(p.links, p.AddLink())
	}
	for i, section := range p.doc.Sections {
		if slices.Contains(p.doc.chapters, i) {
			p.AddPage()
		}
		p.section(i, section)
		if i == p.doc.contentsAfter {
			p.contents()
		}
	}
	if err := p.Output(w); err != nil {
		return phrase.Errorf("drawing the report: %w", err)
	}
	return nil
}

// paper is what the place of a document prints on.
func paper(doc Document) string {
	if place, says := doc.by.(interface{ OnLetter() bool }); says && place.OnLetter() {
		return "Letter"
	}
	return "A4"
}

// pages is a document being drawn, so wide between its margins.
type pages struct {
	*fpdf.Fpdf
	doc   Document
	width float64
	links []int // to each section
}

// Prepare gives a PDF its title and its font, and has the same drawn at the same time come to the same bytes.
func Prepare(p *fpdf.Fpdf, title string, made time.Time) {
	p.SetCatalogSort(true)
	p.SetCreationDate(made.UTC())
	p.SetModificationDate(made.UTC())
	p.SetTitle(title, true)
	p.SetLang("en")
	p.SetProducer("wetside", true)
	p.AddUTF8FontFromBytes("go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	p.SetCellMargin(0)
}

func (p *pages) prepare(made time.Time) {
	Prepare(p.Fpdf, p.doc.Title, made)
	p.SetSubject(p.doc.Subtitle[0], true)
	p.SetMargins(pageMargin, pageMargin, pageMargin)
	p.SetAutoPageBreak(true, pageMargin)
	p.AliasNbPages("{n}")
	p.SetLineWidth(0.2)
	p.SetDrawColor(110, 110, 110)
	p.SetHeaderFuncMode(p.banner, true)
	p.SetFooterFunc(p.foot)
}

// letters sets the font: its style, "" or "B", and its size in points.
func (p *pages) letters(style string, size float64) { p.SetFont("go", style, size) }

func (p *pages) banner() {
	if p.doc.Banner == "" {
		return
	}
	p.letters("B", 8)
	p.SetXY(pageMargin, 7)
	p.CellFormat(p.width, 6, p.doc.Banner, "1", 0, "C", false, 0, "")
	p.SetXY(pageMargin, pageMargin)
}

func (p *pages) foot() {
	p.letters("", 7)
	p.SetXY(pageMargin, -12)
	p.CellFormat(p.width/2, 4, p.doc.Subtitle[0], "", 0, "L", false, 0, "")
	p.CellFormat(p.width/2, 4, phrase.Say("Page %d of %s", p.PageNo(), "{n}").By(p.doc.by), "", 0, "R", false, 0, "")
}

func (p *pages) head() {
	p.letters("B", 19)
	p.MultiCell(p.width, 9, p.doc.Title, "", "L", false)
	p.Ln(1)
	for i, line := range p.doc.Subtitle {
		p.letters(map[bool]string{true: "B"}[i == 0], bodySize)
		p.MultiCell(p.width, bodySize*lineHeight, line, "", "L", false)
		p.Ln(0.8)
	}
}

// section starts on a new page when too little of this one is left for its beginning.
func (p *pages) section(number int, s Section) {
	p.room(max(42, 16+p.together(s.Blocks)))
	p.begins(number)
	p.Ln(5)
	p.letters("B", 12.5)
	p.Bookmark(s.Heading, 0, -1)
	p.MultiCell(p.width, 6, s.Heading, "", "L", false)
	y := p.GetY() + 0.6
	p.SetLineWidth(0.5)
	p.Line(pageMargin, y, pageMargin+p.width, y)
	p.SetLineWidth(0.2)
	p.SetY(y + 2)
	for i, b := range s.Blocks {
		switch b := b.(type) {
		case Text:
			p.room(p.together(s.Blocks[i:]))
			p.text(string(b))
		case Grid:
			p.grid(b)
		case Bars:
			p.drawing(b.Title, 44, func(s *sheet, size place) { b.draw(s, size, 2.4) })
		case Lead:
			p.letters("B", 14)
			p.MultiCell(p.width, 14*lineHeight, string(b), "", "L", false)
			p.Ln(4)
		case Figures:
			p.figures(b)
		case Code:
			p.code(b)
		case Evening:
			p.room(p.together(s.Blocks[i:]))
			p.drawing(b.Title, 2.4*eveningHigh, func(s *sheet, size place) { b.draw(s, size, 2.4) })
		case Parted:
			p.drawing(b.Title, p.high(), func(s *sheet, size place) { b.draw(s, size, 2.6) })
		}
	}
}

// together is the height of what the first of some blocks may not be parted from: a drawing is
// whole, a table has its heading and a row, and words that end in a colon stay with what they announce.
func (p *pages) together(blocks []Block) float64 {
	if len(blocks) == 0 {
		return 0
	}
	switch b := blocks[0].(type) {
	case Bars:
		return 59
	case Evening:
		return 2.4*eveningHigh + 28
	case Parted:
		return p.high() + 15
	case Text:
		p.letters("", bodySize)
		height := float64(len(p.SplitText(string(b), p.width)))*bodySize*lineHeight + 1.6
		if strings.HasSuffix(string(b), ":") {
			height += p.together(blocks[1:])
		}
		return min(height, 200)
	case Grid:
		return p.beginning(b)
	}
	return 0
}

// high is the height of the drawing of the evenings: US letter is lower than A4, and its first page holds the same.
func (p *pages) high() float64 {
	const drawing, a4, share = 58, 297, 0.65
	_, page := p.GetPageSize()
	return drawing - (a4-page)*share
}

// figures stand side by side, each over what it is of.
func (p *pages) figures(list Figures) {
	p.room(26)
	width, top, bottom := p.width/float64(len(list)), p.GetY(), 0.0
	for i, f := range list {
		p.SetXY(pageMargin+float64(i)*width, top)
		p.letters("B", 18)
		p.CellFormat(width, 8, f.Figure, "", 2, "L", false, 0, "")
		p.letters("", gridSize+0.5)
		p.MultiCell(width-4, (gridSize+0.5)*lineHeight, f.Of, "", "L", false)
		bottom = max(bottom, p.GetY())
	}
	p.SetXY(pageMargin, bottom+4)
}

// room begins a new page unless so many millimetres are left.
func (p *pages) room(height float64) bool {
	_, page := p.GetPageSize()
	if p.GetY()+height <= page-pageMargin {
		return false
	}
	p.AddPage()
	return true
}

func (p *pages) text(words string) {
	if words == "" {
		return
	}
	p.letters("", bodySize)
	p.MultiCell(p.width, bodySize*lineHeight, words, "", "L", false)
	p.Ln(1.6)
}

// drawing gives a drawing its title and its place in the breadth of the page.
func (p *pages) drawing(title string, height float64, draw func(*sheet, place)) {
	p.room(height + 12)
	p.letters("B", gridSize+0.5)
	p.MultiCell(p.width, (gridSize+0.5)*lineHeight, title, "", "L", false)
	p.Ln(1)
	p.letters("", gridSize-0.5)
	draw(&sheet{p, place{pageMargin, p.GetY()}}, place{p.width, height})
	p.SetXY(pageMargin, p.GetY()+height+3)
}

type sheet struct {
	*pages
	corner place
}

func (s *sheet) line(kind string, from, to place) {
	switch kind {
	case "grid":
		s.SetDrawColor(205, 205, 205)
	case "limit":
		s.SetDrawColor(0, 0, 0)
		s.SetDashPattern([]float64{2, 1}, 0)
	case "lowest":
		s.SetDrawColor(0, 0, 0)
		s.SetLineWidth(0.9)
	default:
		s.SetDrawColor(0, 0, 0)
		s.SetLineWidth(0.3)
	}
	s.Line(s.corner.x+from.x, s.corner.y+from.y, s.corner.x+to.x, s.corner.y+to.y)
	s.SetDashPattern(nil, 0)
	s.SetLineWidth(0.2)
	s.SetDrawColor(110, 110, 110)
}

func (s *sheet) box(kind string, at, size place) {
	x, y := s.corner.x+at.x, s.corner.y+at.y
	if kind == "bar" {
		s.SetFillColor(165, 165, 165)
		s.Rect(x, y, size.x, size.y, "F")
		return
	}
	switch kind {
	case "proven":
		s.SetFillColor(30, 28, 26)
		s.Rect(x, y, size.x, size.y, "F")
		return
	case "unknown":
		s.SetDashPattern([]float64{0.8, 0.6}, 0)
		s.Rect(x, y, size.x, size.y, "D")
		s.SetDashPattern(nil, 0)
		return
	}
	if kind == "low" {
		s.Rect(x, y, size.x, size.y, "D")
	}
	s.ClipRect(x, y, size.x, size.y, true)
	for d := -size.y; d < size.x; d += 1.6 {
		s.Line(x+d, y+size.y, x+d+size.y, y)
	}
	s.ClipEnd()
}

func (s *sheet) words(at place, anchor, text string) {
	x, width := s.corner.x+at.x, s.GetStringWidth(text)
	switch anchor {
	case "middle":
		x -= width / 2
	case "end":
		x -= width
	}
	s.Text(x, s.corner.y+at.y, text)
}

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
