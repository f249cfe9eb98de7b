package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Lead is the one sentence that answers what the report is read for.
type Lead string

// Figures are the few figures that stand large on the first page.
type Figures []FigureOf

// FigureOf is a figure with what it is of.
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

// airTotal is how long trays stood open, and how the air was meanwhile.
type airTotal struct{ open, low, unknown time.Duration }

func (s Session) air() airTotal {
	return airTotal{s.Uncovered, s.Unproven - s.Unknown(), s.Unknown()}
}

func (a airTotal) plus(b airTotal) airTotal {
	return airTotal{a.open + b.open, a.low + b.low, a.unknown + b.unknown}
}

func (a airTotal) proven() time.Duration { return a.open - a.low - a.unknown }

// share is the part of the open time with proven air, in per cent, never rounded up to all
// of it; empty without open time.
func (a airTotal) share() string {
	if a.open <= 0 {
		return "–"
	}
	return strconv.FormatFloat(math.Floor(1000*float64(a.proven())/float64(a.open))/10, 'f', -1, 64) + " %"
}

// firstPage answers in one sentence, four figures and a picture, and names what needs a look.
func (d Data) firstPage() []Block {
	var all airTotal
	var look []Session
	for _, s := range d.Sessions {
		all = all.plus(s.air())
		if s.Unproven > 0 {
			look = append(look, s)
		}
	}
	blocks := []Block{Lead(d.lead(all, len(look))), Figures{
		{strconv.Itoa(len(d.Sessions)), d.say("sessions")},
		{all.share(), d.say("of the time that trays stood open, with proven airflow")},
		{hours(all.low), d.say("with airflow too low or stopped")},
		{hours(all.unknown), d.say("with airflow not known")},
	}}
	if all.open > 0 {
		blocks = append(blocks, d.parted())
	}
	return append(blocks, d.look(look)...)
}

func (d Data) lead(all airTotal, look int) string {
	switch {
	case len(d.Sessions) == 0:
		return d.say("No session was held in this time.")
	case all.open <= 0:
		return d.say("In %s no tray stood open.", counted(len(d.Sessions), "session"))
	}
	need := d.say("No session needs a look.")
	if look == 1 {
		need = d.say("1 session needs a look.")
	} else if look > 1 {
		need = d.say("%d sessions need a look.", look)
	}
	return d.say("In %s trays stood open for %s. Airflow was proven for %s, %s of it. %s",
		counted(len(d.Sessions), "session"), hours(all.open), hours(all.proven()), all.share(), need)
}

func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// hours writes a time in hours and whole minutes, and a short one in minutes. What is less
// than half a minute and more than none is not written as none.
func hours(t time.Duration) string {
	minutes := int(math.Round(t.Minutes()))
	switch {
	case t > 0 && minutes == 0:
		return "< 1 min"
	case minutes < 60:
		return strconv.Itoa(minutes) + " min"
	}
	return fmt.Sprintf("%d h %d min", minutes/60, minutes%60)
}

func (d Data) parted() Parted {
	p := Parted{Title: d.say("Each session: hours that trays stood open"), Unit: "h",
		Legend: [3]string{d.say("airflow proven"), d.say("too low or stopped"), d.say("not known")}}
	for _, s := range d.Sessions {
		a := s.air()
		p.Columns = append(p.Columns, PartedColumn{s.Begun.In(d.zone()).Format("2 Jan"), [3]float64{a.proven().Hours(), a.low.Hours(), a.unknown.Hours()}})
	}
	return p
}

// mostLooked is how many sessions the first page names; the others are in the table of sessions.
const mostLooked = 6

// look names the sessions that need a look, each with what happened and what was done.
func (d Data) look(sessions []Session) []Block {
	if len(sessions) == 0 {
		return nil
	}
	g := Grid{Columns: []Column{{d.say("Needs a look"), 2, told}, {d.say("Airflow"), 3, told}, {d.say("What happened, and what was done"), 7, written}}}
	for i, s := range sessions {
		if i == mostLooked {
			g.Rows = append(g.Rows, []string{d.say("and %d more", len(sessions)-mostLooked), d.say("see Sessions and their air"), ""})
			break
		}
		a := s.air()
		var parts []string
		if a.low > 0 {
			parts = append(parts, d.say("too low or stopped for %s", hours(a.low)))
		}
		if a.unknown > 0 {
			parts = append(parts, d.say("not known for %s", hours(a.unknown)))
		}
		when := s.Begun.In(d.zone()).Format("2 Jan 2006")
		if len(d.Rooms) > 1 {
			when += ", " + s.Room
		}
		g.Rows = append(g.Rows, []string{when, phrase.Capital(strings.Join(parts, "; ")), d.happened(s)})
	}
	return []Block{g}
}

// mostHappened is how many alarms of a session the first page tells.
const mostHappened = 2

// happened tells the first alarms of a session; the table of alarms has all of them.
func (d Data) happened(s Session) string {
	var told []string
	more := 0
	for _, a := range d.Alarms {
		if a.Room != s.Room || a.Raised.Before(s.Begun) || a.Raised.After(s.Ended) {
			continue
		}
		if len(told) == mostHappened {
			more++
			continue
		}
		done := d.say("not answered")
		if !a.Answered.IsZero() {
			done = d.say("answered after %s: %s", hours(a.Answered.Sub(a.Raised)), a.Done)
		}
		told = append(told, fmt.Sprintf("%s %s; %s.", d.clockTime(a.Raised), strings.TrimSuffix(d.tell(a.Text), "."), done))
	}
	if len(told) == 0 {
		return d.say("No alarm was raised.")
	}
	if more > 0 {
		told = append(told, d.say("%s more.", counted(more, "alarm")))
	}
	return strings.Join(told, " ")
}
