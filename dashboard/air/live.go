package air

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/chem"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// airNow is the state of the air at this moment; nothing in it outlives the room's loop.
type airNow struct {
	Air      cards.AirCard
	Basis    string // the readings that a known flow rests on
	Scale    *flowScale
	Airing   *airingCard
	FanStop  string
	Conflict []ventilation.Contradiction
	Hood     []hoodPlace
	MakeUp   string
	Trend    string
	Estimate string
}

// airingCard is a purge that somebody waits for.
type airingCard struct {
	Sentence string
	// Left is minutes and seconds, empty while no air moves.
	Left string
	// At is how much of the old air has gone, 0 to 100, for the bar.
	At   string
	Done bool
}

// hoodPlace is the velocity at one place of the hood; empty while it is not known.
type hoodPlace struct{ Place, Velocity string }

// breathNow is every gas channel against its limits.
type breathNow struct {
	Gases    []breathingCard
	Mixtures []rules.MixtureView
}

func (s *Pages) airParts(d *web.Drawing, in web.Visit, _ web.Look) {
	f, lost := s.figures(in.Site), s.Lost(in.Snap)
	d.Part("part-alert", f.Todo(in.Snap, lost), "todo")
	d.Part("part-air-now", f.airNow(in.Snap, lost), "air-now")
	d.Part("part-evening", f.sessionCard(in.Snap.Session), "evening-now")
	d.Part("part-notices", f.worthKnowing(in.Snap, lost), "notices")
	d.Part("part-gases", f.gasLines(in.Snap, lost), "gases-now")
}

// worthKnowing are the notices, as long as somebody vouches for them.
func (f figures) worthKnowing(snap *rules.Snapshot, lost bool) []string {
	if lost {
		return nil
	}
	return f.Texts(snap.Notices)
}

func (f figures) airNow(snap *rules.Snapshot, lost bool) airNow {
	n := airNow{Air: f.AirCard(snap.Air, lost)}
	if lost {
		return n
	}
	a := snap.Air
	n.Basis = f.Text(a.Basis)
	n.Scale, n.Conflict, n.Trend, n.Airing = f.flowScale(a), slices.Clone(a.Contradictions), f.Text(a.Trend), f.airingCard(snap)
	for i := range n.Conflict {
		n.Conflict[i].Sentence = f.InUnits(n.Conflict[i].Sentence)
	}
	if a.FanStop != nil {
		n.FanStop = f.Text(a.FanStop.Sentence)
	}
	n.Hood = f.hoodPlaces(a)
	if m := a.MakeUp; m != nil {
		n.MakeUp = fmt.Sprintf("Make-up air: %s, %s %% of the exhaust.", f.flow(m.Supply), f.Number(float64(m.Share), 0))
	}
	if a.Estimate != nil {
		n.Estimate = f.Text(a.Estimate.Sentence)
	}
	return n
}

func (f figures) airingCard(snap *rules.Snapshot) *airingCard {
	if f.Airing(snap) == "" {
		return nil
	}
	p := snap.Purge
	c := &airingCard{Sentence: f.Text(p.Sentence), Done: p.Done, At: web.Number(min(float64(p.Removed), 99.9), 1)}
	if p.Remaining != nil && !p.Done {
		c.Left = chem.MinutesSeconds(p.Remaining.Round(time.Second))
	}
	return c
}

// hoodPlaces are the three places of the hood, those without a probe left out.
func (f figures) hoodPlaces(a rules.AirView) []hoodPlace {
	var list []hoodPlace
	for _, p := range []struct {
		key    string
		fitted sensors.ChannelID
		at     ventilation.Optional[quantity.MetrePerSecond]
	}{{"Left end", a.HoodAt.Left, a.Hood.Left}, {"Middle", a.HoodAt.Middle,
		a.Hood.Middle}, {"Right end", a.HoodAt.Right, a.Hood.Right}} {
		if p.fitted == "" {
			continue
		}
		place := hoodPlace{Place: p.key}
		if v, known := p.at.Get(); known {
			place.Velocity = f.WithUnit(quantity.Velocity, float64(v), 0.01)
		}
		list = append(list, place)
	}
	return list
}

// flow writes a flow to whole steps of people's unit.
func (f figures) flow(q quantity.CubicMetrePerHour) string {
	return f.WithUnit(cards.FlowDimension, float64(q), f.Unit(cards.FlowDimension).ToBase(1))
}

// flowScale is the flow drawn against its limits. Places are from 0 to 100 of the width.
type flowScale struct {
	Label string
	Marks []scaleMark
	// At is where the pointer stands; empty without a flow.
	At string
}

type scaleMark struct{ At, Text, Word string }

// scaleRoom is how far above the largest mark the scale goes on.
const scaleRoom = 1.15

// flowScale is nil while nothing is known to judge a flow by.
func (f figures) flowScale(a rules.AirView) *flowScale {
	l := a.Limits
	if l.Reference <= 0 {
		return nil
	}
	most := max(l.Reference, l.Clear)
	if a.Flow != nil {
		most = max(most, *a.Flow)
	}
	place := func(q quantity.CubicMetrePerHour) string { return web.Number(float64(100*q/(most*scaleRoom)), 2) }
	s := &flowScale{}
	mark := func(q quantity.CubicMetrePerHour, word string) {
		s.Marks = append(s.Marks, scaleMark{place(q), f.flow(q), word})
	}
	mark(l.Stopped, "stopped below")
	mark(l.Low, "low below")
	if l.Basis == ventilation.ByCommissioning {
		mark(l.Reference, "commissioned")
	}
	s.Label = "The flow is not known"
	if a.Flow != nil {
		s.At, s.Label = place(*a.Flow), fmt.Sprintf("The flow is %s", f.flow(*a.Flow))
	}
	return s
}

func (f figures) breathNow(snap *rules.Snapshot, lost bool) breathNow {
	if lost {
		return breathNow{}
	}
	n := breathNow{Mixtures: slices.Clone(snap.Mixtures)}
	for i := range n.Mixtures {
		n.Mixtures[i].Sentence = f.InUnits(n.Mixtures[i].Sentence)
	}
	for _, b := range snap.Breathing {
		b.Now, b.Sentence, b.Outlook = f.InUnits(b.Now), f.InUnits(b.Sentence), f.InUnits(b.Outlook)
		card := breathingCard{BreathingView: b}
		if strings.EqualFold(b.Name, b.Agent) {
			card.Name = "" // it is said already
		}
		for _, found := range b.Findings {
			card.Rows = append(card.Rows, f.breathingRow(found))
		}
		n.Gases = append(n.Gases, card)
	}
	return n
}

// breathingRow is one limit and how the air stands to it.
func (f figures) breathingRow(b breathing.Finding) breathingRow {
	l := b.Limit
	row := breathingRow{Key: l.Text().String(), Limit: fmt.Sprintf("%s: %s %s", f.limitName(l), f.Plain(l.Value), l.Unit.Symbol()),
		Why:     f.Text(b.Why),
		Average: f.Text(b.Figure()), Coverage: percent(b.Average.Coverage), Verdict: f.Word(b.Verdict), Shape: verdictShape(b.Verdict)}
	if row.Average == row.Verdict || b.Average.Coverage == 0 { // said once
		row.Average = ""
	}
	if l.Standing != breathing.Verified {
		row.Doubt = f.Word(l.Standing)
	}
	return row
}
