package rules

import (
	"wetside/sensors"
)

// Take notes a reading on the board.
func (b *Board) Take(r sensors.Reading) {
	b.Readings[r.Channel] = r
	if r.Grade == sensors.Good {
		b.LastGood[r.Channel] = r.At
	}
}

// lineOf finds the line that a channel depends on.
func (r Room) lineOf(id sensors.ChannelID) (Line, bool) {
	for _, l := range r.Lines {
		for _, c := range l.Channels {
			if c == id {
				return l, true
			}
		}
	}
	return Line{}, false
}

// viewChannels judges the newest reading of every channel at a moment: a reading
// that has outlived the channel's longest silence is missing, whatever it was.
func viewChannels(room Room, board Board, now sensors.Instant) map[sensors.ChannelID]ChannelView {
	gone := map[sensors.ChannelID]bool{}
	for _, l := range room.Lines {
		if board.Lines[l.ID].State == sensors.StateGone {
			for _, c := range l.Channels {
				gone[c] = true
			}
		}
	}
	views := make(map[sensors.ChannelID]ChannelView, len(room.Channels))
	for _, c := range room.Channels {
		v := viewChannel(c, board, now)
		if gone[c.ID] && v.Grade != sensors.Missing {
			v.Grade, v.Reason, v.value = sensors.Missing, sensors.LineLost, 0
		}
		views[c.ID] = v
	}
	return views
}

func viewChannel(c sensors.Channel, board Board, now sensors.Instant) ChannelView {
	v := ChannelView{Channel: c, Reason: sensors.NeverSeen}
	r, seen := board.Readings[c.ID]
	if !seen {
		return v
	}
	v.Seen, v.Raw, v.Age, v.LastAt = true, r.Raw, now.Since(r.At), r.At.Wall
	if good, ok := board.LastGood[c.ID]; ok {
		v.GoodAt = good.Wall
	}
	v.Grade, v.Reason = r.Grade, r.Reason
	switch {
	case v.Age > c.Silence:
		v.Grade, v.Reason = sensors.Missing, sensors.Silent
	case r.Grade == sensors.Good:
		v.value = r.Value
	}
	return v
}
