package rules

import (
	"cmp"
	"time"

	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// Take notes a reading on the board, with its value by the correction in force.
func (b *Board) Take(r sensors.Reading) {
	r = b.Probes.Reread(r)
	b.Readings[r.Channel] = r
	if r.Grade == sensors.Good {
		b.LastGood[r.Channel] = r.At
	}
}

// views are the channels of a room as they may be shown, in the room's order.
type views []ChannelView

// viewChannels judges the newest reading of every channel at a moment: a reading
// that has outlived the channel's longest silence is missing, whatever it was, and
// so is every reading of a line that is gone.
func viewChannels(room *Room, lines []LineView, board *Board, now sensors.Instant) views {
	list := make(views, len(room.Channels))
	before := board.Memory.channels
	for i := range room.Channels {
		list[i].judge(&room.Channels[i], board, now)
		list[i].apart = room.apart(list[i].Channel.ID)
		if i < len(before) && before[i].Channel.ID == list[i].Channel.ID {
			list[i].alarm = before[i].alarm // a name that was made once
		} else {
			list[i].alarm = channelAlarm(list[i].Channel.ID)
		}
	}
	next := 0 // channels stand in the order of their lines, so that the next one is nearly always the one looked for
	for i := range lines {
		l, gone := &lines[i], lines[i].Status.State == sensors.StateGone
		for _, id := range l.Line.Channels {
			at := list.index(id, next)
			if at < 0 {
				continue
			}
			next = at + 1
			list[at].Line, list[at].lineAlarm = l.Line.ID, l.alarm
			if gone && list[at].Grade != sensors.Missing {
				list[at].Grade, list[at].Reason, list[at].value = sensors.Missing, sensors.LineLost, 0
			}
		}
	}
	return list
}

// viewLines takes the newest status of each line; the names of their alarms are made once.
func viewLines(lines []Line, board *Board) []LineView {
	list, before := make([]LineView, len(lines)), board.Memory.lines
	for i := range lines {
		v := &list[i]
		v.Line, v.Status = lines[i], board.Lines[lines[i].ID]
		if i < len(before) && before[i].Line.ID == v.Line.ID {
			v.alarm = before[i].alarm
		} else {
			v.alarm = lineAlarm(v.Line.ID)
		}
	}
	return list
}

func (v *ChannelView) judge(c *sensors.Channel, board *Board, now sensors.Instant) {
	corrected, out := board.Probes.Changed(c.ID)
	v.Channel, v.Reason = cmp.Or(corrected, c), sensors.NeverSeen
	r, seen := board.Readings[c.ID]
	if !seen {
		return
	}
	v.Seen, v.Raw, v.Age, v.LastAt = true, r.Raw, ageOf(r.At, now), r.At.Wall
	if r.Grade == sensors.Good {
		v.GoodAt = v.LastAt
	} else {
		v.GoodAt = board.LastGood[c.ID].Wall
	}
	v.Grade, v.Reason = r.Grade, r.Reason
	switch {
	case out:
		v.Grade, v.Reason = sensors.Missing, sensors.OutOfService
	case v.Age > c.Silence:
		v.Grade, v.Reason = sensors.Missing, sensors.Silent
	case r.Grade == sensors.Missing:
	default:
		v.believe(r, &board.Probes)
	}
}

// believe gives the value of a good reading away, unless the channel is suspected: a
// reading that was good when it came in is none once its probe looks wrong.
func (v *ChannelView) believe(r sensors.Reading, probes *truth.Book) {
	if doubt, suspected := probes.Suspected(r.Channel); suspected && (r.Grade == sensors.Good || r.Reason == sensors.LooksWrong) {
		v.Grade, v.Reason, v.Doubt = sensors.Suspect, sensors.LooksWrong, doubt.Why()
	} else if r.Grade == sensors.Good {
		v.value = r.Value
	}
}

// sleepFrom is how much farther than the monotonic time the wall clock must have gone
// for a computer to have been asleep.
const sleepFrom = 2 * time.Second

// ageOf is how old a reading is. The monotonic time stands still while a computer
// sleeps, and nobody can tell that from a clock that was set forward: the reading
// counts as old until the next one comes.
func ageOf(at, now sensors.Instant) time.Duration {
	age := now.Since(at)
	if wall := now.Wall.Sub(at.Wall); wall > age+sleepFrom {
		return wall
	}
	return age
}

// index finds a channel, looking first at the place where it is likely to stand; -1 if there is none.
func (v views) index(id sensors.ChannelID, likely int) int {
	if likely < len(v) && v[likely].Channel.ID == id {
		return likely
	}
	for i := range v {
		if v[i].Channel.ID == id {
			return i
		}
	}
	return -1
}

// get gives a channel by its ID, the zero view if there is none.
func (v views) get(id sensors.ChannelID) ChannelView {
	if at := v.index(id, 0); id != "" && at >= 0 {
		return v[at]
	}
	return ChannelView{Channel: &sensors.Channel{}}
}

// of gives the first channel of a kind in the room's order, good ones first; those of
// the hood and of the supply are not looked at.
func (v views) of(kind sensors.Kind) (*ChannelView, bool) {
	var found *ChannelView
	for i := range v {
		if v[i].Channel.Kind != kind || v[i].apart {
			continue
		}
		if v[i].Grade == sensors.Good {
			return &v[i], true
		}
		if found == nil {
			found = &v[i]
		}
	}
	return found, found != nil
}

// good gives the value of the first good channel of a kind.
func (v views) good(kind sensors.Kind) (float64, bool) {
	if view, found := v.of(kind); found {
		return view.Good()
	}
	return 0, false
}

// Why says in words why a channel gives no value.
func (c ChannelView) Why() phrase.Sentence {
	switch {
	case c.Grade == sensors.Good:
		return phrase.Say("good")
	case !c.Seen:
		return phrase.Say("not seen yet")
	case c.Grade == sensors.Missing:
		return phrase.Say("missing (%s, last heard %s ago)", c.Reason, Age(c.Age))
	case !c.Doubt.IsZero():
		return phrase.Say("suspect (%s)", c.Doubt)
	default:
		return phrase.Say("suspect (%s)", c.Reason)
	}
}

// Cause says in few words why a channel is not good, for the book: it stays the same
// however long it lasts.
func (c ChannelView) Cause() string {
	if c.Grade == sensors.Good {
		return "good readings"
	}
	return string(c.Reason)
}
