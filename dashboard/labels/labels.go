// Package labels draws labels for bottles and trays on sheets of labels as the trade
// sells them: as PDF, in the largest letters that each label holds.
package labels

import (
	"fmt"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"wetside/dashboard/report"
	"wetside/sensors/quantity/phrase"
)

// Sheet is a paper with labels on it. All lengths are in millimetres.
type Sheet struct {
	ID, Paper     string
	Width, Height float64 // of the paper
	Columns, Rows int
	Wide, High    float64 // of one label
	Left, Top     float64 // of the first one
	Across, Down  float64 // from one label to the next
}

// Sheets are the common sizes, by paper and then by size, the largest first. The
// measures are common practice of the trade; a test print on plain paper, held against
// the sheet, shows whether a printer keeps to them.
func Sheets() []Sheet {
	const a4Wide, a4High, letterWide, letterHigh = 210, 297, 215.9, 279.4
	return []Sheet{
		{"a4-4", "A4", a4Wide, a4High, 2, 2, 99.1, 139, 4.65, 9.5, 101.6, 139},
		{"a4-8", "A4", a4Wide, a4High, 2, 4, 99.1, 67.7, 4.65, 13.1, 101.6, 67.7},
		{"a4-14", "A4", a4Wide, a4High, 2, 7, 99.1, 38.1, 4.65, 15.15, 101.6, 38.1},
		{"a4-21", "A4", a4Wide, a4High, 3, 7, 63.5, 38.1, 7.25, 15.15, 66, 38.1},
		{"letter-4", "US letter", letterWide, letterHigh, 2, 2, 101.6, 127, 3.97, 12.7, 106.36, 127},
		{"letter-6", "US letter", letterWide, letterHigh, 2, 3, 101.6, 84.67, 3.97, 12.7, 106.36, 84.67},
		{"letter-10", "US letter", letterWide, letterHigh, 2, 5, 101.6, 50.8, 3.97, 12.7, 106.36, 50.8},
		{"letter-14", "US letter", letterWide, letterHigh, 2, 7, 101.6, 33.87, 3.97, 21.17, 106.36, 33.87},
	}
}

// Count is how many labels a sheet has.
func (s Sheet) Count() int { return s.Columns * s.Rows }

// Find gives the sheet of an identity; the error says which there are.
func Find(id string) (Sheet, error) {
	var known []string
	for _, s := range Sheets() {
		if s.ID == id {
			return s, nil
		}
		known = append(known, s.ID)
	}
	return Sheet{}, phrase.Errorf("there is no sheet of labels %q: choose one of %q", id, known)
}

// place is the upper left corner of the nth label of a sheet, by rows, from 0 on.
func (s Sheet) place(n int) (x, y float64) {
	return s.Left + float64(n%s.Columns)*s.Across, s.Top + float64(n/s.Columns)*s.Down
}

// Label is what stands on one label, from top to bottom.
type Label struct {
	// Code leads to the batch; empty on a vessel's own label.
	Code string
	// Address leads to the page of the batch or the bottle, drawn for a camera; empty for none.
	Address string
	Name    string
	// Lines are its parts, when it was mixed and by whom.
	Lines []string
	// By is the day by which to discard it, or what a vessel is kept for; it stands out.
	By string
	// Cautions are left out from the end where a label is too small for all of them.
	Cautions []string
}

// Print says on what labels are drawn: from which label of the first sheet on, counted
// from 1, and when.
type Print struct {
	Sheet Sheet
	From  int
	Made  time.Time
	Title string
	// Simulated stands on every label of a simulated room; empty for a real one.
	Simulated string
}

// Sizes of letters in points, and distances in millimetres.
const (
	smallest = 6.0
	margin   = 3.0
	leading  = 1.2 * 25.4 / 72 // millimetres of a line of one point
)

// WritePDF draws labels as PDF, on as many sheets as they need. The same labels made
// at the same time give the same bytes.
func WritePDF(w io.Writer, p Print, labels []Label) error {
	if p.From < 1 || p.From > p.Sheet.Count() {
		return fmt.Errorf("the sheet has labels 1 to %d, not %d", p.Sheet.Count(), p.From)
	}
	var err error
	if p.Simulated, err = report.Printable(p.Simulated); err != nil {
		return err
	}
	d := &drawing{fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: p.Sheet.Width,
		Ht: p.Sheet.Height}}), p}
	report.Prepare(d.Fpdf, d.Title, d.Made)
	d.SetMargins(0, 0, 0)
	d.SetAutoPageBreak(false, 0)
	for i, l := range labels {
		n := p.From - 1 + i
		if i == 0 || n%p.Sheet.Count() == 0 {
			d.AddPage()
		}
		readable, err := l.readable()
		if err != nil {
			return err
		}
		x, y := p.Sheet.place(n % p.Sheet.Count())
		if err := d.label(box{x + margin, y + margin, p.Sheet.Wide - 2*margin, p.Sheet.High - 2*margin}, readable); err != nil {
			return err
		}
	}
	if err := d.Output(w); err != nil {
		return fmt.Errorf("drawing the labels: %w", err)
	}
	return nil
}

// readable writes what the font has no signs for as numbers.
func (l Label) readable() (Label, error) {
	var err error
	for _, text := range append([]*string{&l.Name, &l.By}, pointers(&l.Lines, &l.Cautions)...) {
		if *text, err = report.Printable(*text); err != nil {
			return l, err
		}
	}
	return l, nil
}

// pointers gives the texts of lists that are copied before they are changed.
func pointers(lists ...*[]string) (all []*string) {
	for _, list := range lists {
		*list = append([]string(nil), *list...)
		for i := range *list {
			all = append(all, &(*list)[i])
		}
	}
	return all
}

type drawing struct {
	*fpdf.Fpdf
	Print
}

// box is a place on the paper, in millimetres.
type box struct{ x, y, wide, high float64 }

// label draws one label: the code and the name as large as the place allows, the
// cautions with what is left.
func (d *drawing) label(b box, l Label) error {
	b, err := d.square(b, l.Address)
	if err != nil {
		return err
	}
	b = d.text(b, "B", smallest, d.Simulated)
	large := min(30, b.high*0.5)
	if l.Code != "" {
		b = d.text(b, "B", large, l.Code)
	}
	b = d.text(b, "B", large*0.62, l.Name)
	b = d.text(b, "B", large*0.42, l.By)
	for _, line := range l.Lines {
		b = d.text(b, "", large*0.36, line)
	}
	for _, c := range l.Cautions {
		if d.height(b.wide, smallest+0.5, c) > b.high {
			break
		}
		b = d.text(b, "", smallest+0.5, c)
	}
	return nil
}

// largestSquare is the side of the largest square of an address, in millimetres.
const largestSquare = 30.0

// square draws an address for a camera at the upper right, and gives the place left of it.
func (d *drawing) square(b box, address string) (box, error) {
	if address == "" {
		return b, nil
	}
	s, err := report.NewSquare(address)
	if err != nil {
		return b, err
	}
	side := min(largestSquare, b.high, b.wide/3)
	field := side / float64(s.Fields()+2*report.SquareMargin)
	b.wide -= side
	d.SetFillColor(0, 0, 0)
	s.Runs(func(x, y, length int) {
		d.Rect(b.x+b.wide+float64(x+report.SquareMargin)*field, b.y+float64(y+report.SquareMargin)*field, float64(length)*field, field, "F")
	})
	return b, nil
}

// text writes a paragraph in the largest letters up to size that the place holds, and
// gives the place below it. What fits in no size is cut with a sign.
func (d *drawing) text(b box, style string, size float64, words string) box {
	if words == "" {
		return b
	}
	size = max(size, smallest)
	for {
		d.SetFont("go", style, size)
		lines := d.SplitText(words, b.wide)
		high := float64(len(lines)) * size * leading
		if high <= b.high || size <= smallest {
			return d.lines(b, size, lines)
		}
		size = max(smallest, size*0.93)
	}
}

func (d *drawing) lines(b box, size float64, lines []string) box {
	step := size * leading
	fit := min(len(lines), int(b.high/step))
	for i, line := range lines[:fit] {
		if i == fit-1 && fit < len(lines) {
			line += " …"
		}
		d.SetXY(b.x, b.y)
		d.CellFormat(b.wide, step, line, "", 0, "L", false, 0, "")
		b.y, b.high = b.y+step, b.high-step
	}
	return b
}

func (d *drawing) height(wide, size float64, words string) float64 {
	d.SetFont("go", "", size)
	return float64(len(d.SplitText(words, wide))) * size * leading
}
