package truth

import (
	"math"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// misplaced is an act on one bath to which the probe of another answered, and its own did not.
type misplaced struct {
	acted, answered sensors.ChannelID
	at              time.Time
}

const (
	// answers is the least step that counts as an answer, in kelvin, silent the most that counts as none.
	answers = 0.8
	silent  = 0.25
	// answeredByChance is the chance that a bath stays still when it is filled and another
	// moves instead, for another reason (common practice: an estimate).
	answeredByChance = 0.1
)

// misplaced follows up what was done: when the tray of one bath is filled and the
// probe of another bath answers, twice and crosswise, the two were exchanged.
func (w *Watch) misplaced(now sensors.Instant) []Finding {
	var found []Finding
	for _, act := range w.acts {
		if act.slot != w.slot-movingSlots-quietSlots {
			continue
		}
		other, ok := w.answered(act)
		if !ok {
			continue
		}
		m := misplaced{act.channel, other, wallAt(act.slot, now)}
		for _, before := range w.wrong {
			if before.acted == m.answered && before.answered == m.acted {
				found = append(found, w.crosswise(before, m))
			}
		}
		w.wrong = append(w.wrong, m)
	}
	for len(w.wrong) > 0 && now.Wall.Sub(w.wrong[0].at) > quietFor {
		w.wrong = w.wrong[1:]
	}
	return found
}

// answered finds the one other bath that answered an act, when its own did not.
func (w *Watch) answered(act doing) (sensors.ChannelID, bool) {
	own := w.edge(w.tracks[act.channel])
	if !own.quiet() || math.Abs(own.moved()) > silent {
		return "", false
	}
	var other sensors.ChannelID
	for _, id := range w.order {
		if id == act.channel || !stepwise(w.tracks[id].channel) || w.acted(id, act.slot-actSlots/2, w.slot) {
			continue
		}
		if e := w.edge(w.tracks[id]); e.quiet() && math.Abs(e.moved()) >= answers {
			if other != "" {
				return "", false
			}
			other = id
		}
	}
	return other, other != ""
}

func (w *Watch) crosswise(first, second misplaced) Finding {
	a, b := w.tracks[first.acted].channel, w.tracks[second.acted].channel
	chance := answeredByChance * answeredByChance
	return Finding{What: Exchanged, Channels: []sensors.ChannelID{a.ID, b.ID}, From: first.at, Confidence: certain(chance),
		Text: phrase.Say("When the tray of %s was filled, the probe of %s answered, and the other way round: their probes may have been "+
			"exchanged.", a.Name, b.Name),
		Basis: phrase.Say("two entries, each answered by the wrong probe alone; that this happens for another reason is taken as %.0f in "+
			"100 each time", 100*answeredByChance)}
}
