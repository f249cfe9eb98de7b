package ledger

import (
	"math"
	"slices"
	"time"

	"wetside/chem"
	"wetside/sensors/quantity"
)

// Workload is what a bath is to carry.
type Workload struct {
	Work     []Work
	Sessions []string  // what went through in these sessions was part of the work
	Until    time.Time // the end of the work; zero when nobody knows
}

// LastingVerdict is the answer to "will it last?".
type LastingVerdict uint8

// The answers. The zero LastingVerdict is none: no work is booked.
const (
	LastsToTheEnd LastingVerdict = iota + 1
	AllDone                      // nothing of the work is still to come
	RunsShort
	CapacityUnknown
	MayNotPour // it must not be used in any case
)

// Lasting says whether a bath carries the work.
type Lasting struct {
	Verdict LastingVerdict
	Held    Contents
	// Limit binds the bath now: it says why where the bath may not be used.
	Limit Limit
	// CheckFirst is set where the bath is to be tested first, or Limit runs out before the end of the work.
	CheckFirst bool

	Left       []Left               // of each paper or film, where no work is booked
	Capacity   Capacity             // the figure behind the answer
	Sure       bool                 // no figure behind the answer is unverified
	Sheet      quantity.SquareMetre // the size in which sheets are counted
	Booked     int                  // sheets, in all
	ToCome     int                  // sheets of that size still to come
	SheetsLeft int                  // sheets of that size that the bath still carries
	Short      quantity.Millilitre  // of fresh bath that would make up for the rest
	Why        error                // why the capacity says nothing, where a reason is known
}

// WillLast says whether what is in the tray of a bath carries the work; ok is false for an empty
// tray and for a bath that no sheet wears out.
func (l *Ledger) WillLast(bath string, load Workload, now time.Time) (answer Lasting, ok bool) {
	held, filled := l.InTray(bath, now)
	if !filled || held.Class == WashAid || held.Class == Toner {
		return Lasting{}, false
	}
	may := l.MayPour(held.Container, now)
	a := Lasting{Held: held, Limit: may.Because}
	if may.Verdict == Discard {
		a.Verdict = MayNotPour
		return a, true
	}
	load.Work = slices.DeleteFunc(slices.Clone(load.Work), func(w Work) bool { return !held.Class.Processes(w.Material) })
	a = l.carries(a, load)
	due := may.Because.Due
	runsOut := !due.IsZero() && due.Before(load.Until)
	a.CheckFirst = a.Verdict != 0 && a.Verdict != RunsShort && (may.Verdict == TestFirst || runsOut)
	return a, true
}

// carries holds the capacity of a bath against the work.
func (l *Ledger) carries(a Lasting, load Workload) Lasting {
	product := l.product(a.Held.Product)
	if len(load.Work) == 0 {
		if a.Left = product.Left(a.Held); len(a.Left) > 0 {
			a.Capacity, _ = product.CapacityFor(a.Held, a.Left[0].Material)
		}
		return a
	}
	wear := product.Wear(a.Held)
	a = l.toCome(a, load)
	a.Sure = wear.Sure && a.Capacity.Standing != Unverified
	perLitre, known := a.Capacity.AreaPerLitre()
	switch {
	case !wear.Known() || !known || a.Capacity.Value == 0:
		a.Verdict = CapacityUnknown
		return a
	case a.ToCome == 0:
		a.Verdict = AllDone
		return a
	}
	bath := chem.Bath{Volume: a.Held.Volume, Capacity: chem.Capacity{PerLitre: perLitre, Source: a.Capacity.Source}}
	bath.Used = quantity.SquareMetre(wear.Part) * bath.Capacity.Of(a.Held.Volume)
	lasts, err := bath.Lasts(chem.Booking{Students: 1, SheetsEach: a.ToCome, Sheet: chem.Sheet{Area: a.Sheet}})
	switch {
	case err != nil:
		a.Verdict, a.Why = CapacityUnknown, err
	case lasts.Enough:
		a.Verdict, a.SheetsLeft = LastsToTheEnd, lasts.SheetsLeft
	default:
		a.Verdict, a.SheetsLeft, a.Short = RunsShort, lasts.SheetsLeft, lasts.Short
	}
	return a
}

// toCome counts the work in sheets of the size that is booked first. Where materials differ, each
// counts by what it takes of the bath; a material without a capacity leaves the whole unknown.
func (l *Ledger) toCome(a Lasting, load Workload) Lasting {
	product := l.product(a.Held.Product)
	least, _ := product.CapacityFor(a.Held, load.Work[0].Material)
	perLitre, _ := least.AreaPerLitre()
	a.Sheet = load.Work[0].SheetArea
	area := quantity.SquareMetre(0)
	for _, w := range load.Work {
		of, ok := product.CapacityFor(a.Held, w.Material)
		each, _ := of.AreaPerLitre()
		if !ok {
			return a
		}
		if of.Standing == Unverified {
			least.Standing = of.Standing
		}
		a.Booked += w.Sheets()
		area += w.SheetArea * quantity.SquareMetre(w.Sheets()) * (perLitre / each)
	}
	for _, id := range load.Sessions {
		area -= l.Processed(id, a.Held.Class)
	}
	a.Capacity = least
	a.ToCome = max(0, int(math.Ceil(float64(area/a.Sheet)-1e-6)))
	return a
}

// Processes says whether a material goes through a bath of the class.
func (c Class) Processes(m Material) bool {
	return !c.Developer() || (c == FilmDeveloper) == (m == Film)
}
