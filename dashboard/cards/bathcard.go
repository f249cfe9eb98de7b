package cards

import (
	"fmt"
	"math"
	"strings"
	"time"

	"wetside/chem"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
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
	Rate     string // of warming or cooling, in words
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
	c.Content, c.Binds, c.Empty = f.Content(b.Portion), f.binds(b.Portion), b.Empty()
	if b.RunningWater() {
		c.Content = "running water"
	}
	if b.Bath.Band != (sensors.Range{}) {
		c.Band = fmt.Sprintf("%s to %s %s", f.Temperature(quantity.Celsius(b.Bath.Band.Low)), f.Temperature(quantity.Celsius(b.Bath.Band.High)),
			c.Degrees)
	}
	if lost {
		c.Why, c.NoProbe = "not known: wetside does not answer", b.Bath.Channel == ""
		c.Reason = "No time: wetside does not answer."
		return c
	}
	if c.Developer {
		f.recommend(&c, b.Recommendation)
		if reason := f.mustNotBeUsed(b.Portion); reason != "" && strings.Contains(c.Reason, reason) {
			c.Binds = "" // the refusal has said it
		}
		if b.Announce {
			c.Announce = fmt.Sprintf("Announce %s", c.Time)
		}
	}
	temperature, known := b.Temperature()
	switch {
	case b.Bath.Channel == "":
		c.NoProbe, c.Why = true, "no probe fitted"
	case !known:
		c.Why = f.why(b.Channel)
	default:
		c.Temperature = f.Temperature(temperature)
		if c.Empty { // the probe reads whatever it lies in
			c.Content = "empty tray: the reading of its probe"
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
	var steps []string
	for i, s := range r.Steps() {
		if i == 0 || s.Change.Round(time.Second) != 0 { // what changes nothing is said on the page of the evening alone
			steps = append(steps, f.step(s))
		}
	}
	c.Reason = fmt.Sprintf("from %s", strings.Join(steps, ", "))
	if r.Basis().String() != tableBasis {
		c.Basis = f.Text(r.Basis())
	}
}

// Steps are the reasons of a time, each with what it adds.
func (f Figures) Steps(r chem.Recommendation) (steps []string) {
	for _, s := range r.Steps() {
		steps = append(steps, f.step(s))
	}
	return steps
}

// Announced says which time was announced at a bath, when and by whom; empty where none was.
func (f Figures) Announced(b rules.BathView) string {
	if b.Told == nil {
		return ""
	}
	return fmt.Sprintf("Announced: %s at %s by %s.", chem.MinutesSeconds(b.Told.Time), f.TimeOfDay(b.Told.At), b.Told.By)
}

// step is one reason of a time, with what it adds.
func (f Figures) step(s chem.Step) string {
	if s.Change == 0 {
		return f.Text(s.Cause)
	}
	return f.Text(phrase.Say("%+d s for %s", int(s.Change.Round(time.Second)/time.Second), s.Cause))
}

// tableBasis is what chem calls a time between published points; any other basis is said on the board.
const tableBasis = "table"

// stand says how a known temperature stands to its band and where it is going.
func (f Figures) stand(c *BathCard, b rules.BathView) {
	switch b.Band {
	case rules.BelowBand:
		c.BandWord, c.Out = "TOO COLD", true
	case rules.AboveBand:
		c.BandWord, c.Out = "TOO WARM", true
	case rules.InBand:
		c.BandWord = "in range"
	}
	if b.Trend != nil {
		c.Rate = f.trend(*b.Trend)
	}
	c.Leaves = f.leaves(b.Forecast)
	if in, leaves := b.Forecast.Leaves(); leaves && in < near {
		c.Soon = fmt.Sprintf("leaves %s in %d min", f.WholeDegrees(float64(b.Forecast.Stay.Edge)), minutes(in))
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

func (f Figures) trend(perHour float64) string {
	rate := f.Number(math.Abs(f.Kelvin(perHour)), 1)
	switch {
	case math.Abs(perHour) < steadyBelow:
		return "steady"
	case perHour > 0:
		return fmt.Sprintf("rising %s %s an hour", rate, f.Degrees())
	}
	return fmt.Sprintf("falling %s %s an hour", rate, f.Degrees())
}

// why says since when a channel gives no value, and for what reason.
func (f Figures) why(c rules.ChannelView) string {
	if !c.Seen {
		return "no reading yet"
	}
	if c.GoodAt.IsZero() {
		return fmt.Sprintf("no good reading yet: %s", f.Word(c.Reason))
	}
	return fmt.Sprintf("no good reading since %s: %s", f.When(c.GoodAt), f.Word(c.Reason))
}

// Content says what stands in a tray; the parts are always named.
func (f Figures) Content(p *rules.Portion) string {
	if p == nil {
		return "no batch entered"
	}
	text := fmt.Sprintf("batch %s", p.Batch)
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
	return fmt.Sprintf("%s concentrate + %s water", f.part(concentrate), f.part(water))
}

func (f Figures) part(n float64) string {
	if n == 1 {
		return "1 part"
	}
	return f.Plain(n) + " parts"
}

// minutes rounds down, so that nobody is promised more than there is.
func minutes(d time.Duration) int { return int(max(d, 0) / time.Minute) }

// TimerCard is one timer. Left and Over are to the tenth of a second, for a page that counts on by itself.
type TimerCard struct {
	Number int
	BathID string
	Bath   string
	State  string // running, paused, done
	Word   string
	Text   string // the time left, or past the end
	Left   string
	Over   string
	// Follows is what the timer goes by: bath, trend, time or nothing; MovedBy the whole
	// seconds by which its end has moved since the start.
	Follows  string
	MovedBy  int
	Notice   string
	Plain    bool
	Up       bool // it only counts up, from nothing
	Doubted  bool // the computer may have slept meanwhile
	Room     string
	Revision int
	// Act is what the timer's own key does, and Button its word.
	Act, Button string
	// Paper is that of the sheet, Next the bath that the timer calls after this one; both are
	// empty where no paper was chosen. Behind is set behind the developer.
	Paper, Next string
	Behind      bool
	// Until is the time to its end, below zero past it.
	Until time.Duration
}
