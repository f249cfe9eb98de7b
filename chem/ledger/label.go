package ledger

import (
	"fmt"
	"hash/fnv"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Label is the text for a bottle.
type Label struct {
	Code      string // short, to be written on anything that holds the batch
	Name      string
	Parts     string
	Mixed     string
	DiscardBy string // with the state of the container and the source; or that it is not known
	Who       string
	Cautions  []string
	Lines     []string // all of it, from top to bottom
}

// Label gives the text for a bottle of the batch. The discard-by date is the
// earlier of the lives in a full and in a part-full bottle; it is an outer
// limit, and the passport decides.
func (l *Ledger) Label(batch string, now time.Time) (Label, error) {
	b, ok := l.Batch(batch)
	if !ok {
		return Label{}, Problem{ErrUnknown, phrase.Say("No batch is known as %q", batch), phrase.Say("Enter the batch before you print its label")}
	}
	t := Label{Code: ShortCode(b.ID), Name: fmt.Sprintf("%s (%s)", b.Name, b.Class), Parts: b.mixWords(),
		Mixed: "Mixed " + when(b.Mixed), DiscardBy: l.discardBy(b, now), Who: "By " + b.By + ", " + string(b.Owner), Cautions: CautionsFor(b.Class)}
	t.Lines = append([]string{t.Code, t.Name, t.Parts, t.Mixed, t.DiscardBy, t.Who}, t.Cautions...)
	return t, nil
}

func (b Batch) mixWords() string {
	switch b.Meant {
	case FromPowder:
		return "From powder, made up to " + string(ml(b.Volume))
	case FromUnknown:
		return "Nobody knows what it was mixed from"
	}
	words := fmt.Sprintf("%s %s + water %s = %s", b.Meant, ml(b.ParentVolume), ml(b.Water), ml(b.Volume))
	if b.Aim != (Parts{}) {
		words = fmt.Sprintf("%s of %s + %s of water: %s", parts(b.Aim.Parent), b.Meant, parts(b.Aim.Water), words)
	}
	return words
}

func parts(n float64) string {
	if n == 1 {
		return "1 part"
	}
	return fmt.Sprintf("%g parts", n)
}

func (l *Ledger) discardBy(b Batch, now time.Time) string {
	p := l.product(b.Product)
	least, state := p.PartFull, "part-full"
	if p.Full != nil && (least == nil || shorter(*p.Full, *least)) {
		least, state = p.Full, "full"
	}
	if least == nil {
		return "Discard by: not known, test before use"
	}
	life, _ := least.Duration()
	day := b.Mixed.Add(life)
	words := fmt.Sprintf("Discard by %s (%s bottle) %s", day.Format("2 Jan 2006"), state, least.bracketed())
	if !now.Before(day) {
		words += " - this day has passed"
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
