package ledger

import (
	"fmt"
	"strings"
	"time"
)

// noteworthy is the unexplained share from which the note speaks of it (common practice).
const noteworthy = 0.10

// note writes five lines for the next volunteer: the state, what is wrong, what
// to do first, the waste, the stock.
func (l *Ledger) note(t TakeDown, now time.Time) []string {
	return []string{
		"State: " + orElse(t.state(), "all trays and tanks are empty") + ".",
		"Wrong: " + orElse(l.wrong(t), "nothing is known to be wrong") + ".",
		"First: " + orElse(l.todo(t, now), "nothing is waiting") + ".",
		"Waste: " + orElse(wasteWords(t.Waste), "no waste container is known") + ".",
		"Stock: " + orElse(stockWords(t.Stock), "no concentrate or powder was taken") + ".",
	}
}

func orElse(parts []string, otherwise string) string {
	if len(parts) == 0 {
		return otherwise
	}
	return strings.Join(parts, "; ")
}

func (t TakeDown) state() []string {
	var words []string
	for _, item := range t.Items {
		words = append(words, fmt.Sprintf("%s holds %s of %s: %s", item.Contents.Container, ml(item.Contents.Volume), item.Contents.Class, item.Action))
	}
	return words
}

func (l *Ledger) wrong(t TakeDown) []string {
	var words []string
	for _, f := range l.Failures() {
		if !f.At.Before(t.Session.Opened) {
			words = append(words, fmt.Sprintf("the %s test failed (entry %d): see the list of affected prints", f.Test, f.Entry))
		}
	}
	for _, b := range t.Balances {
		if share := b.UnexplainedShare(); share >= noteworthy || share <= -noteworthy {
			words = append(words, fmt.Sprintf("%s of %s are unexplained (%.0f %%)", ml(b.Unexplained), b.Class, 100*share))
		}
	}
	return words
}

// todo lists the bottles that may not be poured as they are.
func (l *Ledger) todo(t TakeDown, now time.Time) []string {
	var words []string
	for _, id := range l.Containers() {
		c := l.now.containers[id]
		if c.Liquid == nil || c.Vessel == WasteContainer || c.Vessel.working() {
			continue
		}
		if a := l.MayPour(id, now); a.Verdict != Pour {
			words = append(words, fmt.Sprintf("%s: %s (%s)", id, a.Verdict, a.Because.Name))
		}
	}
	if len(t.Items) > 0 {
		words = append(words, fmt.Sprintf("%d vessels are still to be seen to", len(t.Items)))
	}
	return words
}

func wasteWords(levels []WasteLevel) []string {
	var words []string
	for _, w := range levels {
		text := fmt.Sprintf("%s %.0f %% full, %.0f days since the first drop", w.Container, 100*w.Fraction, w.Days)
		if w.Volume == 0 {
			text = w.Container + " empty"
		}
		if w.CallNow {
			text += ", call for collection"
		}
		words = append(words, text)
	}
	return words
}

func stockWords(used []StockUse) []string {
	var words []string
	for _, u := range used {
		words = append(words, fmt.Sprintf("%s of %s taken", ml(u.Volume), orElse(strings.Fields(u.Product), "a product that is not in the catalogue")))
	}
	return words
}
