package ledger

import (
	"hash/fnv"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Label is the text for a bottle.
type Label struct {
	Code      string // short, to be written on anything that holds the batch
	Name      phrase.Sentence
	Parts     phrase.Sentence
	Mixed     phrase.Sentence
	DiscardBy phrase.Sentence // with the state of the container and how sure the life is; or that it is not known
	Who       phrase.Sentence
	MixedBy   phrase.Sentence // when, by whom and for whom, beside a name
	Cautions  []phrase.Sentence
}

// Label gives the text for a bottle of the batch. The discard-by date is the
// earlier of the lives in a full and in a part-full bottle; it is an outer
// limit, and the passport decides.
func (l *Ledger) Label(batch string, now time.Time) (Label, error) {
	b, ok := l.Batch(batch)
	if !ok {
		return Label{}, Problem{ErrUnknown, phrase.Say("No batch is called %q", batch),
			phrase.Say("Enter the batch before you print its label")}
	}
	t := Label{Code: ShortCode(b.ID), Name: phrase.Say("%s (%s)", b.Name, b.Class), Parts: b.mixWords(), DiscardBy: l.discardBy(b, now),
		Cautions: CautionsFor(b.Class),
		Mixed:    phrase.Say("Mixed %s", when(b.Mixed)), Who: phrase.Say("By %s, %s", b.By, b.Owner), MixedBy: phrase.Say("%s, by %s, %s",
			when(b.Mixed), b.By, b.Owner)}
	if b.Mixed.IsZero() {
		t.Mixed, t.MixedBy = phrase.Say("Nobody knows when it was mixed"), phrase.Say("Method %s, %s", b.By, b.Owner)
	}
	return t, nil
}

func (b Batch) mixWords() phrase.Sentence {
	switch b.Meant {
	case FromPowder:
		return phrase.Say("From powder, made up to %s", ml(b.Volume))
	case FromUnknown:
		return phrase.Say("Nobody knows what it was mixed from")
	}
	words := phrase.Say("%s %s + water %s = %s", b.Meant, ml(b.ParentVolume), ml(b.Water), ml(b.Volume))
	if b.Aim != (Parts{}) {
		words = phrase.Say("%s of %s + %s of water: %s", parts(b.Aim.Parent), b.Meant, parts(b.Aim.Water), words)
	}
	return words
}

func parts(n float64) phrase.Sentence {
	if n == 1 {
		return phrase.Say("1 part")
	}
	return phrase.Say("%g parts", n)
}

func (l *Ledger) discardBy(b Batch, now time.Time) phrase.Sentence {
	p := l.product(b.Product)
	least, full := p.PartFull, false
	if p.Full != nil && (least == nil || shorter(*p.Full, *least)) {
		least, full = p.Full, true
	}
	if least == nil || b.Mixed.IsZero() {
		return phrase.Say("not known, test before use")
	}
	life, _ := least.Duration()
	day := b.Mixed.Add(life)
	bottle := phrase.Say("part-full bottle")
	if full {
		bottle = phrase.Say("full bottle")
	}
	words := phrase.Say("%s (%s; %s)", onDay(day), bottle, least.Standing) // the passport names the source
	if !now.Before(day) {
		words = phrase.Say("%s - this day has passed", words)
	}
	return words
}

func shorter(a, b Figure) bool {
	da, _ := a.Duration()
	db, _ := b.Duration()
	return da < db
}

// ShortCode is a code of five signs for a batch, the same every time, without
// signs that are easily mistaken for one another in poor light.
func ShortCode(id string) string {
	const signs = "ACDEFHJKLMNPRTUVWXY34679"
	h := fnv.New32a()
	_, _ = h.Write([]byte(id)) // a hash never fails
	n := h.Sum32()
	code := make([]byte, 5)
	for i := range code {
		code[i] = signs[n%uint32(len(signs))]
		n /= uint32(len(signs))
	}
	return string(code)
}
