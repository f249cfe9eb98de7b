package dashboard

import (
	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/screentest"
	"wetside/rules/truth"
)

// keepPages are the pages of whoever keeps the computer, the probes and the screens.
type keepPages struct {
	*kit
	keeping  Keeping
	screens  Screens
	firstRun FirstRun
}

// routes are those of the keeper.
func (s *keepPages) routes() []Route {
	under := func(at int, name string, there bool) Entry {
		return Entry{Under: UnderTechnics, At: at, Name: name}.If(there)
	}
	volunteer, keeper := From(access.Volunteer), From(access.Keeper)
	return []Route{
		{Pattern: "GET /rooms/{room}/probes", For: Reading(), Answer: s.inRoom(s.probesPage), Menu: under(1, "probes", true)},
		{Pattern: "GET /rooms/{room}/probes/events", For: Reading(), Live: s.probesParts, Calm: true},
		{Pattern: "POST /rooms/{room}/probes", For: volunteer, Answer: s.inRoom(s.probesPost), Acts: findingActs()},
		{Pattern: "GET /rooms/{room}/probe/{channel}", For: Reading(), Answer: s.inRoom(s.probePage)},
		{Pattern: "POST /rooms/{room}/probe/{channel}", For: volunteer, Answer: s.inRoom(s.probePost), Acts: probeActs()},
		{Pattern: "GET /rooms/{room}/probe/{channel}/check", For: volunteer, Answer: s.inRoom(s.checkPage)},
		{Pattern: "POST /rooms/{room}/probe/{channel}/check", For: From(access.Instructor), Answer: s.inRoom(s.probePost), Acts: probeActs()},
		{Pattern: "GET /keeper", For: volunteer, Answer: s.having(s.keeping != nil, s.keeperPage), Menu: under(2, "keeper", s.keeping != nil)},
		{Pattern: "POST /keeper", For: keeper, Answer: s.having(s.keeping != nil, s.keeperPost)},
		{Pattern: "GET /screen", For: Reading(), Answer: s.having(s.screens != nil, s.screenPage), Menu: under(3, "screen", s.screens != nil)},
		{Pattern: "POST /screen", For: volunteer, Answer: s.having(s.screens != nil, s.screenPost), Acts: []Act{{Name: actScreen, Kind: screentest.Kind}}},
		{Pattern: "GET /screen/light", For: Reading(), Answer: s.having(s.screens != nil, s.screenLight)},
		{Pattern: "GET /first-run", For: keeper, Answer: s.having(s.firstRun != nil, s.firstRunPage)},
		{Pattern: "POST /first-run", For: keeper, Answer: s.having(s.firstRun != nil, s.firstRunPost)},
	}
}

// findingActs judge what was found from readings, and confirm the clock.
func findingActs() []Act {
	return []Act{{Name: actConfirm, Kind: truth.ConfirmFinding{}.Kind()}, {Name: actDismiss, Kind: truth.DismissFinding{}.Kind()},
		{Name: actClock, Kind: rules.ConfirmClock{}.Kind()}}
}

// probeActs are what can be entered of one probe.
func probeActs() []Act {
	return []Act{{Name: actFit, Kind: truth.FitProbe{}.Kind()}, {Name: actTakeOut, Kind: truth.RemoveProbe{}.Kind()}, {Name: actHand, Kind: truth.HandReading{}.Kind()},
		{Name: actCheck, Kind: truth.CheckProbe{}.Kind()}, {Name: actCorrect, Kind: truth.SetCorrection{}.Kind()}}
}
