package cards

import (
	"fmt"
	"math"
	"time"

	"wetside/chem/ledger"
	"wetside/dashboard/web"
	"wetside/rules"
)

// tonight is how near the end of a life must be to be worth a word on the board: an evening.
const tonight = 12 * time.Hour

// binds says what limits the use of a bath tonight; empty where nothing is known to.
func (f Figures) binds(p *rules.Portion) string {
	if p == nil || p.Known == nil || p.Known.Limit.Verdict == "" {
		return ""
	}
	l := p.Known.Limit
	left := l.Due.Sub(f.Now.Wall)
	switch {
	case l.Verdict == ledger.Discard:
		return fmt.Sprintf("DISCARD: %s", f.mustNotBeUsed(p))
	case !l.Due.IsZero() && left <= 0:
		return fmt.Sprintf("EXPIRED: %s ended %s", f.Text(l.Name), f.When(l.Due))
	case l.Verdict == ledger.TestFirst:
		word, _ := f.InTray(l.Verdict, l.Tested)
		return fmt.Sprintf("%s: %s", word, f.Text(l.Words))
	case !l.Due.IsZero() && left < tonight:
		return fmt.Sprintf("until %s: %s", f.TimeOfDay(l.Due), f.Text(l.Name))
	case len(l.Left) == 0:
		return "capacity unknown"
	}
	return f.left(l.Left)
}

// mustNotBeUsed says why a bath is to be discarded; empty where it is not.
func (f Figures) mustNotBeUsed(p *rules.Portion) string {
	if p == nil || p.Known == nil || p.Known.Limit.Verdict != ledger.Discard {
		return ""
	}
	return f.Text(p.Known.Limit.Words)
}

// left says how many sheets are left of which paper, in one count where both carry the same.
func (f Figures) left(all []ledger.Left) string {
	first, sure := all[0], true
	text := web.Count(wholeSheets(first.Sheets), "%d sheet 8x10 ", "%d sheets 8x10 ") + f.paper(first.Material)
	if first.Material == ledger.Film {
		text = web.Count(wholeSheets(first.Sheets), "%d roll of film", "%d rolls of film")
	}
	for _, l := range all {
		sure = sure && l.Sure
		switch {
		case l == first:
		case wholeSheets(l.Sheets) == wholeSheets(first.Sheets):
			text = fmt.Sprintf("%s or %s", text, f.paper(l.Material))
		default:
			text = fmt.Sprintf("%s or %d %s", text, wholeSheets(l.Sheets), f.paper(l.Material))
		}
	}
	alone := ""
	if first.Alone { // the count rises once the first sheets went on to a second bath
		alone = " as a single bath"
	}
	if sure {
		return fmt.Sprintf("about %s left%s", text, alone)
	}
	return fmt.Sprintf("about %s%s (estimate)", text, alone)
}

// paper is the short name of a paper.
func (f Figures) paper(m ledger.Material) string {
	if m == ledger.FibreBased {
		return "fibre"
	}
	return "RC"
}

// wholeSheets rounds down, but for what the arithmetic leaves of a whole one.
func wholeSheets(sheets float64) int { return int(math.Floor(sheets + 1e-6)) }

// tightest is the one thing that limits tonight most, in a sentence: a bath that leaves
// its band, else the bath that carries the fewest sheets. Empty where nothing is known.
func (f Figures) tightest(snap *rules.Snapshot) string {
	var first, fewest *rules.BathView
	soonest := near
	for i := range snap.Baths {
		b := &snap.Baths[i]
		if in, leaves := b.Forecast.Leaves(); leaves && in < soonest {
			first, soonest = b, in
		}
		if left := sheetsLeft(b); left != nil && (fewest == nil || *left < *sheetsLeft(fewest)) {
			fewest = b
		}
	}
	switch {
	case first != nil:
		return fmt.Sprintf("%s, %s", first.Bath.Name, f.leaves(first.Forecast))
	case fewest != nil && fewest.Portion.Known.Limit.Verdict == ledger.TestFirst: // which says nothing of how long it lasts
		return fmt.Sprintf("%s, %s", fewest.Bath.Name, f.left(fewest.Portion.Known.Limit.Left))
	case fewest != nil:
		return fmt.Sprintf("%s, %s", fewest.Bath.Name, f.binds(fewest.Portion))
	}
	return ""
}

// usedUp names a bath that carries less than one more sheet; empty where there is none.
func usedUp(snap *rules.Snapshot) string {
	for i := range snap.Baths {
		if left := sheetsLeft(&snap.Baths[i]); left != nil && wholeSheets(*left) < 1 {
			return snap.Baths[i].Bath.Name
		}
	}
	return ""
}

// toTest names the baths in use whose test is due before the next sheet.
func toTest(snap *rules.Snapshot) (names []string) {
	for _, b := range snap.Baths {
		if b.Portion == nil || b.Portion.Known == nil || b.Portion.Known.Limit.Verdict != ledger.TestFirst {
			continue
		}
		if t := b.Portion.Known.Limit.Tested; t != ledger.JustTested && t != ledger.NoTest {
			names = append(names, b.Bath.Name)
		}
	}
	return names
}

func sheetsLeft(b *rules.BathView) *float64 {
	if b.Portion == nil || b.Portion.Known == nil {
		return nil
	}
	var fewest *float64
	for _, l := range b.Portion.Known.Limit.Left {
		if fewest == nil || l.Sheets < *fewest {
			fewest = &l.Sheets
		}
	}
	return fewest
}
