package breathing

// Peak gives the highest reading of the tape as an interval: with a gap it may
// have been as high as the bound. Its window is zero, its coverage that of the
// whole tape.
func (t Tape) Peak(b Bound) (Average, error) {
	total := t.Length()
	if total == 0 {
		return Average{Open: true, Bound: b}, nil
	}
	l, err := t.ledger(total, b)
	if err != nil {
		return Average{}, err
	}
	a := l.average(total, total)
	a.Window, a.Low, a.High = 0, 0, 0
	for _, s := range t.spans {
		a.Low, a.High = max(a.Low, s.low), max(a.High, l.highest(s))
	}
	return a, nil
}
