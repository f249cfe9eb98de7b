package ledger

import "fmt"

// Warnings says what a person should know before an entry that is possible:
// a vessel that last held another chemistry, or a liquid that may not be poured.
func (l *Ledger) Warnings(e Entry) []string {
	switch a := e.Act.(type) {
	case BatchMixed:
		return append(l.unrinsed(a.Into, a.Class), l.doubtful(e, a.From)...)
	case PortionPoured:
		warnings := l.doubtful(e, a.From)
		if c, ok := l.now.containers[a.From]; ok && c.Liquid != nil {
			warnings = append(l.unrinsed(a.To, c.Liquid.class), warnings...)
		}
		return warnings
	case ToppedUp:
		return l.doubtful(e, a.From)
	}
	return nil
}

// unrinsed warns of an empty vessel that last held something else. A little
// fixer or stop bath ruins a developer (US Army photographic subcourse).
func (l *Ledger) unrinsed(id string, class Class) []string {
	c, ok := l.now.containers[id]
	if !ok || c.Liquid != nil || c.LastHeld == "" || c.LastHeld == class || c.Vessel == WasteContainer {
		return nil
	}
	return []string{fmt.Sprintf("%s last held %s: wash it well before %s goes in", id, c.LastHeld, class)}
}

func (l *Ledger) doubtful(e Entry, id string) []string {
	if id == "" {
		return nil
	}
	if a := l.MayPour(id, e.At); a.Verdict != Pour {
		return []string{id + ": " + a.Sentence()}
	}
	return nil
}
