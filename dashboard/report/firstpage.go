package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Lead is the one sentence that answers what the report is read for.
type Lead string

// Figures are the few figures that stand large on the first page.
type Figures []FigureOf

// FigureOf is a figure, and what it is of.
type FigureOf struct{ Figure, Of string }

// Parted is a row of columns, one an evening, each parted by how its air was.
type Parted struct {
	Title, Unit string
	// Legend names the parts, from the bottom up: proven, too low, not known.
	Legend  [3]string
	Columns []PartedColumn
}

// PartedColumn is one evening; its parts are hours.
type PartedColumn struct {
	Label string
	Parts [3]float64
}

func (Lead) block()    {}
func (Figures) block() {}
func (Parted) block()  {}

// Air is the time in which a tray stood open, by how the air was meanwhile: proven,
// measured and not enough, not known.
type Air struct{ Proven, Low, Unknown time.Duration }

// Air parts the open time of a session. A flow that is not known is not proven.
func (s Session) Air() Air {
	unknown := s.Unknown()
	return Air{max(s.Uncovered-s.Unproven, 0), s.Unproven - unknown, unknown}
}

// Open is how long trays stood uncovered.
func (a Air) Open() time.Duration { return a.Proven + a.Low + a.Unknown }

// Plus is the time of both.
func (a Air) Plus(b Air) Air { return Air{a.Proven + b.Proven, a.Low + b.Low, a.Unknown + b.Unknown} }

// share is the part of the open time with proven air, in per cent, never rounded up to all
// of it; a dash without open time.
func (a Air) share() phrase.Sentence {
	if a.Open() <= 0 {
		return phrase.Say("–")
	}
	return phrase.Say("%g %%", math.Floor(1000*float64(a.Proven)/float64(a.Open()))/10)
}

// InShort answers what the sessions of a time are asked for, in one sentence and four figures.
func (pack Data) InShort() (Lead, Figures) {
	d := composer{pack}
	all := d.sums().air
	return Lead(d.leadOf(len(d.Sessions), all, len(d.needAttention())) + d.stillRunning("")), Figures{
		{strconv.Itoa(len(d.Sessions)), "sessions"},
		{d.tell(all.share()), "of the time that trays stood open, with proven airflow"},
		{Hours(all.Low), "with airflow too low or stopped"},
		{Hours(all.Unknown), "with airflow unknown"},
	}
}

// firstPage answers in one sentence, four figures and a picture, and names what needs a look.
func (d composer) firstPage() []Block {
	lead, figures := d.InShort()
	blocks := []Block{lead, figures}
	if d.sums().air.Open() > 0 {
		blocks = append(blocks, d.parted())
	}
	return append(blocks, d.look(d.needAttention())...)
}

// leadOf is the one sentence on so many sessions.
func (d composer) leadOf(sessions int, all Air, look int) string {
	switch {
	case sessions == 0:
		return "No session was held in this period."
	case all.Open() <= 0:
		return d.say("In %s no tray stood open.", counted(sessions, "session"))
	}
	need := "No session needs attention."
	if look == 1 {
		need = "1 session needs attention."
	} else if look > 1 {
		need = d.say("%d sessions need attention.", look)
	}
	return d.say("In %s trays stood open for %s. Airflow was proven for %s, %s of it. %s",
		counted(sessions, "session"), Hours(all.Open()), Hours(all.Proven), all.share(), need)
}

// stillRunning says how far the figures of a session go that is not over, of a site where there are several.
func (d composer) stillRunning(site string) (text string) {
	for _, s := range d.Sessions {
		switch {
		case s.AsOf.IsZero():
		case site == "":
			text += d.say(" The session begun %s is not over yet: its times are as of %s.", d.moment(s.Begun), d.until(s.Begun, s.AsOf))
		default:
			text += d.say(" The session of %s begun %s is not over yet: its times are as of %s.", site, d.moment(s.Begun),
				d.until(s.Begun, s.AsOf))
		}
	}
	return text
}

// counted writes how many there are of what a noun names.
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	if stem, ok := strings.CutSuffix(noun, "y"); ok {
		return fmt.Sprintf("%d %sies", n, stem)
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// Hours writes a time in hours and whole minutes, and a short one in minutes. What is less
// than half a minute and more than none is not written as none.
func Hours(t time.Duration) string {
	minutes := int(math.Round(t.Minutes()))
	switch {
	case t > 0 && minutes == 0:
		return "< 1 min"
	case minutes < 60:
		return strconv.Itoa(minutes) + " min"
	}
	return fmt.Sprintf("%d h %d min", minutes/60, minutes%60)
}

func (d composer) parted() Parted {
	p := Parted{Title: "Each session: hours that trays stood open", Unit: "h",
		Legend: [3]string{"airflow proven", "too low or stopped", "not known"}}
	for _, s := range d.Sessions {
		a := s.Air()
		p.Columns = append(p.Columns, PartedColumn{s.Begun.In(d.zone()).Format("2 Jan"), [3]float64{a.Proven.Hours(), a.Low.Hours(),
			a.Unknown.Hours()}})
	}
	return p
}

// mostLooked is how many sessions the first page names; the others are in the table of sessions.
const mostLooked = 6

// look names the sessions that need a look, each with what happened and what was done.
func (d composer) look(sessions []Session) []Block {
	if len(sessions) == 0 {
		return nil
	}
	g := Grid{Columns: []Column{{"Needs attention", 2, left}, {"Airflow", 3, left}, {"What happened, and what was done", 7, left}}}
	for i, s := range sessions {
		if i == mostLooked {
			g.Rows = append(g.Rows, []string{d.say("and %d more", len(sessions)-mostLooked), "see the next pages", ""})
			break
		}
		g.Rows = append(g.Rows, []string{d.on(s), d.unprovenOf(s), d.happened(s)})
	}
	return []Block{g}
}

// mostHappened is how many alarms of a session the first page tells.
const mostHappened = 2

// happened tells the first alarms of a session, those to act on at once before others; the table of alarms has all of them.
func (d composer) happened(s Session) string {
	var told []string
	list := d.alarmsOf(s)
	urgent := slices.DeleteFunc(slices.Clone(list), func(a Alarm) bool { return !a.Urgent })
	more := max(0, len(list)-mostHappened)
	list = slices.DeleteFunc(list, func(a Alarm) bool { return a.Urgent })
	list = slices.Concat(urgent, list)[:len(urgent)+len(list)-more]
	slices.SortStableFunc(list, func(a, b Alarm) int { return a.Raised.Compare(b.Raised) })
	for _, a := range list {
		done := "not answered"
		if !a.Answered.IsZero() {
			done = d.say("answered after %s: %s", Lasted(a.Answered.Sub(a.Raised)), a.Done)
		}
		told = append(told, fmt.Sprintf("%s %s; %s.", d.clockTime(a.Raised), strings.TrimSuffix(d.tell(a.Text), "."), done))
	}
	if len(told) == 0 {
		return "No alarm was raised."
	}
	if more > 0 {
		told = append(told, d.say("%s more.", counted(more, "alarm")))
	}
	return strings.Join(told, " ")
}
