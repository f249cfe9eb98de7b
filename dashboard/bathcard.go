package dashboard

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

const flowDimension = quantity.VolumeFlow

// bathCard is one tray as the red page shows it.
type bathCard struct {
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
	Gauge    *gauge
	Trend    string // rising, falling, steady or empty
	Rate     string
	Leaves   string
	// Content says what stands in the tray, Binds what limits its use tonight.
	Content, Binds string
	// Clocks are the development clocks that run in this bath.
	Clocks []clockCard
}

func (f figures) bathCard(b rules.BathView, lost bool) bathCard {
	c := bathCard{ID: b.Bath.ID, Name: b.Bath.Name, Role: f.roleBeside(b.Bath), Developer: b.Bath.Role == rules.Developer, Degrees: f.degrees()}
	c.Content, c.Binds = f.content(b.Portion), f.binds(b.Portion)
	if b.Bath.Band != (sensors.Range{}) {
		c.Band = f.words.Say("band.is", f.temperature(quantity.Celsius(b.Bath.Band.Low)), f.temperature(quantity.Celsius(b.Bath.Band.High)), c.Degrees)
	}
	if lost {
		c.Why, c.NoProbe = f.words.Say("lost.value"), b.Bath.Channel == ""
		c.Reason = f.words.Say("lost.time")
		return c
	}
	if c.Developer {
		f.recommend(&c, b.Recommendation)
		if b.Announce {
			c.Announce = f.words.Say("time.announce", c.Time)
		}
	}
	temperature, known := b.Temperature()
	switch {
	case b.Bath.Channel == "":
		c.NoProbe, c.Why = true, f.words.Say("bath.no-probe")
	case !known:
		c.Why = f.why(b.Channel)
	default:
		c.Temperature = f.temperature(temperature)
		f.stand(&c, b)
	}
	return c
}

func (f figures) recommend(c *bathCard, r chem.Recommendation) {
	t, ok := r.Time()
	if !ok {
		c.Reason = f.tell(r.Sentence())
		return
	}
	c.Time = chem.MinutesSeconds(t)
	steps := make([]string, 0, len(r.Steps()))
	for _, s := range r.Steps() {
		steps = append(steps, f.step(s))
	}
	c.Reason = f.words.Say("time.from", strings.Join(steps, ", "))
	if r.Basis().String() != tableBasis {
		c.Basis = f.tell(r.Basis())
	}
}

// step is one reason of a time, with what it adds.
func (f figures) step(s chem.Step) string {
	if s.Change == 0 {
		return f.tell(s.Cause)
	}
	return f.words.Say("time.step", int(s.Change.Round(time.Second)/time.Second), f.tell(s.Cause))
}

// tableBasis is what chem calls a time between published points; any other basis is said on the board.
const tableBasis = "table"

// stand says how a known temperature stands to its band and where it is going.
func (f figures) stand(c *bathCard, b rules.BathView) {
	temperature, _ := b.Temperature()
	switch b.Band {
	case rules.BelowBand:
		c.BandWord, c.Out = f.words.Say("band.cold"), true
	case rules.AboveBand:
		c.BandWord, c.Out = f.words.Say("band.warm"), true
	case rules.InBand:
		c.BandWord = f.words.Say("band.in")
	}
	if c.Band != "" {
		c.Gauge = newGauge(b.Bath.Band, float64(temperature))
		c.Gauge.Low, c.Gauge.High = f.temperature(quantity.Celsius(b.Bath.Band.Low)), f.temperature(quantity.Celsius(b.Bath.Band.High))
	}
	if b.Trend != nil {
		c.Trend, c.Rate = f.trend(*b.Trend)
	}
	c.Leaves = f.leaves(b.Forecast)
}

// roleBeside is a bath's role, unless its name says it already.
func (f figures) roleBeside(b rules.Bath) string {
	if strings.Contains(strings.ToLower(b.Name), string(b.Role)) {
		return ""
	}
	return f.word(b.Role)
}

// steadyBelow is the change in kelvin an hour that nobody has to know of.
const steadyBelow = 0.3

func (f figures) trend(perHour float64) (shape, text string) {
	rate := f.number(math.Abs(f.kelvin(perHour)), 1)
	switch {
	case math.Abs(perHour) < steadyBelow:
		return "steady", f.words.Say("trend.steady")
	case perHour > 0:
		return "rising", f.words.Say("trend.rising", rate, f.degrees())
	}
	return "falling", f.words.Say("trend.falling", rate, f.degrees())
}

// why says since when a channel gives no value, and for what reason.
func (f figures) why(c rules.ChannelView) string {
	if !c.Seen {
		return f.words.Say("why.never")
	}
	if c.GoodAt.IsZero() {
		return f.words.Say("why.never-good", f.word(c.Reason))
	}
	return f.words.Say("why.since", f.when(c.GoodAt), f.word(c.Reason))
}

// content says what stands in a tray; the parts are always named.
func (f figures) content(p *rules.Portion) string {
	if p == nil {
		return f.words.Say("bath.no-batch")
	}
	text := f.words.Say("bath.batch", p.Batch)
	if p.What != "" {
		text = p.What + ", " + text
	}
	if p.Concentrate > 0 || p.Water > 0 {
		text += ", " + f.parts(p.Concentrate, p.Water)
	}
	return text
}

func (f figures) parts(concentrate, water float64) string {
	return f.words.Say("parts", f.part(concentrate), f.part(water))
}

func (f figures) part(n float64) string {
	return f.words.Say("part", words.Number{Value: n, Text: f.plain(n)})
}

// minutes rounds down, so that nobody is promised more than there is.
func minutes(d time.Duration) int { return int(max(d, 0) / time.Minute) }

// gauge places a temperature against its band on a line from 0 to 100, where the
// band takes the middle from 25 to 75.
type gauge struct {
	At        float64 // of the pointer, kept on the line
	Off       bool    // set when the temperature lies beyond the line's ends
	Low, High string
}

func newGauge(band sensors.Range, value float64) *gauge {
	width := band.High - band.Low
	if !(width > 0) {
		width = 1
	}
	at := 25 + 50*(value-band.Low)/width
	return &gauge{At: math.Round(10*min(max(at, 3), 97)) / 10, Off: at < 3 || at > 97}
}
