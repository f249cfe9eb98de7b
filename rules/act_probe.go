package rules

import (
	"slices"
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

// ofProbe is what every act on a probe or a finding does in its room.
type ofProbe struct{ truth.Act }

func (o ofProbe) check(_ Room, board Board, c Command) error {
	for _, text := range o.Texts() {
		if err := checkWord(text.What, text.Text, false); err != nil {
			return err
		}
	}
	return board.Probes.Check(o.Act, truth.Stamp{Person: c.Person, At: c.At.Wall})
}

func (o ofProbe) apply(board Board, d Done, _ sensors.Instant) (Board, error) {
	board.Probes = board.Probes.With(o.Act, truth.Stamp{Record: d.Record, Person: d.Command.Person, At: d.At})
	return board, nil
}

func (o ofProbe) sentence(room Room, d Done) phrase.Sentence {
	return d.entered(o.What(room.channelName))
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

// probeNotices tell of findings that wait, of those alike the newest, and of checks that are overdue.
func probeNotices(room Room, s *Snapshot) []phrase.Sentence {
	var list []phrase.Sentence
	waiting := s.Probes.Waiting()
	for i, f := range waiting {
		alike := func(o truth.Offer) bool { return o.What == f.What && slices.Equal(o.Channels, f.Channels) }
		if slices.ContainsFunc(waiting[:i], alike) {
			continue
		}
		which := ""
		if slices.ContainsFunc(waiting[i+1:], alike) {
			which = " and the earlier ones like it"
		}
		list = append(list, phrase.Say("%s About %d %% likely. Check the probe, then confirm or dismiss the finding%s under Probes.", f.Text,
			f.Percent(), which))
	}
	for l, due := range s.Probes.Overdue(s.At.Wall) {
		list = append(list, phrase.Say("The check of the probe at %s was due on %s.", l.Channel.Name,
			due.Add(-time.Second).In(room.zone()).Format("Mon 2 Jan 2006")))
	}
	return list
}
