package keep

import (
	"fmt"
	"time"

	"wetside/dashboard/cards"
	"wetside/dashboard/chart"
	"wetside/dashboard/web"
	"wetside/rules/truth"
	"wetside/sensors/quantity/phrase"
)

// The rows of the tables on the page of a probe; all text.
type (
	deviceRow     struct{ Probe, Make, Accuracy, From, To, Why, By string }
	checkRow      struct{ When, Method, Reference, With, Found, Left, Error, Verdict, Shape, Next, By, Note, Probe string }
	correctionRow struct{ From, Slope, Offset, Known, By, Why string }
	handRow       struct{ When, Value, With, Probe, Apart, By string }
)

// mostRows is how many rows of a kind are shown; the record book and the report hold all.
const mostRows = 20

func (d probeDrawing) tables(b *probeBody) {
	for _, x := range cards.Newest(d.life.Fittings, mostRows) {
		row := deviceRow{Probe: x.Probe, Make: x.Make, By: x.By, Why: d.Text(x.Why), Accuracy: "not stated"}
		if x.Accuracy > 0 {
			row.Accuracy = "± " + d.size(x.Accuracy)
		}
		if x.Probe == "" {
			row.Probe = "not recorded"
		}
		row.From, row.To = d.orDash(x.From), d.orDash(x.To)
		if x.Late() {
			row.From = fmt.Sprintf("%s, entered late on %s", row.From, d.Moment(x.Entered))
		}
		b.Devices = append(b.Devices, row)
	}
	for _, x := range cards.Newest(d.life.Checks, mostRows) {
		b.Checks = append(b.Checks, d.checkRow(x))
	}
	for _, x := range cards.Newest(d.life.Corrections, mostRows) {
		row := correctionRow{From: d.Moment(x.From), Slope: d.Plain(round(x.Slope)), Offset: d.apart(x.Offset),
			Known: "in the settings", By: x.Person, Why: x.Why}
		if x.Record > 0 {
			row.Known = d.Moment(x.At)
		}
		if x.Check > 0 {
			row.Why = "by a check"
		}
		b.Corrections = append(b.Corrections, row)
	}
	for _, x := range cards.Newest(d.life.Hands, mostRows) {
		row := handRow{When: d.Moment(x.At), Value: d.reading(x.Value), With: x.With, By: x.Person, Probe: "none",
			Apart: "none"}
		if apart, ok := d.life.Difference(x); ok {
			row.Probe, row.Apart = d.reading(x.Value+apart), d.apart(apart)
		}
		b.Hands = append(b.Hands, row)
	}
}

func (d probeDrawing) orDash(t time.Time) string {
	if t.IsZero() {
		return "–"
	}
	return d.Moment(t)
}

func (d probeDrawing) checkRow(x truth.Check) checkRow {
	row := checkRow{When: d.Moment(x.At), Method: phrase.Capital(string(x.Method)),
		Reference: d.reading(x.Reference) + " ± " + d.size(x.Uncertainty), With: x.Instrument,
		Found: d.reading(x.AsFound), Left: d.reading(x.Left), Error: d.apart(x.Verdict.Error), Verdict: d.verdict(x.Verdict),
		Shape: verdictShape(x.Verdict),
		By:    x.Person, Note: x.Note, Probe: x.Probe}
	if x.Certificate != "" {
		row.With = fmt.Sprintf("%s, certificate %s", x.Instrument, x.Certificate)
	}
	if x.Calculated {
		row.Left = fmt.Sprintf("%s, by calculation", row.Left)
	}
	if !x.Next.IsZero() {
		row.Next = d.LastDay(x.Next)
	}
	return row
}

// chart draws by how much the probe was found off, by checks and by hand readings.
func (d probeDrawing) chart(b *probeBody) (err error) {
	var checks, hands []chart.Point
	for _, c := range d.life.Checks {
		checks = append(checks, d.offBy(c.At, c.Verdict.Error))
	}
	for _, h := range d.life.Hands {
		if off, ok := d.life.Difference(h); ok {
			hands = append(hands, d.offBy(h.At, off))
		}
	}
	if err := d.errors(b, "Error found by checks", checks); err != nil {
		return err
	}
	return d.errors(b, "Error found by hand readings", hands)
}

// errors draws errors over time where there are at least two.
func (d probeDrawing) errors(b *probeBody, title string, points []chart.Point) (err error) {
	if len(points) < 2 {
		return nil
	}
	c := chart.Chart{Title: title, Description: web.Count(len(points), "%d error", "%d errors"),
		Unit: d.Unit(d.life.Channel.Dimension).Label(),
		From: points[0].At, To: d.Now.Wall, Zone: d.Zone, Step: 0.01, DecimalComma: d.DecimalComma, Line: chart.Line{Points: points}}
	c.From = c.From.Add(-c.To.Sub(c.From) / 20)
	drawn := errorDrawing{Title: title}
	c.ID, c.Width, c.Height = fmt.Sprintf("wide-%d", len(b.Errors)), 900, 220
	if drawn.Wide, err = cards.Drawn(c); err != nil {
		return err
	}
	c.ID, c.Width = fmt.Sprintf("narrow-%d", len(b.Errors)), 420
	drawn.Narrow, err = cards.Drawn(c)
	b.Errors = append(b.Errors, drawn)
	return err
}

// offBy is a difference at a time, in the place's unit.
func (d probeDrawing) offBy(at time.Time, off float64) chart.Point {
	u := d.Unit(d.life.Channel.Dimension)
	v := u.FromBase(off) - u.FromBase(0)
	return chart.Point{At: at, Min: v, Mean: v, Max: v}
}
