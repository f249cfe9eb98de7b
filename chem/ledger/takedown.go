package ledger

import (
	"slices"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Action is what is done with a bath at the end.
type Action string

// What to do with a bath at the end of an evening.
const (
	ReturnIt   Action = "return"
	DiscardIt  Action = "discard"
	TestIt     Action = "test, then return or discard"
	OwnerTakes Action = "the owner takes the bath away"
)

// TakeDownItem is one vessel to see to.
type TakeDownItem struct {
	Contents Contents
	Action   Action
	To       string   // its home, or the waste container; empty when there is none
	Home     string   // the container that it came from or went back into last time; empty when there is none
	Stores   []string // the vessels for storage that it may go back into, with its home
	Route    string   // where else the content of its tray went last, where no waste container is for it; empty when not known
	Because  phrase.Sentence
	How      []phrase.Sentence
	Cautions []phrase.Sentence
}

// TakeDownInputs are the stated assumptions of the estimates.
type TakeDownInputs struct {
	Losses                Losses
	SilverLow, SilverHigh SilverInputs
}

// TakeDown is the work at the end of a session, with its accounts.
type TakeDown struct {
	Session               Session
	Items                 []TakeDownItem
	Balances              []Balance
	Waste                 []WasteLevel
	SilverLow, SilverHigh float64 // grams given to the fixer in this session, estimated
	Stock                 []StockUse
	Note                  []phrase.Sentence // five lines for the next volunteer
}

// TakeDown plans the end of a session. The defaults for return or discard are
// common practice; a test result or a limit overrules them.
func (l *Ledger) TakeDown(session string, now time.Time, in TakeDownInputs) (TakeDown, error) {
	s, ok := l.Session(session)
	if !ok {
		return TakeDown{}, Problem{ErrUnknown, phrase.Say("No session is called %q", session), phrase.Say("Check the name")}
	}
	fixed := l.Processed(session, Fixer)
	t := takingDown{l, now, TakeDown{Session: s, Balances: l.Balances(session, in.Losses), Waste: l.Waste(now), Stock: l.StockUsed(session),
		SilverLow: in.SilverLow.SilverMass(fixed), SilverHigh: in.SilverHigh.SilverMass(fixed)}}
	l.now.eachWorking(func(c *Container) { t.Items = append(t.Items, t.item(c)) })
	t.Note = t.note()
	return t.TakeDown, nil
}

// takingDown is a take-down that is being planned.
type takingDown struct {
	book *Ledger
	now  time.Time
	TakeDown
}

func (t *takingDown) item(c *Container) TakeDownItem {
	contents, _ := t.book.Contents(c.ID, t.now)
	item := TakeDownItem{Contents: contents, Cautions: CautionsFor(contents.Class), Stores: t.storesFor(contents)}
	if item.Home = t.home(c, item.Stores); item.Home != "" && !slices.Contains(item.Stores, item.Home) {
		item.Stores = append(item.Stores, item.Home)
	}
	item.Route = t.route(c, contents)
	answer := t.book.MayPour(c.ID, t.now)
	item.Action, item.Because = defaultAction(contents, answer)
	switch item.Action {
	case DiscardIt:
		item.To = t.wasteFor(contents.Stream, contents.Volume)
		item.How = []phrase.Sentence{disposal(contents.Stream), phrase.Say("Rinse the tray, wash the tongs, and enter the volume that was " +
			"measured.")}
	case OwnerTakes:
		item.How = []phrase.Sentence{phrase.Say("Hand it to %s in a closed, labelled bottle; do not pour it into the room's waste.",
			contents.Owner)}
	default:
		item.To = item.Home
		item.How = []phrase.Sentence{phrase.Say("Measure the volume, pour it through a funnel into its own bottle, and enter the volume."),
			phrase.Say("If the test fails or the bottle is not labelled: %s", disposal(contents.Stream))}
	}
	return item
}

// storesFor are the vessels for storage that are empty, or hold the same class at working strength. What
// last held something else, or concentrate, is no bottle for a used bath.
func (t *takingDown) storesFor(bath Contents) (stores []string) {
	for c := range t.book.now.vessels() {
		switch {
		case c.Vessel.Working() || c.Vessel == WasteContainer || c.Vessel == Pitcher:
		case c.KeptFor != "" && c.KeptFor != bath.Class || c.LastHeld != "" && c.LastHeld != bath.Class:
		case c.Liquid != nil && (c.Liquid.class != bath.Class || t.book.now.sortOf(*c.Liquid) == FromConcentrate):
		case c.Liquid == nil && t.heldConcentrate(c.ID):
		default:
			stores = append(stores, c.ID)
		}
	}
	return stores
}

func (t *takingDown) heldConcentrate(bottle string) bool {
	for e := range t.book.Backwards(bottle) {
		if opened, is := e.Act.(LotOpened); is && opened.Container == bottle {
			return true
		}
	}
	return false
}

// home is the bottle that a bath was poured from; for one that was mixed, the bottle into which the bath of
// its tray went back last.
func (t *takingDown) home(tray *Container, stores []string) string {
	if tray.FilledFrom != "" {
		return tray.FilledFrom
	}
	for e := range t.book.Backwards(tray.ID) {
		if back, is := e.Act.(Returned); is && back.From == tray.ID && slices.Contains(stores, back.To) {
			return back.To
		}
	}
	return ""
}

// route is where the content of a tray went last, if it was of the class that stands in it now.
func (t *takingDown) route(tray *Container, held Contents) string {
	kept := func(w WasteLevel) bool { return w.Stream == held.Stream }
	if tray.LastHeld != held.Class || slices.ContainsFunc(t.Waste, kept) {
		return ""
	}
	for e := range t.book.Backwards(tray.ID) {
		if away, is := e.Act.(Discarded); is && away.Container == tray.ID && away.Route != "" {
			return away.Route
		}
	}
	return ""
}

// defaultAction is what is usual for a class after a session.
func defaultAction(c Contents, a Answer) (Action, phrase.Sentence) {
	switch {
	case c.Owner.private():
		return OwnerTakes, phrase.Say("Private chemistry goes home with its owner (rule of the room)")
	case a.Verdict == Discard:
		return DiscardIt, a.Why()
	case c.Class == PrintDeveloper:
		return DiscardIt, phrase.Say("Working-strength print developer does not keep overnight (common practice)")
	case c.Class == FilmDeveloper:
		return DiscardIt, phrase.Say("One-shot film developer is used once (common practice); return it only if it is replenished, and " +
			"enter the replenisher")
	case c.Class == WashAid || c.Class == Toner:
		return DiscardIt, phrase.Say("Does not keep once used (common practice)")
	case c.Class == UnknownClass:
		return DiscardIt, phrase.Say("Contents unknown: treat as silver-bearing (common practice)")
	case a.Verdict == TestFirst:
		return TestIt, a.Why()
	}
	return ReturnIt, a.Why()
}

// wasteFor finds a waste container with room for the volume.
func (t *takingDown) wasteFor(stream Stream, v quantity.Millilitre) string {
	for _, w := range t.Waste {
		if w.Stream == stream && w.Capacity-w.Volume >= v {
			return w.Container
		}
	}
	return ""
}
