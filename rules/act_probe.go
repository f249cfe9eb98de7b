package rules

import (
	"time"

	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// Beside gives an act what the board knows at its moment, before it is recorded: to a
// hand reading what the probe said, to a decision the finding that it is about.
func Beside(room Room, board Board, c Command) Act {
	act, ok := c.Act.(truth.Act)
	if !ok {
		return c.Act
	}
	if h, ok := act.(truth.HandReading); ok {
		for _, ch := range room.Channels {
			if ch.ID == h.Channel && !board.Probes.Out(ch.ID) {
				return truth.Beside(h, ch, board.Readings[ch.ID], c.At)
			}
		}
	}
	return board.Probes.Filled(act)
}

func checkProbe(board Board, act truth.Act, c Command) error {
	for _, word := range probeWords(act) {
		if err := checkWord(word.what, word.text, false); err != nil {
			return err
		}
	}
	return board.Probes.Check(act, truth.Stamp{Person: c.Person, At: c.At.Wall})
}

// written is a text of a person, and what it is.
type written struct {
	what phrase.Sentence
	text string
}

func probeWords(act truth.Act) []written {
	switch act := act.(type) {
	case truth.FitProbe:
		return []written{{phrase.Say("label of the probe"), act.Probe}, {phrase.Say("make of the probe"), act.Make}}
	case truth.RemoveProbe:
		return []written{{phrase.Say("reason"), act.Why}}
	case truth.CheckProbe:
		return []written{{phrase.Say("reference instrument"), act.Instrument}, {phrase.Say("certificate number"), act.Certificate}, {phrase.Say("note"), act.Note}}
	case truth.SetCorrection:
		return []written{{phrase.Say("reason"), act.Why}}
	case truth.HandReading:
		return []written{{phrase.Say("name of the thermometer"), act.With}}
	case truth.ConfirmFinding:
		return []written{{phrase.Say("reason"), act.Why}}
	case truth.DismissFinding:
		return []written{{phrase.Say("reason"), act.Why}}
	}
	return nil
}

// probeSentence says what an act about a probe did.
func probeSentence(act truth.Act, room Room) phrase.Sentence {
	switch act := act.(type) {
	case truth.FitProbe:
		return phrase.Say("%s was fitted at %s, entered", act.Probe, room.channelName(act.Channel))
	case truth.RemoveProbe:
		return phrase.Say("the probe of %s was taken out, entered", room.channelName(act.Channel))
	case truth.CheckProbe:
		if act.Correct {
			return phrase.Say("%s was checked, and its correction is in force, entered", room.channelName(act.Channel))
		}
		return phrase.Say("%s was checked, entered", room.channelName(act.Channel))
	case truth.SetCorrection:
		return phrase.Say("the correction of %s holds from its date on, entered", room.channelName(act.Channel))
	case truth.HandReading:
		if act.Raw == nil {
			return phrase.Say("a hand reading at %s, whose probe said nothing to compare it with, was entered", room.channelName(act.Channel))
		}
		return phrase.Say("a hand reading at %s was entered beside what its probe said", room.channelName(act.Channel))
	case truth.ConfirmFinding:
		return phrase.Say("the finding was confirmed")
	case truth.DismissFinding:
		return phrase.Say("the finding was dismissed")
	}
	return phrase.Plain(act.Kind())
}

func (r Room) channelName(id sensors.ChannelID) string {
	for _, c := range r.Channels {
		if c.ID == id {
			return c.Name
		}
	}
	return string(id)
}

// FoundEvent is the record of a finding that is offered.
func FoundEvent(f truth.Finding) Event {
	return Event{Kind: FindingOffered, Subject: f.ID, To: string(f.What), Cause: f.Text.String(), Begun: f.From, Finding: &f}
}

// probeNotices tell of findings that wait and of checks that are overdue.
func probeNotices(room Room, s *Snapshot) []phrase.Sentence {
	var list []phrase.Sentence
	for _, f := range s.Probes.Waiting() {
		list = append(list, phrase.Say("%s About %d %% sure. Look, and confirm or dismiss it on the page of probes.", f.Text, f.Percent()))
	}
	for l := range s.Probes.Lives() {
		if due, overdue, ok := l.Due(s.At.Wall); ok && overdue {
			list = append(list, phrase.Say("The check of the probe at %s was due on %s.", l.Channel.Name, phrase.Date{At: due.Add(-time.Second).In(room.zone()), Layout: "Mon 2 Jan 2006"}))
		}
	}
	return list
}
