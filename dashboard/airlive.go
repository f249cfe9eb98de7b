package dashboard

import (
	"slices"
	"time"

	"wetside/chem"
	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// airNow is the state of the air at this moment; nothing in it outlives the room's loop.
type airNow struct {
	Air      airCard
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
	Estimate string
}

// streamed makes a page live. It has forms, so that a browser without script does not
// load it again by itself: what was typed would be gone.
func (p page) streamed(here string) page {
	p.Stream = "/rooms/" + p.Room + "/" + here + "/events"
	if p.Look == red {
		p.Stream += "?look=red"
	}
	return p
}

// airParts are the live parts of the page of the air.
func (s *airPages) airParts(in visit, _ look) ([]part, error) {
	f, lost := s.figures(in.site), s.lost(in.snap)
	var d drawing
	s.draw(&d, "part-alert", f.todo(in.snap, lost), "todo")
	s.draw(&d, "part-air-now", f.airNow(in.snap, lost), "air-now")
	s.draw(&d, "part-evening", f.sessionCard(in.snap.Session), "evening-now")
	s.draw(&d, "part-notices", f.worthKnowing(in.snap, lost), "notices")
	s.draw(&d, "part-breathing", f.breathNow(in.snap, lost), "breathing-now")
	return d.parts, d.err
}

// worthKnowing are the notices, as long as somebody vouches for them.
func (f figures) worthKnowing(snap *rules.Snapshot, lost bool) []string {
	if lost {
		return nil
	}
	return f.tellAll(snap.Notices)
}

func (f figures) airNow(snap *rules.Snapshot, lost bool) airNow {
	n := airNow{Air: f.airCard(snap.Air, lost)}
	if lost {
		return n
	}
	a := snap.Air
	n.Basis = f.tell(a.Basis)
	n.Scale, n.Conflict, n.Trend, n.Airing = f.flowScale(a), slices.Clone(a.Contradictions), f.tell(a.Trend), f.airingCard(snap)
	for i := range n.Conflict {
		n.Conflict[i].Sentence = f.told(n.Conflict[i].Sentence)
	}
	if a.FanStop != nil {
		n.FanStop = f.tell(a.FanStop.Sentence)
	}
	n.Hood = f.hoodPlaces(a)
	if m := a.MakeUp; m != nil {
		n.MakeUp = f.words.Say("air.make-up-is", f.flow(m.Supply), f.number(float64(m.Share), 0))
	}
	if a.Estimate != nil {
		n.Estimate = f.tell(a.Estimate.Sentence)
	}
	return n
}

func (f figures) airingCard(snap *rules.Snapshot) *airingCard {
	if f.airing(snap) == "" {
		return nil
	}
	p := snap.Purge
	c := &airingCard{Sentence: f.tell(p.Sentence), Done: p.Done, At: number(min(float64(p.Removed), 100), 1)}
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
	}{{f.words.Say("hood.left"), a.HoodAt.Left, a.Hood.Left}, {f.words.Say("hood.middle"), a.HoodAt.Middle, a.Hood.Middle}, {f.words.Say("hood.right"), a.HoodAt.Right, a.Hood.Right}} {
		if p.fitted == "" {
			continue
		}
		place := hoodPlace{Place: p.key}
		if v, known := p.at.Get(); known {
			place.Velocity = f.withUnit(quantity.Velocity, float64(v), 0.01)
		}
		list = append(list, place)
	}
	return list
}

// flow writes a flow to whole steps of people's unit.
func (f figures) flow(q quantity.CubicMetrePerHour) string {
	return f.withUnit(flowDimension, float64(q), f.unit(flowDimension).ToBase(1))
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
	place := func(q quantity.CubicMetrePerHour) string { return number(float64(100*q/(most*scaleRoom)), 2) }
	s := &flowScale{}
	mark := func(q quantity.CubicMetrePerHour, word string) {
		s.Marks = append(s.Marks, scaleMark{place(q), f.flow(q), word})
	}
	mark(l.Stopped, f.words.Say("scale.stopped"))
	mark(l.Low, f.words.Say("scale.low"))
	if l.Basis == ventilation.ByCommissioning {
		mark(l.Reference, f.words.Say("scale.commissioned"))
	}
	s.Label = f.words.Say("scale.unknown")
	if a.Flow != nil {
		s.At, s.Label = place(*a.Flow), f.words.Say("scale.flow", f.flow(*a.Flow))
	}
	return s
}

func (f figures) breathNow(snap *rules.Snapshot, lost bool) breathNow {
	if lost {
		return breathNow{}
	}
	n := breathNow{Mixtures: slices.Clone(snap.Mixtures)}
	for i := range n.Mixtures {
		n.Mixtures[i].Sentence = f.told(n.Mixtures[i].Sentence)
	}
	for _, b := range snap.Breathing {
		b.Now, b.Sentence, b.Outlook = f.told(b.Now), f.told(b.Sentence), f.told(b.Outlook)
		card := breathingCard{BreathingView: b}
		for _, found := range b.Findings {
			card.Rows = append(card.Rows, f.breathingRow(found))
		}
		n.Gases = append(n.Gases, card)
	}
	return n
}

// breathingRow is one limit and how the air stands to it.
func (f figures) breathingRow(b breathing.Finding) breathingRow {
	l, unit := b.Limit, b.Limit.Unit.Symbol()
	row := breathingRow{Key: l.Text().String(), Limit: f.words.Say("breathing.limit", f.limitName(l), f.plain(l.Value), unit), Edition: l.Edition, Source: l.Source, Standing: f.word(l.Standing),
		Average: f.tell(b.Average.Text(unit)), Coverage: percent(b.Average.Coverage), Verdict: f.word(b.Verdict), Shape: "unproven"}
	switch b.Verdict {
	case breathing.Within:
		row.Shape = "moving"
	case breathing.Over:
		row.Shape = "stopped"
	}
	return row
}
