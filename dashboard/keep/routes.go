// Package keep has the pages of whoever keeps the computer, the probes and the screens.
package keep

import (
	"net/http"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/screentest"
	"wetside/rules/truth"
)

// Pages are the pages of whoever keeps the computer, the probes and the screens.
type Pages struct {
	*web.Kit
	Readings    web.Readings
	Maintenance Maintenance
	Screens     Screens
	FirstRun    FirstRun
}

// Routes are those of the keeper.
func (s *Pages) Routes() []web.Route {
	under := func(at int, name, text string, there bool) web.Entry {
		return web.Entry{Under: web.UnderTechnics, At: at, Name: name, Text: text}.If(there)
	}
	volunteer, keeper := web.From(access.Volunteer), web.From(access.Keeper)
	return []web.Route{
		{Pattern: "GET /rooms/{room}/probes", For: web.Reading(), Answer: s.InRoom(s.probesPage), Menu: under(1, "probes", "Probes", true)},
		{Pattern: "GET /rooms/{room}/probes/events", For: web.Reading(), Live: s.probesParts, Calm: true},
		{Pattern: "POST /rooms/{room}/probes", For: volunteer, Answer: s.InRoom(s.probesPost), Acts: findingActs()},
		{Pattern: "GET /rooms/{room}/probe/{channel}", For: web.Reading(), Answer: s.ofChannel(s.probePage)},
		{Pattern: "GET /rooms/{room}/probe/{channel}/hour.svg", For: web.Reading(), Answer: s.ofChannel(s.hourPicture)},
		{Pattern: "POST /rooms/{room}/probe/{channel}", For: volunteer, Answer: s.ofChannel(s.probePost), Acts: probeActs()},
		{Pattern: "GET /rooms/{room}/probe/{channel}/check", For: volunteer, Answer: s.ofChannel(s.checkPage)},
		{Pattern: "POST /rooms/{room}/probe/{channel}/check", For: web.From(access.Instructor), Answer: s.ofChannel(s.probePost),
			Acts: probeActs()},
		{Pattern: "GET /keeper", For: volunteer, Answer: s.Having(s.Maintenance != nil, s.keeperPage),
			Menu: under(2, "keeper", "Computer", s.Maintenance != nil)},
		{Pattern: "POST /keeper", For: keeper, Answer: s.Having(s.Maintenance != nil, s.keeperPost)},
		{Pattern: "GET /screen", For: web.Reading(), Answer: s.Having(s.Screens != nil, s.screenPage),
			Menu: under(3, "screen", "Screen test", s.Screens != nil)},
		{Pattern: "POST /screen", For: volunteer, Answer: s.Having(s.Screens != nil, s.screenPost),
			Acts: []web.Act{{Name: actScreen, Kind: screentest.Kind}}},
		{Pattern: "GET /screen/light", For: web.Reading(), Answer: s.Having(s.Screens != nil, s.screenLight)},
		{Pattern: "GET /first-run", For: keeper, Answer: s.Having(s.FirstRun != nil, s.firstRunPage)},
		{Pattern: "POST /first-run", For: keeper, Answer: s.Having(s.FirstRun != nil, s.firstRunPost)},
	}
}

// ofChannel answers for the channel that an address names.
func (s *Pages) ofChannel(h func(http.ResponseWriter, *http.Request, web.Visit, rules.ChannelView)) http.Handler {
	return s.InRoom(func(w http.ResponseWriter, r *http.Request, in web.Visit) {
		if c, known := cards.ChannelView(in.Snap, r.PathValue("channel")); known {
			h(w, r, in, c)
			return
		}
		s.Fail(w, r, web.Failure{Status: http.StatusNotFound, Sentence: web.NoSuchChannel})
	})
}

// findingActs judge what was found from readings, and confirm the clock.
func findingActs() []web.Act {
	return []web.Act{{Name: cards.ActConfirm, Kind: truth.ConfirmFinding{}.Kind()},
		{Name: cards.ActDismiss, Kind: truth.DismissFinding{}.Kind()},
		{Name: cards.ActClock, Kind: rules.ConfirmClock{}.Kind()}}
}

func probeActs() []web.Act {
	return []web.Act{{Name: actFit, Kind: truth.FitProbe{}.Kind()}, {Name: actTakeOut, Kind: truth.RemoveProbe{}.Kind()},
		{Name: actHand, Kind: truth.HandReading{}.Kind()},
		{Name: actCheck, Kind: truth.CheckProbe{}.Kind()}, {Name: actCorrect, Kind: truth.SetCorrection{}.Kind()}}
}

type figures struct{ cards.Figures }

func (s *Pages) figures(site *web.Site) figures {
	return figures{cards.Figures{Figures: s.Figures(site)}}
}
