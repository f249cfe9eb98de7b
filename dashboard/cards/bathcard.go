package cards

import (
	"math"
	"strings"
	"time"

	"wetside/chem"
	"wetside/dashboard/words"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// FlowDimension is that of a flow of air.
const FlowDimension = quantity.VolumeFlow

// BathCard is one tray as the red page shows it.
type BathCard struct {
	ID, Name, Role string
	Developer      bool
	// Time tonight, empty when refused; Reason is its reason or the refusal.
	Time   string
	Reason string
	Basis  string
	// Announce is set while the people at the tray are to be told the time.
	Announce string
	// Temperature, empty when there is no good and recent one; then Why says since when.
	Temperature string
	Degrees     string
	Why         string
	NoProbe     bool
	// Band in words, and the word that says how the temperature stands to it.
	Band     string
	BandWord string
	Out      bool
	Trend    string // rising, falling, steady or empty
	Rate     string
	Leaves   string
	// Content says what stands in the tray, Binds what limits its use tonight.
	Content, Binds string
	// Empty is set while no batch is known to stand in the tray; Soon is Leaves where it is worth a word on the board.
	Empty bool
	Soon  string
}

// BathCard says of a bath what is known, and nothing more once the room is lost.
func (f Figures) BathCard(b rules.BathView, lost bool) BathCard {
	c := BathCard{ID: b.Bath.ID, Name: b.Bath.Name, Role: f.RoleBeside(b.Bath), Developer: b.Bath.Role == rules.Developer,
		Degrees: f.Degrees()}
	c.Content, c.Binds, c.Empty = f.Content(b.Portion), f.binds(b.Portion), b.Portion == nil && b.Bath.Role != rules.Wash
	if b.Bath.Band != (sensors.Range{}) {
		c.Band = f.Words.Say("band.is", f.Temperature(quantity.Celsius(b.Bath.Band.Low)), f.Temperature(quantity.Celsius(b.Bath.Band.High)),
			c.Degrees)
	}
	if lost {
		c.Why, c.NoProbe = f.Words.Say("lost.value"), b.Bath.Channel == ""
		c.Reason = f.Words.Say("lost.time")
		return c
	}
	if c.Developer {
		f.recommend(&c, b.Recommendation)
		if b.Announce {
			c.Announce = f.Words.Say("time.announce", c.Time)
		}
	}
	temperature, known := b.Temperature()
	switch {
	case b.Bath.Channel == "":
		c.NoProbe, c.Why = true, f.Words.Say("bath.no-probe")
	case !known:
		c.Why = f.why(b.Channel)
	default:
		c.Temperature = f.Temperature(temperature)
		if c.Empty { // the probe reads whatever it lies in
			c.Content = f.Words.Say("bath.probe-in-empty")
		} else {
			f.stand(&c, b)
		}
	}
	return c
}

func (f Figures) recommend(c *BathCard, r chem.Recommendation) {
	t, ok := r.Time()
	if !ok {
		c.Reason = f.Text(r.Sentence())
		return
	}
	c.Time = chem.MinutesSeconds(t)
	steps := make([]string, 0, len(r.Steps()))
	for _, s := range r.Steps() {
		steps = append(steps, f.Step(s))
	}
	c.Reason = f.Words.Say("time.from", strings.Join(steps, ", "))
	if r.Basis().String() != tableBasis {
		c.Basis = f.Text(r.Basis())
	}
}

// Step is one reason of a time, with what it adds.
func (f Figures) Step(s chem.Step) string {
	if s.Change == 0 {
		return f.Text(s.Cause)
	}
	return f.Words.Say("time.step", int(s.Change.Round(time.Second)/time.Second), f.Text(s.Cause))
}

// tableBasis is what chem calls a time between published points; any other basis is said on the board.
const tableBasis = "table"

// stand says how a known temperature stands to its band and where it is going.
func (f Figures) stand(c *BathCard, b rules.BathView) {
	switch b.Band {
	case rules.BelowBand:
		c.BandWord, c.Out = f.Words.Say("band.cold"), true
	case rules.AboveBand:
		c.BandWord, c.Out = f.Words.Say("band.warm"), true
	case rules.InBand:
		c.BandWord = f.Words.Say("band.in")
	}
	if b.Trend != nil {
		c.Trend, c.Rate = f.trend(*b.Trend)
	}
	c.Leaves = f.leaves(b.Forecast)
	if in, leaves := b.Forecast.Leaves(); leaves && in < soon {
		c.Soon = f.Words.Say("band.soon", f.WholeDegrees(float64(b.Forecast.Stay.Edge)), minutes(in))
	}
}

// WholeDegrees is a limit as a board names it.
func (f Figures) WholeDegrees(c float64) string { return f.Value(quantity.Temperature, c, 1) + "°" }

// RoleBeside is a bath's role, unless its name says it already.
func (f Figures) RoleBeside(b rules.Bath) string {
	if strings.Contains(strings.ToLower(b.Name), string(b.Role)) {
		return ""
	}
	return f.Word(b.Role)
}

// steadyBelow is the change in kelvin an hour that nobody has to know of.
const steadyBelow = 0.3

func (f Figures) trend(perHour float64) (shape, text string) {
	rate := f.Number(math.Abs(f.Kelvin(perHour)), 1)
	switch {
	case math.Abs(perHour) < steadyBelow:
		return "steady", f.Words.Say("trend.steady")
	case perHour > 0:
		return "rising", f.Words.Say("trend.rising", rate, f.Degrees())
	}
	return "falling", f.Words.Say("trend.falling", rate, f.Degrees())
}

// why says since when a channel gives no value, and for what reason.
func (f Figures) why(c rules.ChannelView) string {
	if !c.Seen {
		return f.Words.Say("why.never")
	}
	if c.GoodAt.IsZero() {
		return f.Words.Say("why.never-good", f.Word(c.Reason))
	}
	return f.Words.Say("why.since", f.When(c.GoodAt), f.Word(c.Reason))
}

// Content says what stands in a tray; the parts are always named.
func (f Figures) Content(p *rules.Portion) string {
	if p == nil {
		return f.Words.Say("bath.no-batch")
	}
	text := f.Words.Say("bath.batch", p.Batch)
	if p.What != "" {
		text = p.What + ", " + text
	}
	if p.Concentrate > 0 || p.Water > 0 {
		text += ", " + f.Parts(p.Concentrate, p.Water)
	}
	return text
}

// Parts writes a mixture in words.
func (f Figures) Parts(concentrate, water float64) string {
	return f.Words.Say("parts", f.part(concentrate), f.part(water))
}

func (f Figures) part(n float64) string {
	return f.Words.Say("part", words.Number{Value: n, Text: f.Plain(n)})
}

// minutes rounds down, so that nobody is promised more than there is.
func minutes(d time.Duration) int { return int(max(d, 0) / time.Minute) }
