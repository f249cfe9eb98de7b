package report

import (
	"fmt"
	"html/template"
	"strings"

	"rsc.io/qr"

	"wetside/sensors/quantity/phrase"
)

// Code is a text as a square that a camera reads (QR, ISO/IEC 18004), beside words about the text.
type Code struct {
	Text, Of string
	square   Square
}

func (Code) block() {}

// Square is a text as rows of dark and light fields. The empty margin around them, which a
// camera needs, is left to whoever draws them.
type Square struct{ dark [][]bool }

// SquareMargin is how many fields must stay empty around a square: ISO/IEC 18004, from memory.
const SquareMargin = 4

// NewSquare draws a text; one that is too long for a square is an error. About 15 % of the
// square may be smudged.
func NewSquare(text string) (Square, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return Square{}, phrase.Errorf("a text of %d letters can't be drawn as a square for a camera: %w", len(text), err)
	}
	s := Square{make([][]bool, code.Size)}
	for y := range s.dark {
		s.dark[y] = make([]bool, code.Size)
		for x := range s.dark[y] {
			s.dark[y][x] = code.Black(x, y)
		}
	}
	return s, nil
}

// Fields is how many fields a side has, without its margin.
func (s Square) Fields() int { return len(s.dark) }

// Runs gives the dark fields as runs: from a field on, so many to the right.
func (s Square) Runs(draw func(x, y, length int)) {
	for y, row := range s.dark {
		for x := 0; x < len(row); x++ {
			from := x
			for x < len(row) && row[x] {
				x++
			}
			if x > from {
				draw(from, y, x-from)
			}
		}
	}
}

// checkpointBlocks show the checkpoint for whoever keeps the report outside of the computer:
// in capitals, which take a smaller square. A book that is broken has none to keep.
func (d composer) checkpointBlocks() []Block {
	if !d.Book.Holds {
		return nil
	}
	s, err := NewSquare(strings.ToUpper(d.Book.Checkpoint))
	if err != nil {
		return nil // the checkpoint is in the text above
	}
	return []Block{Code{d.Book.Checkpoint, "Checkpoint of the record book. Keep this report away from the computer: later, \"wetside " +
		"verify --checkpoint\" with this number and hash shows whether any record up to it was changed or removed. It can't show " +
		"whether what people and probes entered was right.", s}}
}

// SVG draws the square in the two colours of its page, with words for whoever does not see it.
func (s Square) SVG(label string) template.HTML {
	side := s.Fields() + 2*SquareMargin
	var path strings.Builder
	s.Runs(func(x, y, length int) {
		fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", x+SquareMargin, y+SquareMargin, length, length)
	})
	return template.HTML(fmt.Sprintf( //nolint:gosec // numbers, and a text that is escaped
		`<svg class="report-square" viewBox="0 0 %[1]d %[1]d" role="img" aria-label="%[2]s" shape-rendering="crispEdges" `+
			`xmlns="http://www.w3.org/2000/svg"><rect class="square-light" width="%[1]d" height="%[1]d"/>`+
			`<path class="square-dark" d="%[3]s"/></svg>`, side, escape(label), path.String()))
}

// squareSize is the side of a square in the PDF with its margin, in millimetres.
const squareSize = 34.0

// code draws the square with its text and the words beside it.
func (p *pages) code(c Code) {
	p.room(squareSize + 2)
	top := p.GetY()
	field := squareSize / float64(c.square.Fields()+2*SquareMargin)
	p.SetFillColor(0, 0, 0)
	c.square.Runs(func(x, y, length int) {
		p.Rect(pageMargin+float64(x+SquareMargin)*field, top+float64(y+SquareMargin)*field, float64(length)*field, field, "F")
	})
	p.SetLeftMargin(pageMargin + squareSize + 2)
	p.SetXY(pageMargin+squareSize+2, top+SquareMargin*field)
	width := p.width - squareSize - 2
	p.letters("B", bodySize-1)
	p.MultiCell(width, (bodySize-1)*lineHeight, c.Text, "", "L", false)
	p.Ln(1)
	p.letters("", bodySize)
	p.MultiCell(width, bodySize*lineHeight, c.Of, "", "L", false)
	p.SetLeftMargin(pageMargin)
	p.SetXY(pageMargin, max(p.GetY(), top+squareSize)+1.6)
}
