package dashboard

import (
	"context"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/locale"
	"wetside/rules"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// traverseBody leads through a traverse of the exhaust duct: first its inside, then a
// velocity at each point, then what was measured with.
type traverseBody struct {
	Look             look
	Receipt, Problem string
	Wrong            string
	// Shape and sizes as they were typed; Points are empty until they make a duct.
	Shape, Diameter, Width, Height string
	Drawing                        ductDrawing
	Points                         []traversePoint
	Unit                           string
	Fields                         []ask
	Token                          string
	Now                            string // what counts today, in words
	Derivation                     string
	Earlier                        []traverseRow
	Back                           link
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
	Number                  int
	Name, Label, Across, Up string
	ID, Value               string
	Wrong                   bool
}

// traverseRow is a traverse that is on record.
type traverseRow struct{ Date, Flow, Factor, Evenness, Instrument, Conditions, By, Record string }

func (s *airPages) traversePage(w http.ResponseWriter, r *http.Request, in visit) {
	f, l, a := s.figures(in.site), lookOf(r), s.attempt(r)
	v := r.URL.Query()
	body := traverseBody{Look: l, Receipt: s.receipt(r), Token: newToken(), Unit: locale.Symbol(f.unit(quantity.Velocity)),
		Now: f.commissioned(in.snap.Air.Commissioned), Derivation: f.tell(in.snap.Air.Limits.Derivation), Back: f.below(l, "../air", s.words.Say("air.back"))}
	if a.problem != nil {
		v, body.Problem, body.Wrong = a.typed.More, a.problem.Sentence, a.problem.Field
	}
	f.section(&body, in.snap, v)
	body.Fields = f.traverseFields(in.snap, v, body.Wrong)
	records, err := s.View.Records(r.Context(), RecordsQuery{Room: in.snap.Room, Kinds: []string{rules.CommissionAir{}.Kind()}})
	if err != nil {
		s.Log.Error("the traverses of the book can't be read", zap.Error(err))
		body.Problem = f.sentenceOf(err)
	}
	body.Earlier = f.traverses(records)
	p := s.pageFor("traverse", l, in)
	p.Styles, p.Body = append(p.Styles, "air.css"), body
	s.show(w, r, http.StatusOK, p)
}

// section fills in the duct that was asked for and, once it is one, its points.
func (f figures) section(body *traverseBody, snap *rules.Snapshot, v url.Values) {
	body.Shape, body.Diameter, body.Width, body.Height = v.Get("shape"), v.Get("diameter"), v.Get("width"), v.Get("height")
	if body.Shape == "" {
		if area := float64(snap.Air.Duct.Area); area > 0 {
			body.Diameter = number(200*math.Sqrt(area/math.Pi), 1) + " cm"
		}
		return
	}
	fr := f.reader()
	duct := readSection(fr, v)
	points, err := duct.Points()
	if fr.problem == nil && err != nil {
		fr.problem = &problem{"diameter", f.sentenceOf(err)}
	}
	if fr.problem != nil {
		body.Problem, body.Wrong = fr.problem.Sentence, fr.problem.Field
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
		body.Points = append(body.Points, traversePoint{Number: i + 1, Name: name, Label: f.tell(p.Label), Across: f.depth(p.X), Up: f.depth(p.Y),
			ID: name + "-" + body.Token, Value: v.Get(name), Wrong: body.Wrong == name})
	}
}

func pointName(i int) string { return "v" + strconv.Itoa(i+1) }

// depth is how far in from a wall, as a ruler reads it: millimetres, or inches where
// the place reads US units.
func (f figures) depth(m quantity.Metre) string {
	if f.unit(flowDimension).Symbol() == "cfm" {
		return number(float64(m)/0.0254, 2) + " in"
	}
	return number(float64(m)*1000, 0) + " mm"
}

func drawDuct(duct rules.Section, points []ventilation.Point) ductDrawing {
	width, height := duct.Width, duct.Height
	if duct.Shape == rules.RoundDuct {
		width, height = duct.Diameter, duct.Diameter
	}
	d := ductDrawing{Round: duct.Shape == rules.RoundDuct, Height: number(float64(100*height/width), 2), Box: number(float64(100*height/width)+6, 2)}
	for i, p := range points {
		x, y := float64(100*p.X/width), float64(100*(height-p.Y)/width)
		d.Points = append(d.Points, drawnPoint{number(x, 2), number(y, 2), number(y+1.3, 2), strconv.Itoa(i + 1)})
	}
	return d
}

// traverseFields are the questions besides the points.
func (f figures) traverseFields(snap *rules.Snapshot, v url.Values, wrong string) []ask {
	asks := []ask{
		{Name: "fixed", Label: f.words.Say("field.fixed"), Hint: f.words.Say("hint.fixed"), Mode: "decimal", Value: f.probeNow(snap)},
		{Name: "meter", Label: f.words.Say("field.meter"), Hint: f.words.Say("hint.meter")},
		{Name: "certified", Label: f.words.Say("field.certified"), Hint: f.words.Say("hint.certified")},
		{Name: "certified-until", Label: f.words.Say("field.certified-until"), Hint: f.words.Say("hint.date")},
		{Name: "certainty", Label: f.words.Say("field.certainty"), Hint: f.words.Say("hint.certainty"), Mode: "decimal"},
		{Name: "pressure", Label: f.words.Say("field.pressure"), Hint: f.words.Say("hint.pressure"), Mode: "text", Value: f.pressureNow(snap)},
		{Name: "conditions", Label: f.words.Say("field.conditions"), Hint: f.words.Say("hint.conditions")},
		{Name: "on", Label: f.words.Say("field.on"), Hint: f.words.Say("hint.on")},
		{Name: "design", Label: f.words.Say("field.design"), Hint: f.words.Say("hint.design"), Mode: "text", Value: f.designNow(snap)},
		{Name: "due", Label: f.words.Say("field.due"), Hint: f.words.Say("hint.date")},
		{Name: "zeros", Label: f.words.Say("field.zeros"), Hint: f.words.Say("hint.zeros"), Choices: []choice{{Value: "none", Text: f.words.Say("zeros.none")}, {Value: "measured-twice", Text: f.words.Say("zeros.twice")}}},
		{Name: "drop", Label: f.words.Say("field.drop"), Hint: f.words.Say("hint.drop")},
		{Name: nameField, Label: f.words.Say("field.who")},
	}
	for i := range asks {
		asks[i].ID, asks[i].Wrong = "traverse-"+asks[i].Name, wrong == asks[i].Name
		if v.Has("token") {
			asks[i].Value = v.Get(asks[i].Name)
		}
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
	if c, known := channelOf(snap, string(a.Probe)); known && c.Kind != sensors.VolumeFlow {
		u /= a.Duct.Factor
	}
	return f.withUnit(quantity.Velocity, u, 0.01)
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
			return f.withUnit(quantity.Pressure, v, 0.1)
		}
	}
	return ""
}

func (f figures) traverses(records []rules.Recorded) []traverseRow {
	var rows []traverseRow
	for _, r := range slices.Backward(records) {
		act, err := rules.DecodeAct(r.Kind, r.Content)
		a, ok := act.(rules.CommissionAir)
		if err != nil || !ok {
			continue
		}
		at := a.Measured
		if at.IsZero() {
			at = r.At
		}
		flow := f.flow(a.Flow)
		if a.Uncertainty > 0 {
			flow += " " + f.words.Say("traverse.plus-minus", f.number(float64(a.Uncertainty), 0))
		}
		rows = append(rows, traverseRow{Date: at.In(f.zone).Format(time.DateOnly), Flow: flow, Conditions: a.Conditions, Factor: f.number(a.Factor, 3),
			Evenness: f.number(float64(a.Evenness), 0) + " %", Instrument: a.Instrument + ", " + a.Certificate, By: r.Person, Record: strconv.FormatUint(r.Number, 10)})
	}
	return rows
}

func (s *airPages) traversePost(w http.ResponseWriter, r *http.Request, in visit) {
	s.once(w, r, func(ctx context.Context, t typed) (string, *problem) { return s.enterTraverse(ctx, in, t) })
}

// enterTraverse works out a traverse and has it recorded.
func (s *airPages) enterTraverse(ctx context.Context, in visit, t typed) (string, *problem) {
	figures := s.figures(in.site)
	f := figures.reader()
	person := f.text("who", t.Who, longestName, true)
	act := readTraverse(f, figures, in.snap, t.More)
	if f.problem != nil {
		return "", f.problem
	}
	act, err := act.Work(person, figures.now.Wall)
	if err != nil {
		return "", &problem{"act", figures.sentenceOf(err)}
	}
	return s.handOver(ctx, rules.Command{Room: in.snap.Room, Person: person, Act: act})
}

func readSection(f *formReader, v url.Values) rules.Section {
	duct := rules.Section{Shape: rules.DuctShape(f.pick("shape", v.Get("shape"), string(rules.RoundDuct), string(rules.RectangularDuct)))}
	if duct.Shape == rules.RoundDuct {
		duct.Diameter = readInside(f, "diameter", v.Get("diameter"))
		return duct
	}
	duct.Width, duct.Height = readInside(f, "width", v.Get("width")), readInside(f, "height", v.Get("height"))
	return duct
}

// readInside reads a size of a duct; a bare number is in centimetres.
func readInside(f *formReader, field, text string) quantity.Metre {
	const longest = 5 // m
	if _, err := quantity.Number(text); err == nil {
		text += " cm"
	}
	v, _, err := quantity.Parse(quantity.Length, text)
	if err != nil || !(v > 0 && v <= longest) {
		f.fail(field, "traverse.size", f.words.Say("field."+field), clip(text))
	}
	return quantity.Metre(v)
}

// readTraverse reads the points and what was measured with.
func readTraverse(f *formReader, figures figures, snap *rules.Snapshot, v url.Values) rules.CommissionAir {
	act := rules.CommissionAir{Section: readSection(f, v)}
	points, err := act.Points()
	if err != nil {
		return act
	}
	density := airDensity(snap)
	for i := range points {
		act.Velocities = append(act.Velocities, readVelocity(f, figures, v, velocityField{pointName(i), f.words.Say("traverse.point", i+1), density}))
	}
	act.AtProbe = readVelocity(f, figures, v, velocityField{"fixed", f.words.Say("field.fixed"), density})
	act.Instrument = f.text("meter", v.Get("meter"), longestText, true)
	act.Certificate = f.text("certified", v.Get("certified"), longestText, true)
	act.Conditions = f.text("conditions", v.Get("conditions"), longestText, true)
	act.Measured = f.day(v.Get("on"))
	act.CertificateEnds, act.Next = readDate(f, "certified-until", v.Get("certified-until")), readDate(f, "due", v.Get("due"))
	percent, err := quantity.Number(strings.TrimSuffix(strings.TrimSpace(v.Get("certainty")), "%"))
	if err != nil {
		f.fail("certainty", "traverse.accuracy", clip(v.Get("certainty")))
	}
	act.InstrumentPercent = quantity.Percent(percent)
	act.ZerosConfirmed, act.DropReason = v.Get("zeros") == "measured-twice", f.text("drop", v.Get("drop"), longestText, false)
	if text := strings.TrimSpace(v.Get("design")); text != "" {
		design, _, err := quantity.Parse(flowDimension, withUnitOf(text, figures.unit(flowDimension)))
		if err != nil {
			f.fail("design", "traverse.design", clip(text))
		}
		act.Design = quantity.CubicMetrePerHour(design)
	}
	if text := strings.TrimSpace(v.Get("pressure")); text != "" {
		p, _, err := quantity.Parse(quantity.Pressure, withUnitOf(text, figures.unit(quantity.Pressure)))
		if err != nil {
			f.fail("pressure", "traverse.pressure", clip(text))
		}
		act.Pressure = (*quantity.Pascal)(&p)
	}
	return act
}

// readDate reads a day that may lie ahead.
func readDate(f *formReader, field, text string) time.Time {
	t, err := time.ParseInLocation(time.DateOnly, strings.TrimSpace(text), f.zone)
	if err != nil || t.Year() < 1950 || t.Year() > f.now.Year()+20 {
		f.fail(field, "traverse.date", f.label(field), clip(text))
		return time.Time{}
	}
	return t.Add(12 * time.Hour)
}

type velocityField struct {
	name, label string
	density     quantity.KilogramPerCubicMetre
}

// readVelocity reads a velocity, or a velocity pressure as a pitot tube gives it.
func readVelocity(f *formReader, figures figures, v url.Values, of velocityField) quantity.MetrePerSecond {
	text := withUnitOf(strings.TrimSpace(v.Get(of.name)), figures.unit(quantity.Velocity))
	if u, _, err := quantity.Parse(quantity.Velocity, text); err == nil && u >= 0 {
		return quantity.MetrePerSecond(u)
	}
	if p, _, err := quantity.Parse(quantity.Pressure, text); err == nil {
		if u, err := ventilation.VelocityFromPressure(quantity.Pascal(p), of.density); err == nil {
			return u
		}
	}
	f.fail(of.name, "traverse.velocity", of.label, clip(v.Get(of.name)))
	return 0
}

// withUnitOf gives a bare number the unit in which people here read.
func withUnitOf(text string, u quantity.Unit) string {
	if _, err := quantity.Number(text); err == nil {
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
