package past

import (
	"slices"

	"wetside/sensors"
)

// Corrected is the site with the corrections that people put in force, by channel,
// among its own. Of two from the same moment theirs holds. The site is not changed.
func (s Site) Corrected(of func(channel string) []sensors.Correction) Site {
	s.Rooms = slices.Clone(s.Rooms)
	for i := range s.Rooms {
		s.Rooms[i] = s.Rooms[i].Corrected(of)
	}
	return s
}

// Corrected is the room with the corrections that people put in force; see [Site.Corrected].
func (r Room) Corrected(of func(channel string) []sensors.Correction) Room {
	r.Channels = slices.Clone(r.Channels)
	for i := range r.Channels {
		c := &r.Channels[i]
		c.Corrections = slices.Clone(c.Corrections)
		for _, k := range of(c.ID) {
			c.Corrections = append(c.Corrections, Correction(k))
		}
		slices.SortStableFunc(c.Corrections, func(a, b Correction) int { return a.From.Compare(b.From) })
	}
	return r
}
