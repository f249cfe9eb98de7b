package record

import (
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
)

// figures writes what these pages say, in the units of the place.
type figures struct {
	cards.Figures
	place Place
}

func (s *Pages) figures(site *web.Site) figures {
	return figures{cards.Figures{Figures: s.Figures(site)}, s.Place}
}
