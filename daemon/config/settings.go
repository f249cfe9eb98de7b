package config

import (
	"wetside/rules"
	"wetside/rules/past"
)

// Settings are what an evening is judged by, as the record book keeps them.
func (c Config) Settings() past.Site {
	p := past.Place{Zone: c.Zone, Keeping: c.Keeping, Duties: c.Duties, Rooms: make([]rules.Room, len(c.Rooms))}
	for i, r := range c.Rooms {
		p.Rooms[i] = r.Room
	}
	return p.Site()
}
