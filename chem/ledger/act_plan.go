package ledger

import (
	"cmp"
	"slices"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// WorkBooked is work that is planned: a class, or one person's evening. A booking
// that is entered again under its name is changed; one without sheets is off.
type WorkBooked struct {
	Booking    string               `json:"booking"`
	Title      string               `json:"title"`
	Begins     time.Time            `json:"begins"`
	Students   int                  `json:"students"`
	SheetsEach int                  `json:"sheets_each"`
	SheetArea  quantity.SquareMetre `json:"sheet_m2"`
	Material   Material             `json:"material"`
}

func (WorkBooked) Kind() string { return "work booked" }

func (WorkBooked) about() []string { return nil }

func (a WorkBooked) Sentence() phrase.Sentence {
	if a.Sheets() == 0 {
		return phrase.Say("booking of %s cancelled", a.Title)
	}
	return phrase.Say("booked %s for %s: people: %d, sheets each: %d, %s, %s", a.Title, when(a.Begins), a.Students, a.SheetsEach,
		sheetName(a.SheetArea), a.Material)
}

func (a WorkBooked) validate() error {
	err := first(needName(phrase.Say("booking"), a.Booking), needName(phrase.Say("work (in words)"), a.Title),
		oneOf(phrase.Say("material"), a.Material, Materials()...))
	switch {
	case err != nil:
		return err
	case a.Begins.IsZero():
		return Problem{ErrTime, phrase.Say("The start of the work is missing"), phrase.Say("Write the date and the time")}
	case a.Students < 1 || a.Students > 1000 || a.SheetsEach < 0 || a.SheetsEach > 1000:
		return Problem{ErrForm, phrase.Say("%d people with %d sheets each cannot be booked", a.Students, a.SheetsEach),
			phrase.Say("Write how many people come, at least 1, and how many sheets each will process")}
	case !(a.SheetArea > 0 && a.SheetArea <= 10):
		return Problem{ErrForm, phrase.Say("A sheet of %g m² is not known", float64(a.SheetArea)), phrase.Say("Choose the size of the sheet")}
	}
	return nil
}

func (a WorkBooked) check(*state, Entry) error { return nil }

func (a WorkBooked) apply(s *state, e Entry) { s.work[a.Booking] = Work{a, e.Number, e.By} }

// Sheets is how many sheets or rolls are booked in all.
func (a WorkBooked) Sheets() int { return a.Students * a.SheetsEach }

// Area is the area of all sheets of the work.
func (a WorkBooked) Area() quantity.SquareMetre {
	return a.SheetArea * quantity.SquareMetre(a.Sheets())
}

// Work is a booking as it stands in the book.
type Work struct {
	WorkBooked
	Entry uint64
	By    string
}

// Work lists what is booked to begin from one time up to another, the earliest first.
func (l *Ledger) Work(from, to time.Time) []Work {
	var all []Work
	for _, w := range l.now.work {
		if !w.Begins.Before(from) && w.Begins.Before(to) && w.Sheets() > 0 {
			all = append(all, w)
		}
	}
	slices.SortFunc(all, func(a, b Work) int { return cmp.Or(a.Begins.Compare(b.Begins), cmp.Compare(a.Booking, b.Booking)) })
	return all
}

// AssumptionsStated are the inputs of the estimates at a take-down. None is a
// constant of nature; the last entry holds.
type AssumptionsStated struct {
	CoatingLow    quantity.GramPerSquareMetre `json:"coating_low_g_m2"` // silver on the material
	CoatingHigh   quantity.GramPerSquareMetre `json:"coating_high_g_m2"`
	DissolvedLow  float64                     `json:"dissolved_low"` // part that goes into the fixer, 0 to 1
	DissolvedHigh float64                     `json:"dissolved_high"`
	CarryOver     quantity.Millilitre         `json:"carry_over_ml_m2"`
	Evaporation   quantity.Millilitre         `json:"evaporation_ml"` // of each class in a session
	LeadDays      float64                     `json:"lead_days"`      // from an order to its delivery
	Source        string                      `json:"source"`
}

func (AssumptionsStated) Kind() string { return "assumptions stated" }

func (AssumptionsStated) about() []string { return nil }

func (a AssumptionsStated) Sentence() phrase.Sentence {
	return phrase.Say("estimates set (%s)", a.Source)
}

func (a AssumptionsStated) validate() error {
	switch {
	case !(a.CoatingLow >= 0 && a.CoatingLow <= a.CoatingHigh && a.CoatingHigh <= 50):
		return Problem{ErrForm, phrase.Say("The coating weight is no range"),
			phrase.Say("Write the lower figure first, both between 0 and 50 g/m²")}
	case !(a.DissolvedLow >= 0 && a.DissolvedLow <= a.DissolvedHigh && a.DissolvedHigh <= 1):
		return Problem{ErrForm, phrase.Say("The dissolved share is no range"),
			phrase.Say("Write the lower figure first, both between 0 and 100 %%")}
	case !(a.CarryOver >= 0 && a.CarryOver <= 5000 && a.Evaporation >= 0 && a.Evaporation <= 5000):
		return Problem{ErrForm, phrase.Say("The carry-over or the evaporation is out of range"),
			phrase.Say("Write millilitres between 0 and 5000")}
	case !(a.LeadDays >= 0 && a.LeadDays <= 365):
		return Problem{ErrForm, phrase.Say("A delivery does not take %g days", a.LeadDays), phrase.Say("Write days between 0 and 365")}
	}
	return needName(phrase.Say("source"), a.Source)
}

func (a AssumptionsStated) check(*state, Entry) error { return nil }

func (a AssumptionsStated) apply(s *state, _ Entry) { s.assumed = &a }

// Inputs are the assumptions as a take-down is worked out by them.
func (a AssumptionsStated) Inputs() TakeDownInputs {
	return TakeDownInputs{Losses: Losses{a.CarryOver, a.Evaporation},
		SilverLow:  SilverInputs{a.CoatingLow, a.DissolvedLow},
		SilverHigh: SilverInputs{a.CoatingHigh, a.DissolvedHigh}}
}

// Lead is the time from an order to its delivery.
func (a AssumptionsStated) Lead() time.Duration {
	return time.Duration(a.LeadDays * 24 * float64(time.Hour))
}

// Assumptions are those stated last; without any, the usual ones, which say so.
func (l *Ledger) Assumptions() AssumptionsStated {
	if l.now.assumed != nil {
		return *l.now.assumed
	}
	// The usual ones have the span of paper coatings in a forum post (50 to 150 mg a square
	// foot), half to 80 % dissolved (from memory), and count all losses as unexplained.
	return AssumptionsStated{CoatingLow: 0.538, CoatingHigh: 1.615, DissolvedLow: 0.5, DissolvedHigh: 0.8, LeadDays: 14,
		Source: "not set for this place: coating from a forum post, the rest from memory (unverified)"}
}
