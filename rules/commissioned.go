package rules

import (
	"fmt"
	"time"

	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Commissioned is what the newest traverse of the duct has proven, as the configuration or
// the book holds it. The zero Commissioned is a room that was never commissioned.
type Commissioned struct {
	Flow        quantity.CubicMetrePerHour
	Date        time.Time
	Instrument  string // make-independent name and serial number
	Certificate string // number of its calibration certificate
	Conditions  string // doors, filters, other fans at the time
	// Uncertainty of the flow, expanded (k = 2); zero when it is not stated.
	Uncertainty quantity.Percent
	// Design is what the exhaust was designed for, zero when nobody knows; First is what the
	// first traverse found, and DropReason why less moves now.
	Design     quantity.CubicMetrePerHour
	First      FirstFlow
	DropReason string
	// Next is the day by which the duct is to be traversed again; zero when none is set.
	Next time.Time
	// Traverse is what it was worked out from, in words; empty for one that only the configuration tells of.
	Traverse phrase.Sentence
	// RoomPressure, room minus neighbour, at the traverse: what is usual from then on.
	RoomPressure ventilation.Optional[quantity.Pascal]
}

// dropFrom is the share of an earlier or a design flow below which a traverse shows a drop
// (choice of this program: three times the uncertainty of a good traverse).
const dropFrom = 0.9

// drop says by how much less air moves than by design, or else than at the first traverse;
// empty where neither is known or the flow is about the same.
func (c Commissioned) drop() phrase.Sentence {
	switch {
	case c.Design > 0 && c.Flow < dropFrom*c.Design:
		return phrase.Say("%.0f %% of the design flow of %s", 100*float64(c.Flow/c.Design), c.Design.To(1))
	case c.First.Flow > 0 && c.Flow < dropFrom*c.First.Flow:
		return phrase.Say("%.0f %% of the %s that the first traverse found on %s", 100*float64(c.Flow/c.First.Flow), c.First.Flow.To(1),
			c.First.At.Format(time.DateOnly))
	}
	return phrase.Sentence{}
}

// notice tells of less air than by design or at first; empty where there is none to tell of.
func (c Commissioned) notice() (list []phrase.Sentence) {
	drop := c.drop()
	switch {
	case drop.IsZero():
	case c.DropReason != "":
		list = append(list, phrase.Say("The newest traverse found %s. Reason entered: %s.", drop, c.DropReason))
	default:
		list = append(list, phrase.Say("The newest traverse found %s. No reason was entered.", drop))
	}
	return list
}

// declineMemory holds the mean flows of earlier sessions, and what they say together.
type declineMemory struct {
	flows    []ventilation.DayFlow
	fitted   bool
	sentence phrase.Sentence // a decline, empty without one
	trend    phrase.Sentence // what the flows say, empty while they are too few
}

// keptFlows is in how many sessions a decline of the flow is looked for.
const keptFlows = 60

// addFlow remembers the mean flow of a session that is over.
func (m *Memory) addFlow(s session.Session) {
	flow, ok := s.Tally.MeanFlow()
	if !ok {
		return
	}
	flows := m.decline.flows[max(0, len(m.decline.flows)-keptFlows+1):]
	m.decline = declineMemory{flows: append(flows[:len(flows):len(flows)], ventilation.DayFlow{At: s.Begun, Flow: flow})}
}

// fit looks for a decline, once for every session that was added.
func (d declineMemory) fit(limits ventilation.Limits) declineMemory {
	if d.fitted {
		return d
	}
	d.fitted, d.sentence, d.trend = true, phrase.Sentence{}, phrase.Sentence{}
	trend, err := ventilation.FitTrend(d.flows, limits)
	if err != nil {
		return d
	}
	if d.trend = trend.Sentence(); trend.Falling {
		d.sentence = d.trend
	}
	return d
}

func (d declineMemory) notice() []phrase.Sentence {
	if d.sentence.IsZero() {
		return nil
	}
	return []phrase.Sentence{d.sentence}
}

// complaintReadings writes down, once, what the probes read at a complaint: that
// every reading was in order does not make the complaint go away.
func complaintReadings(room Room, s *Snapshot, m *Memory) []Event {
	if m.complaint.record == 0 || m.complaint.noted {
		return nil
	}
	m.complaint.noted = true
	read := []phrase.Sentence{s.Air.Sentence}
	for _, g := range s.Breathing {
		read = append(read, g.Sentence)
	}
	if !s.Session.Sentence.IsZero() {
		read = append(read, s.Session.Sentence)
	}
	return []Event{{Kind: ComplaintReadings, Subject: room.ID, From: m.complaint.what, To: fmt.Sprintf("record %d", m.complaint.record),
		Cause: phrase.Join(" ", read...).String()}}
}

// complaintShown is how long a complaint is worth a word to whoever comes in.
const complaintShown = 12 * time.Hour

func (c complaint) notice(room Room, now time.Time) []phrase.Sentence {
	if c.record == 0 || now.Sub(c.at) > complaintShown {
		return nil
	}
	return []phrase.Sentence{phrase.Say("%s reported at %s: %s. A smell can show what the limits miss: check the airflow at the trays.",
		c.person, c.at.In(room.zone()).Format("15:04"), c.what)}
}
