package main

import (
	"context"
	"fmt"
	"math"
	"time"

	"wetside/chem/ledger"
	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// The vessels of the invented place.
const (
	developerTray = "Developer tray"
	stopTray      = "Stop bath tray"
	fixerTray     = "First fixer tray"
	fixerTray2    = "Second fixer tray"
	stopStore     = "stop bath, working strength"
	fixerStore    = "first fixer, working strength"
	fixerStore2   = "second fixer, working strength"
	silverDrum    = "silver-bearing drum"
)

// trayHolds is how much is in a tray of the invented place, concentratePart what of it is
// concentrate at 1+9, and lostAnEvening what stays on prints and goes into the air.
const (
	trayHolds       quantity.Millilitre = 2000
	concentratePart quantity.Millilitre = 200
	lostAnEvening   quantity.Millilitre = 50
)

// freshEvery is after how many evenings stop bath and fixers are mixed anew.
const freshEvery = 2

func trayNames() []string { return []string{developerTray, stopTray, fixerTray, fixerTray2} }

// storedBaths are those that are poured back from storage, with the tray of each and the
// test that lets it be used once more.
func storedBaths() []storedBath {
	precipitate := func(store string) ledger.TestDone {
		return ledger.TestDone{Test: ledger.IodideTest, Container: store, Seen: "clear"}
	}
	return []storedBath{
		{stopStore, stopTray, "stop-bath", ledger.StopBath, ledger.TestDone{Test: ledger.StopColourTest, Container: stopStore, Seen: "yellow",
			WhiteLight: true}},
		{fixerStore, fixerTray, "rapid-fixer", ledger.Fixer, precipitate(fixerStore)},
		{fixerStore2, fixerTray2, "rapid-fixer", ledger.Fixer, precipitate(fixerStore2)},
	}
}

type storedBath struct {
	store, tray, product string
	class                ledger.Class
	test                 ledger.TestDone
}

// stock counts how often a tray was mixed from each concentrate.
type stock map[ledger.Class]int

// pour takes the concentrate of one tray: the bottle that it comes from, and its opening
// when it is a new one.
func (s stock) pour(c ledger.Class) (bottle string, opened []ledger.Act) {
	const traysPerBottle = 5
	bottle = string(c) + " concentrate"
	if n := s[c] / traysPerBottle; n > 0 {
		bottle = fmt.Sprintf("%s %d", bottle, n+1)
	}
	if s[c]%traysPerBottle == 0 {
		opened = []ledger.Act{ledger.LotOpened{Lot: lotOf(c), Container: bottle}}
	}
	s[c]++
	return bottle, opened
}

// firstStock is what a place begins with: vessels, and a delivery of each concentrate.
func firstStock() []ledger.Act {
	acts := []ledger.Act{
		ledger.ContainerNamed{Container: silverDrum, Vessel: ledger.WasteContainer, Capacity: 60000, Stream: ledger.SilverStream},
	}
	for _, b := range storedBaths() {
		acts = append(acts, ledger.ContainerNamed{Container: b.store, Vessel: ledger.Bottle, Capacity: 2500, KeptFor: b.class})
	}
	for _, p := range []struct {
		product string
		class   ledger.Class
	}{{"print-developer", ledger.PrintDeveloper}, {"stop-bath", ledger.StopBath}, {"rapid-fixer", ledger.Fixer}} {
		acts = append(acts, ledger.LotReceived{Lot: lotOf(p.class), Product: p.product, Class: p.class, Units: 8, UnitVolume: 1000,
			Owner: ledger.House})
	}
	return acts
}

func lotOf(c ledger.Class) string { return "invented lot of " + string(c) }

// mix fills a tray from concentrate, under the name of its evening.
func (s stock) mix(tray, product string, class ledger.Class, evening int) []ledger.Act {
	bottle, acts := s.pour(class)
	return append(acts, ledger.BatchMixed{Batch: fmt.Sprintf("invented %s %d", initials(tray), evening+1), Name: "invented " +
		string(class), Product: product, Class: class, Into: tray,
		Meant: ledger.FromConcentrate, From: bottle, ParentVolume: concentratePart, Water: trayHolds - concentratePart,
		Aim: ledger.Parts{Parent: 1, Water: 9}, Owner: ledger.House})
}

func initials(tray string) string {
	return map[string]string{developerTray: "PD", stopTray: "SB", fixerTray: "F1", fixerTray2: "F2"}[tray]
}

// filled is how much is in a stored bath on an evening.
func filled(evening int) quantity.Millilitre {
	return trayHolds - lostAnEvening*quantity.Millilitre(evening%freshEvery)
}

// setUp fills the trays of an evening: the developer is mixed, the others are poured back
// from storage after a test, or mixed anew.
func (s stock) setUp(evening int) []ledger.Act {
	acts := s.mix(developerTray, "print-developer", ledger.PrintDeveloper, evening)
	for _, b := range storedBaths() {
		if evening%freshEvery == 0 {
			acts = append(acts, s.mix(b.tray, b.product, b.class, evening)...)
			continue
		}
		acts = append(acts, b.test, ledger.PortionPoured{From: b.store, To: b.tray, Volume: filled(evening)})
	}
	return acts
}

func takeDown(evening int) []ledger.Act {
	acts := []ledger.Act{ledger.Discarded{Container: developerTray, Volume: trayHolds - lostAnEvening, Emptied: true,
		Route: "as the local authority allows (invented)", Reason: "end of the evening"}}
	for _, b := range storedBaths() {
		left := filled(evening) - lostAnEvening
		switch {
		case evening%freshEvery < freshEvery-1:
			acts = append(acts, ledger.Returned{From: b.tray, To: b.store, Volume: left, Emptied: true})
		case b.class == ledger.Fixer:
			acts = append(acts, ledger.Discarded{Container: b.tray, Volume: left, Emptied: true, To: silverDrum, Reason: "used for two evenings"})
		default:
			acts = append(acts, ledger.Discarded{Container: b.tray, Volume: left, Emptied: true,
				Route: "as the local authority allows (invented)", Reason: "used for two evenings"})
		}
	}
	return acts
}

// probeActs are the invented devices of the trays and two invented checks, one of which has
// found a probe off and corrected it.
func probeActs(r config.Room, now time.Time) (acts []rules.Act) {
	number := 0
	for _, c := range r.Channels {
		if c.Kind != sensors.BathTemperature {
			continue
		}
		number++
		acts = append(acts, truth.FitProbe{Channel: c.ID, Probe: fmt.Sprintf("invented probe %d", number),
			Make: "steel thermometer (invented)", Accuracy: 0.5})
		if number > 2 {
			continue
		}
		check := truth.CheckProbe{Channel: c.ID, Method: truth.IcePoint, Reference: truth.IceTemperature, Uncertainty: truth.IceUncertainty,
			AsFound: 0.12,
			Next:    now.Add(180 * 24 * time.Hour).Truncate(24 * time.Hour), Note: "invented"}
		if number == 2 {
			check.AsFound, check.Correct = -0.25, true
		}
		acts = append(acts, check)
	}
	return acts
}

// traverse is an invented traverse of the duct: faster in the middle than at the wall.
func traverse(by string, at time.Time) (rules.CommissionAir, error) {
	a := rules.CommissionAir{Section: rules.Section{Shape: rules.RoundDuct, Diameter: 0.15}, AtProbe: 4.72,
		Instrument: "hot-wire anemometer, invented number 12", Certificate: "C-77 (invented)", CertificateEnds: at.AddDate(0, 5, 0),
		InstrumentPercent: 3,
		Conditions:        "door shut, filter new, no other fan (invented)", Design: 280, Next: at.AddDate(1, 0, 0)}
	points, err := a.Points()
	if err != nil {
		return a, err
	}
	for _, p := range points {
		off := math.Hypot(float64(p.X-a.Diameter/2), float64(p.Y-a.Diameter/2)) / float64(a.Diameter/2)
		a.Velocities = append(a.Velocities, quantity.MetrePerSecond(math.Round(505*math.Pow(1-off, 1.0/7))/100))
	}
	return a.Work(by, at)
}

// fillTrays sets tonight's class up as a volunteer would, after the invented evenings before
// it. What was entered on an earlier start is refused by the book, and stays.
func fillTrays(ctx context.Context, d *daemon.Daemon, room config.Room, evenings int) {
	ctx, cancel := context.WithTimeout(ctx, 30*time.Second)
	defer cancel()
	const volunteer = "simulated volunteer"
	used, acts := stock{}, []ledger.Act{}
	if evenings == 0 {
		acts = firstStock()
		for _, act := range probeActs(room, time.Now().UTC()) {
			_, _ = d.Do(ctx, rules.Command{Room: room.ID, Person: "simulated keeper", Act: act})
		}
	}
	for before := range evenings {
		used.setUp(before)
	}
	acts = append(append(acts, ledger.SessionOpened{Session: "invented evening", Title: "Invented evening", Lead: volunteer}),
		used.setUp(evenings)...)
	for _, act := range acts {
		_, _ = d.Enter(ctx, daemon.ShelfEntry{Room: room.ID, Person: volunteer, Act: act})
	}
}
