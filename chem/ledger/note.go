package ledger

import (
	"cmp"
	"time"
)

// noteworthy is the unexplained share from which the note speaks of it (common practice).
const noteworthy = 0.10

// note writes five lines for the next volunteer: the state, what is wrong, what
// to do first, the waste, the stock.
func (l *Ledger) note(t TakeDown, now time.Time) []Told {
	return []Told{
		tell("State: %s.", joined(t.state(), "all trays and tanks are empty")),
		tell("Wrong: %s.", joined(l.wrong(t), "nothing is known to be wrong")),
		tell("First: %s.", joined(l.todo(t, now), "nothing is waiting")),
		tell("Waste: %s.", joined(wasteWords(t.Waste), "no waste container is known")),
		tell("Stock: %s.", joined(stockWords(t.Stock), "no concentrate or powder was taken")),
	}
}

func (t TakeDown) state() []Told {
	var words []Told
	for _, item := range t.Items {
		words = append(words, tell("%s holds %s of %s: %s", item.Contents.Container, ml(item.Contents.Volume), item.Contents.Class, item.Action))
	}
	return words
}

func (l *Ledger) wrong(t TakeDown) []Told {
	var words []Told
	for _, f := range l.Failures() {
		if !f.At.Before(t.Session.Opened) {
			words = append(words, tell("the %s test failed (entry %d): see the list of affected prints", f.Test, f.Entry))
		}
	}
	for _, b := range t.Balances {
		if share := b.UnexplainedShare(); share >= noteworthy || share <= -noteworthy {
			words = append(words, tell("%s of %s are unexplained (%.0f %%)", ml(b.Unexplained), b.Class, 100*share))
		}
	}
	return words
}

// todo lists the bottles that may not be poured as they are.
func (l *Ledger) todo(t TakeDown, now time.Time) []Told {
	var words []Told
	for _, id := range l.Containers() {
		c := l.now.containers[id]
		if c.Liquid == nil || c.Vessel == WasteContainer || c.Vessel.working() {
			continue
		}
		if a := l.MayPour(id, now); a.Verdict != Pour {
			words = append(words, tell("%s: %s (%s)", id, a.Verdict, a.Because.Name))
		}
	}
	if len(t.Items) > 0 {
		words = append(words, tell("%d vessels are still to be seen to", len(t.Items)))
	}
	return words
}

func wasteWords(levels []WasteLevel) []Told {
	var words []Told
	for _, w := range levels {
		text := tell("%s %.0f %% full, %.0f days since the first drop", w.Container, 100*w.Fraction, w.Days)
		if w.Volume == 0 {
			text = tell("%s empty", w.Container)
		}
		if w.CallNow {
			text = tell("%s, call for collection", text)
		}
		words = append(words, text)
	}
	return words
}

func stockWords(used []StockUse) []Told {
	var words []Told
	for _, u := range used {
		words = append(words, tell("%s of %s taken", ml(u.Volume), cmp.Or(u.Product, "a product that is not in the catalogue")))
	}
	return words
}
