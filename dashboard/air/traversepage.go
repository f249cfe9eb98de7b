package air

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// traverseBody leads through a traverse of the exhaust duct: first its inside, then a
// velocity at each point, then what was measured with.
type traverseBody struct {
	Look    web.Look
	Problem string
	Wrong   string
	// Shape and sizes as they were typed; Points are empty until they make a duct.
	Shape, Diameter, Width, Height string
	Drawing                        ductDrawing
	Points                         []traversePoint
	Unit                           string
	Fields                         []web.Ask
	Token                          string
	Now                            string // what counts today, in words
	Derivation                     string
	Earlier                        []traverseRow
	Back                           web.Link
}

// ductDrawing is the cross-section with its points. Lengths are in hundredths of the width.
type ductDrawing struct {
	Round       bool
	Height, Box string // of the duct, and of the drawing with its margin
	Points      []drawnPoint
}

type drawnPoint struct{ X, Y, TextY, Number string }

// traversePoint is one place to measure at, with what was typed for it.
type traversePoint struct {
	Number           int
	Name, Across, Up string
	ID, Value        string
	Wrong            bool
}

type traverseRow struct{ Date, Flow, Factor, Evenness, Instrument, Conditions, By string }

func (s *Pages) traversePage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	f, l, a := s.figures(in.Site), web.LookOf(r), s.Attempt(r)
	v := r.URL.Query()
	body := traverseBody{Look: l, Token: web.NewToken(), Unit: f.Unit(quantity.Velocity).Label(),
		Now: f.commissioned(in.Snap.Air.Commissioned), Derivation: f.Text(in.Snap.Air.Limits.Derivation),
		Back: l.Link("../air", "Back to the air")}
	if a.Problem != nil {
		v, body.Problem, body.Wrong = a.Typed.More, a.Problem.Sentence, a.Problem.Field
	}
	f.section(&body, in.Snap, v)
	body.Fields = f.traverseFields(in.Snap, v, body.Wrong)
	traverses, err := earlier[rules.CommissionAir](r.Context(), s, in.Snap.Room)
	if err != nil {
		body.Problem = f.ErrorText(err)
	}
	body.Earlier = f.traverses(traverses)
	s.Show(w, r, http.StatusOK, s.PageFor(web.Head{Name: "traverse", Title: "Traverse of the duct"}, l, in).With(body, "air.css"))
}

// section fills in the duct that was asked for and, once it is one, its points.
func (f figures) section(body *traverseBody, snap *rules.Snapshot, v url.Values) {
	body.Shape, body.Diameter, body.Width, body.Height = v.Get("shape"), v.Get("diameter"), v.Get("width"), v.Get("height")
	if body.Shape == "" {
		if area := float64(snap.Air.Duct.Area); area > 0 {
			body.Diameter = web.Number(200*math.Sqrt(area/math.Pi), 1) + " cm"
		}
		return
	}
	fr := f.Reader(v)
	duct := readSection(fr)
	points, err := duct.Points()
	if fr.Problem == nil && err != nil {
		fr.Problem = &web.Problem{Field: "diameter", Sentence: f.ErrorText(err)}
	}
	if fr.Problem != nil {
		body.Problem, body.Wrong = fr.Problem.Sentence, fr.Problem.Field
		return
	}
	f.points(body, duct, v)
	body.Drawing = drawDuct(duct, points)
}

// points lists the places of the duct with what was typed for each.
func (f figures) points(body *traverseBody, duct rules.Section, v url.Values) {
	list, _ := duct.Points() // they were made before
	for i, p := range list {
		name := pointName(i)
		body.Points = append(body.Points, traversePoint{Number: i + 1, Name: name, Across: f.depth(p.X), Up: f.depth(p.Y),
			ID: name + "-" + body.Token, Value: v.Get(name), Wrong: body.Wrong == name})
	}
}

func pointName(i int) string { return "v" + strconv.Itoa(i+1) }

// depth is how far in from a wall, as a ruler reads it: millimetres, or inches where
// the place reads US units.
func (f figures) depth(m quantity.Metre) string {
	if f.Unit(cards.FlowDimension).Symbol() == "cfm" {
		return web.Number(float64(m)/0.0254, 2) + " in"
	}
	return web.Number(float64(m)*1000, 0) + " mm"
}

func drawDuct(duct rules.Section, points []ventilation.Point) ductDrawing {
	width, height := duct.Width, duct.Height
	if duct.Shape == rules.RoundDuct {
		width, height = duct.Diameter, duct.Diameter
	}
	d := ductDrawing{Round: duct.Shape == rules.RoundDuct, Height: web.Number(float64(100*height/width), 2),
		Box: web.Number(float64(100*height/width)+6, 2)}
	for i, p := range points {
		x, y := float64(100*p.X/width), float64(100*(height-p.Y)/width)
		d.Points = append(d.Points, drawnPoint{web.Number(x, 2), web.Number(y, 2), web.Number(y+1.3, 2), strconv.Itoa(i + 1)})
	}
	return d
}

// traverseFields are the questions besides the points.
func (f figures) traverseFields(snap *rules.Snapshot, v url.Values, wrong string) []web.Ask {
	asks := []web.Ask{
		{Field: fixedField, Hint: "as a velocity; filled in with the present reading", Mode: "decimal", Value: f.probeNow(snap)},
		{Field: meterField, Hint: "make, type and number"},
		{Field: certifiedField, Hint: "kept with the traverse"},
		{Field: certifiedUntilField, Hint: "like 2027-01-15"},
		{Field: certaintyField, Hint: "as the certificate states for a coverage factor of 2", Mode: "decimal"},
		{Field: pressureField, Hint: "room minus the next room, as far as measured", Mode: "text", Value: f.pressureNow(snap)},
		{Field: conditionsField, Hint: "such as: doors closed, new filter, the other fan off"},
		{Field: web.OnField(), Hint: "Left empty: today. Or a day like 2026-01-15."},
		{Field: designField, Hint: "from the plans of the exhaust; leave empty if nobody knows", Mode: "text", Value: f.designNow(snap)},
		{Field: dueField, Hint: "like 2027-01-15"},
		{Field: zerosField, Hint: "a point that reads nothing is measured a second time",
			Choices: []web.Choice{{Value: "none", Text: "There are none"}, {Value: "measured-twice", Text: "Measured twice: no air moves there"}}},
		{Field: dropField, Hint: "asked for when less than 90 % of the design flow, or of the first traverse, moves"},
		{Field: web.WhoField()},
	}
	for i := range asks {
		asks[i].ID, asks[i].Wrong = "traverse-"+asks[i].Name, wrong == asks[i].Name
		if v.Has("token") {
			asks[i].Value = v.Get(asks[i].Name)
		}
		asks[i].Tick()
	}
	return asks
}

// probeNow is the velocity that the fixed probe stands for now; empty when it gives none.
func (f figures) probeNow(snap *rules.Snapshot) string {
	a := snap.Air
	if a.Flow == nil || !(a.Duct.Area > 0) || !(a.Duct.Factor > 0) {
		return ""
	}
	u := float64(*a.Flow) / 3600 / float64(a.Duct.Area)
	if c, known := cards.ChannelView(snap, string(a.Probe)); known && c.Channel.Kind != sensors.VolumeFlow {
		u /= a.Duct.Factor
	}
	return f.WithUnit(quantity.Velocity, u, 0.01)
}

// designNow is the flow that the exhaust was designed for, as it was entered last.
func (f figures) designNow(snap *rules.Snapshot) string {
	if design := snap.Air.Commissioned.Design; design > 0 {
		return f.flow(design)
	}
	return ""
}

func (f figures) pressureNow(snap *rules.Snapshot) string {
	for _, c := range snap.Channels {
		if v, ok := c.Good(); ok && c.Channel.Kind == sensors.RoomPressure {
			return f.WithUnit(quantity.Pressure, v, 0.1)
		}
	}
	return ""
}

func (f figures) traverses(records []recorded[rules.CommissionAir]) []traverseRow {
	var rows []traverseRow
	for _, r := range records {
		a, at := r.act, r.act.Measured
		if at.IsZero() {
			at = r.At
		}
		flow := f.flow(a.Flow)
		if a.Uncertainty > 0 {
			flow += fmt.Sprintf(" ± %s %%", f.Number(float64(a.Uncertainty), 1))
		}
		rows = append(rows, traverseRow{Date: f.Day(at), Flow: flow, Conditions: a.Conditions,
			Factor:   f.Number(a.Factor, 3),
			Evenness: f.Number(float64(a.Evenness), 0) + " %", Instrument: a.Instrument + ", " +
				a.Certificate, By: r.Person})
	}
	return rows
}

func (s *Pages) traversePost(w http.ResponseWriter, r *http.Request, in web.Visit) {
	s.Once(w, r, func(ctx context.Context, t web.Typed) (string, *web.Problem) { return s.enterTraverse(ctx, in, t) })
}

// enterTraverse works out a traverse and has it recorded.
func (s *Pages) enterTraverse(ctx context.Context, in web.Visit, t web.Typed) (string, *web.Problem) {
	figures := s.figures(in.Site)
	f := figures.Reader(t.More)
	person := f.Who()
	act := readTraverse(f, figures, in.Snap)
	if f.Problem != nil {
		return "", f.Problem
	}
	act, err := act.Work(person, figures.Now.Wall)
	if err != nil {
		return "", &web.Problem{Field: "act", Sentence: figures.ErrorText(err)}
	}
	return s.HandOver(ctx, rules.Command{Room: in.Snap.Room, Person: person, Act: act})
}

func readSection(f *web.FormReader) rules.Section {
	duct := rules.Section{Shape: web.PickOf(f, shapeField, rules.RoundDuct, rules.RectangularDuct)}
	if duct.Shape == rules.RoundDuct {
		duct.Diameter = readInside(f, diameterField)
		return duct
	}
	duct.Width, duct.Height = readInside(f, widthField), readInside(f, heightField)
	return duct
}

// readInside reads a size of a duct; a bare number is in centimetres.
func readInside(f *web.FormReader, field web.Field) quantity.Metre {
	text := f.Get(field)
	const longest = 5 // m
	if quantity.Bare(text) {
		text += " cm"
	}
	v, _, err := quantity.Parse(quantity.Length, text)
	if err != nil || !(v > 0 && v <= longest) {
		f.Unread(field, err, "is not a duct size up to 5 m. Write it like 15 cm or 6 in.")
	}
	return quantity.Metre(v)
}

// readTraverse reads the points and what was measured with.
func readTraverse(f *web.FormReader, figures figures, snap *rules.Snapshot) rules.CommissionAir {
	act := rules.CommissionAir{Section: readSection(f)}
	points, err := act.Points()
	if err != nil {
		return act
	}
	density := airDensity(snap)
	for i := range points {
		act.Velocities = append(act.Velocities, readVelocity(f, figures,
			velocityField{web.Field{Name: pointName(i), Label: fmt.Sprintf("Point %d", i+1)}, density}))
	}
	act.AtProbe = readVelocity(f, figures, velocityField{fixedField, density})
	act.Instrument = f.Line(meterField, true)
	act.Certificate = f.Line(certifiedField, true)
	act.Conditions = f.Line(conditionsField, true)
	act.Measured = f.Day()
	act.CertificateEnds, act.Next = readDate(f, certifiedUntilField), readDate(f, dueField)
	percent, err := quantity.Number(strings.TrimSuffix(f.Get(certaintyField), "%"))
	if err != nil {
		f.Unread(certaintyField, err, "is not a number of per cent. Write it like 3, as the certificate states.")
	}
	act.InstrumentPercent = quantity.Percent(percent)
	act.ZerosConfirmed, act.DropReason = f.Get(zerosField) == "measured-twice", f.Line(dropField, false)
	if text := f.Get(designField); text != "" {
		design, _, err := quantity.Parse(cards.FlowDimension, withUnitOf(text, figures.Unit(cards.FlowDimension)))
		if err != nil {
			f.Unread(designField, err, "is not a flow of air. Write it like 280 m3/h.")
		}
		act.Design = quantity.CubicMetrePerHour(design)
	}
	if text := f.Get(pressureField); text != "" {
		p, _, err := quantity.Parse(quantity.Pressure, withUnitOf(text, figures.Unit(quantity.Pressure)))
		if err != nil {
			f.Unread(pressureField, err, "is not a pressure. Write it like -5 Pa.")
		}
		act.Pressure = (*quantity.Pascal)(&p)
	}
	return act
}

func readDate(f *web.FormReader, field web.Field) time.Time {
	t, err := time.ParseInLocation(time.DateOnly, f.Get(field), f.Zone)
	if err != nil || t.Year() < 1950 || t.Year() > f.Now.Year()+20 {
		f.Unread(field, err, "is not a day. Write it like 2026-01-15.")
		return time.Time{}
	}
	return t.Add(12 * time.Hour)
}

type velocityField struct {
	web.Field
	density quantity.KilogramPerCubicMetre
}

// readVelocity reads a velocity, or a velocity pressure as a pitot tube gives it.
func readVelocity(f *web.FormReader, figures figures, of velocityField) quantity.MetrePerSecond {
	text := withUnitOf(f.Get(of.Field), figures.Unit(quantity.Velocity))
	u, _, unread := quantity.Parse(quantity.Velocity, text)
	if unread == nil && u >= 0 {
		return quantity.MetrePerSecond(u)
	}
	if p, _, err := quantity.Parse(quantity.Pressure, text); err == nil {
		if u, err := ventilation.VelocityFromPressure(quantity.Pascal(p), of.density); err == nil {
			return u
		}
	}
	f.Unread(of.Field, unread, "is not a velocity of zero or more. Write it like 4.2 m/s, 830 fpm or 10 Pa.")
	return 0
}

// withUnitOf gives a bare number the unit in which people here read.
func withUnitOf(text string, u quantity.Unit) string {
	if quantity.Bare(text) {
		return text + " " + u.Symbol()
	}
	return text
}

// airDensity is that of the room's air, or of air at 20 °C where its temperature is not known.
func airDensity(snap *rules.Snapshot) quantity.KilogramPerCubicMetre {
	temp := quantity.Celsius(20)
	for _, c := range snap.Channels {
		if v, ok := c.Good(); ok && c.Channel.Kind == sensors.AirTemperature {
			temp = quantity.Celsius(v)
		}
	}
	pressure, err := ventilation.PressureAtAltitude(snap.Air.Duct.Altitude)
	if err != nil {
		return 0
	}
	density, err := ventilation.AirDensity(temp, pressure)
	if err != nil {
		return 0
	}
	return density
}
