package dashboard

import (
	"strings"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// volumeGrain in mL is the smallest difference of a poured volume worth showing.
const volumeGrain = 3

// volume writes a poured volume in people's unit.
func (f figures) volume(v quantity.Millilitre) string {
	return f.withUnit(volumeDimension, float64(v), volumeGrain)
}

// typedVolume is a volume as a field is filled with it: exact, with its unit.
func (f figures) typedVolume(v quantity.Millilitre) string {
	u := f.unit(volumeDimension)
	return strings.TrimRight(strings.TrimRight(number(u.FromBase(float64(v)), 3), "0"), ".") + " " + u.Symbol()
}

// sourced is where a figure comes from and how far it can be trusted; once where both are the same.
func (f figures) sourced(source string, s ledger.Standing) string {
	if source == string(s) {
		return f.words.Say("shelf.source-only", f.word(s))
	}
	return f.words.Say("shelf.source", source, f.word(s))
}

// did says what an act was, without who and when.
func (f figures) did(a ledger.Act) string {
	switch a := a.(type) {
	case ledger.BatchMixed, ledger.LotReceived, ledger.LotOpened, ledger.ContainerNamed, ledger.BottleFound:
		return f.didSupply(a)
	case ledger.PortionPoured:
		return f.words.Say("did.poured", f.volume(a.Volume), a.From, a.To)
	case ledger.ToppedUp:
		return f.didTopUp(a)
	case ledger.Returned:
		return f.words.Say("did.returned", f.volume(a.Volume), a.From, a.To)
	case ledger.Discarded:
		if a.To == "" {
			return f.words.Say("did.discarded-by", f.volume(a.Volume), a.Container, a.Route, a.Reason)
		}
		return f.words.Say("did.discarded", f.volume(a.Volume), a.Container, a.To, a.Reason)
	case ledger.Merged:
		return f.words.Say("did.merged", a.From, a.Into)
	case ledger.Promoted:
		return f.words.Say("did.promoted", a.From, a.To)
	case ledger.Correction:
		return f.didCorrect(a)
	}
	return f.didInSession(a)
}

func (f figures) didSupply(a ledger.Act) string {
	switch a := a.(type) {
	case ledger.BatchMixed:
		if a.From == "" {
			return f.words.Say("did.mixed", a.Name, a.Batch, f.volume(a.ParentVolume+a.Water), a.Into)
		}
		return f.words.Say("did.mixed-from", a.Name, a.Batch, f.volume(a.ParentVolume), a.From, f.volume(a.Water), a.Into)
	case ledger.LotReceived:
		return f.words.Say("did.received", a.Units, f.volume(a.UnitVolume), a.Lot)
	case ledger.LotOpened:
		return f.words.Say("did.opened", a.Container, a.Lot)
	case ledger.ContainerNamed:
		return f.words.Say("did.named", a.Container, f.word(a.Vessel), f.volume(a.Capacity))
	case ledger.BottleFound:
		return f.words.Say("did.found", a.Container, f.volume(a.Volume), a.Where)
	}
	return a.Kind()
}

func (f figures) didTopUp(a ledger.ToppedUp) string {
	switch {
	case a.From == "":
		return f.words.Say("did.watered", a.Container, f.volume(a.Water))
	case a.Water == 0:
		return f.words.Say("did.topped-up", a.Container, f.volume(a.Volume), a.From)
	}
	return f.words.Say("did.topped-up-both", a.Container, f.volume(a.Volume), a.From, f.volume(a.Water))
}

func (f figures) didCorrect(a ledger.Correction) string {
	if a.Instead == nil {
		return f.words.Say("did.taken-back", a.Of, a.Reason)
	}
	return f.words.Say("did.corrected", a.Of, f.did(a.Instead), a.Reason)
}

func (f figures) didInSession(a ledger.Act) string {
	switch a := a.(type) {
	case ledger.TestDone:
		return f.words.Say("did.tested", f.word(a.Test), a.Container, f.result(a))
	case ledger.SheetsUsed:
		return f.words.Say("did.used", a.Count, f.sheetName(a.SheetArea), f.word(a.Material), strings.Join(a.Containers, ", "))
	case ledger.TraysCovered:
		return f.words.Say("did.covered", strings.Join(a.Containers, ", "))
	case ledger.TraysUncovered:
		return f.words.Say("did.uncovered", strings.Join(a.Containers, ", "))
	case ledger.SessionOpened:
		return f.words.Say("did.session", a.Title, a.Lead)
	case ledger.SessionClosed:
		return f.words.Say("did.session-ended", a.Session)
	case ledger.WasteAdded:
		return f.words.Say("did.waste", f.volume(a.Volume), a.What, a.Container)
	case ledger.WasteCollected:
		return f.words.Say("did.collected", a.Container, a.Collector)
	case ledger.SilverMeasured:
		return f.words.Say("did.silver", a.Of(), a.Silver, f.word(a.Method), a.Sampled.In(f.zone).Format("2 Jan 2006"))
	}
	return f.didPlan(a)
}

func (f figures) result(a ledger.TestDone) string {
	switch {
	case a.Baseline && a.Seconds > 0:
		return f.words.Say("did.baseline", f.plain(a.Seconds))
	case a.Baseline:
		return f.words.Say("did.first")
	case a.Seconds > 0:
		return f.words.Say("did.seconds", f.plain(a.Seconds))
	}
	return f.word(a.Seen)
}

// sheetName is the size of a sheet by its area, as far as it is a common one.
func (f figures) sheetName(area quantity.SquareMetre) string {
	for _, s := range commonSheets() {
		if d := area/s.Area - 1; d < 1e-6 && d > -1e-6 {
			if s == chem.FilmRoll() {
				return f.words.Say("shelf.roll")
			}
			return s.Name
		}
	}
	return f.words.Say("did.size", f.number(float64(area)*1e4, 0))
}
