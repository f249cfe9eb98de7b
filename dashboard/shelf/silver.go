package shelf

import (
	"fmt"
	"net/url"
	"time"

	"wetside/chem/ledger"
	"wetside/dashboard/web"
)

type silverLine struct{ Href, Sampled, Of, Figure, Method, Line, By string }

func (c stockPart) silverLog() []silverLine {
	var lines []silverLine
	for _, r := range c.book.SilverLog() {
		method := c.Word(r.Method)
		if r.Reference != "" {
			method += ", " + r.Reference
		}
		lines = append(lines, silverLine{Href: "/shelf/entry/" + web.Plain(float64(r.Entry)), Sampled: c.Date(r.Sampled), Of: r.Of(),
			Figure: c.Text(r.Silver.Sentence()),
			Method: method, Line: c.Word(r.Silver.Line()), By: r.By})
	}
	return lines
}

// enterSilver leads to the form of a measured figure, with today's date in it.
func (c shelfContext) enterSilver(container string) web.Link {
	q := url.Values{"container": {container}, "sampled": {c.Now.Wall.In(c.Zone).Format(time.DateOnly)}}
	return web.Link{Href: "/shelf/enter/silver-measured?" + q.Encode(), Text: "Record silver result"}
}

// silverEstimate says what is estimated of the silver in a liquid; empty for one that
// has fixed nothing as far as the book knows.
func (c shelfContext) silverEstimate(held ledger.Contents) string {
	in := c.book.Assumptions().Inputs()
	f, ok := in.Silver(held)
	if !ok {
		return ""
	}
	text := c.cautioned(fmt.Sprintf("Silver, estimated as if everything dissolved from its sheets stayed in the bath: %s to %s mg/L, %s, "+
		"the federal limit in the United States; a measured figure counts more.", c.Sign(significant(f.Low)),
		c.Sign(significant(f.High)), c.Word(f.Line())), f)
	switch {
	case held.Silver.After > 0 && in.Losses.CarryOver > 0:
		text += " " + "For sheets that came from another fixing bath, only carry-over is counted."
	case held.Silver.After > 0:
		text += " " + "This overstates the silver: the sheets came from another fixing bath. Enter the carry-over per square metre, and " +
			"only that is counted."
	}
	return text
}

// silverIn is what is known of the silver in a waste container: measured first.
func (c shelfContext) silverIn(w ledger.WasteLevel) []string {
	var lines []string
	r, changed, measured := c.book.SilverIn(w.Container)
	switch {
	case measured && !changed.IsZero():
		lines = append(lines,
			fmt.Sprintf("Silver, measured: %s by %s, sampled %s. More came in on %s: the figure no longer applies.", r.Silver,
				c.Word(r.Method), c.Date(r.Sampled),
				c.Brief(changed))+" "+"Treat this liquid as silver-bearing.")
	case measured:
		text := fmt.Sprintf("Silver, measured: %s by %s, sampled %s: %s, the federal limit in the United States.", r.Silver, c.Word(r.Method),
			c.Date(r.Sampled), c.Word(r.Silver.Line()))
		lines = append(lines, c.cautioned(text, r.Silver))
	}
	if held, ok := c.book.Contents(w.Container, c.book.At); ok {
		if text := c.silverEstimate(held); text != "" {
			lines = append(lines, text)
		}
	}
	if !measured && w.Stream == ledger.SilverStream {
		lines = append(lines, "No measured figure has been entered.")
	}
	return lines
}

// cautioned adds what to do with a figure that leaves it open.
func (c shelfContext) cautioned(text string, f ledger.SilverFigure) string {
	if f.Line() == ledger.LineUnknown {
		text += " " + "Treat this liquid as silver-bearing."
	}
	return text
}

// significant writes a rough concentration to as many places as an estimate is worth.
func significant(mg float64) string {
	if mg < 10 {
		return web.Number(mg, 1)
	}
	return web.Number(mg, 0)
}
