package rules

import (
	"fmt"
	"time"

	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity/phrase"
)

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
	return []phrase.Sentence{phrase.Say("%s reported at %s: %s (record %d). A smell can show what the limits miss: check the airflow at "+
		"the trays.",
		c.person, c.at.In(room.zone()).Format("15:04"), c.what, c.record)}
}
