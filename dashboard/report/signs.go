package report

import (
	"fmt"
	"strings"

	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/norm"

	"wetside/sensors/quantity/phrase"
)

// signs knows which signs the font of the PDF can draw.
type signs struct {
	font   *sfnt.Font
	buffer sfnt.Buffer
	known  map[rune]bool
	// missed is set once a sign was written as its number.
	missed bool
}

func newSigns() (*signs, error) {
	f, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		return nil, phrase.Errorf("reading the font of the report: %w", err)
	}
	return &signs{font: f, known: map[rune]bool{}}, nil
}

// draws says whether the font has a sign. The PDF's writer takes signs of the basic plane alone.
func (s *signs) draws(r rune) bool {
	if known, asked := s.known[r]; asked {
		return known
	}
	glyph, err := s.font.GlyphIndex(&s.buffer, r)
	s.known[r] = r >= ' ' && r <= 0xffff && err == nil && glyph != 0
	return s.known[r]
}

// plain writes signs that can't be drawn as their Unicode numbers, those beside each
// other in one pair of brackets, and line breaks as blanks. A letter with a mark over it
// is drawn as one sign where there is one.
func (s *signs) plain(text string) string {
	text = norm.NFC.String(strings.Join(strings.Fields(text), " "))
	var out strings.Builder
	open := false
	for _, r := range text {
		if s.draws(r) {
			if open {
				out.WriteByte(']')
			}
			open = false
			out.WriteRune(r)
			continue
		}
		if open {
			fmt.Fprintf(&out, " %X", r)
		} else {
			fmt.Fprintf(&out, "[%X", r)
		}
		s.missed, open = true, true
	}
	if open {
		out.WriteByte(']')
	}
	return out.String()
}

// readable gives a document whose every text the font can draw, and says in it when
// some could not be written as they are.
func (s *signs) readable(d Document) Document {
	out := Document{by: d.by, chapters: d.chapters, contents: d.contents, contentsAfter: d.contentsAfter,
		Title: s.plain(d.Title), Banner: s.plain(d.Banner)}
	for _, section := range d.Sections {
		part := Section{Heading: s.plain(section.Heading)}
		for _, b := range section.Blocks {
			part.Blocks = append(part.Blocks, s.block(b))
		}
		out.Sections = append(out.Sections, part)
	}
	for _, line := range d.Subtitle {
		out.Subtitle = append(out.Subtitle, s.plain(line))
	}
	if s.missed {
		out.Subtitle = append(out.Subtitle, phrase.Say("Some names use characters that the font of this document does not have. Each such "+
			"character "+
			"is written as its Unicode number in brackets, such as [5C71 7530] for two of them; the page and the tables beside this document "+
			"show them as they were entered.").By(d.by))
	}
	return out
}

func (s *signs) block(b Block) Block {
	switch b := b.(type) {
	case Text:
		return Text(s.plain(string(b)))
	case Grid:
		b = b.printed()
		g := Grid{Empty: s.plain(b.Empty), File: b.File, Narrow: b.Narrow, rest: b.rest}
		for _, c := range b.Columns {
			c.Title = s.plain(c.Title)
			g.Columns = append(g.Columns, c)
		}
		for _, cells := range b.Rows {
			plain := make([]string, len(cells))
			for i, cell := range cells {
				plain[i] = s.plain(cell)
			}
			g.Rows = append(g.Rows, plain)
		}
		return g
	case Bars:
		b.Title = s.plain(b.Title)
		return b
	case Evening:
		b.Title = s.plain(b.Title)
		return b
	case Lead:
		return Lead(s.plain(string(b)))
	case Code:
		b.Of = s.plain(b.Of)
		return b
	}
	return b
}

// Printable gives a text whose every sign the font of a PDF can draw: others are
// written as their Unicode numbers in brackets, and line breaks as blanks.
func Printable(text string) (string, error) {
	s, err := newSigns()
	if err != nil {
		return "", err
	}
	return s.plain(text), nil
}
