package campaign

import (
	"fmt"
	"html"
	"os"
	"strings"
	"testing"
)

// Draw names the environment variable that lets a test draw its picture anew:
//
//	WETSIDE_DRAW=1 go test ./rules/ventilation ./daemon/campaign/intervals -run 'TruthTable|Interval'
const Draw = "WETSIDE_DRAW"

// Picture is a drawing of the guide (SVG) that a test keeps in step with what it shows.
type Picture struct {
	Width, Height int
	parts         strings.Builder
}

// Words writes text with its baseline at a place: in bold, or plain.
func (p *Picture) Words(x, y int, text string, bold bool) {
	weight := ""
	if bold {
		weight = ` font-weight="bold"`
	}
	fmt.Fprintf(&p.parts, "<text x=\"%d\" y=\"%d\"%s>%s</text>\n", x, y, weight, html.EscapeString(text))
}

// Box fills a rectangle with a colour.
func (p *Picture) Box(x, y, width, height int, colour string) {
	fmt.Fprintf(&p.parts, "<rect x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" fill=\"%s\"/>\n", x, y, width, height, colour)
}

// String is the whole drawing, on white: guides are read on dark pages too.
func (p *Picture) String() string {
	return fmt.Sprintf("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" font-family=\"sans-serif\" font-size=\"12\">\n"+
		"<rect width=\"100%%\" height=\"100%%\" fill=\"#fff\"/>\n%s</svg>\n", p.Width, p.Height, &p.parts)
}

// InStep fails where the file does not hold what is drawn; where [Draw] is set, it writes the file.
func (p *Picture) InStep(t testing.TB, file string) {
	t.Helper()
	if os.Getenv(Draw) != "" {
		if err := os.WriteFile(file, []byte(p.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	kept, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if string(kept) != p.String() {
		t.Errorf("%s shows something else than this test found: draw it again with %s=1, and look at what changed", file, Draw)
	}
}
