package chem

// line gathers the sums of an unweighted least-squares line y = offset + slope x.
type line struct {
	n, sx, sy, sxx, sxy, syy float64
}

func (l *line) add(x, y float64) {
	l.n++
	l.sx += x
	l.sy += y
	l.sxx += x * x
	l.sxy += x * y
	l.syy += y * y
}

// fit gives the line; ok is false when all points share one x.
func (l *line) fit() (slope, offset float64, ok bool) {
	spread := l.n*l.sxx - l.sx*l.sx
	if spread <= 0 {
		return 0, 0, false
	}
	slope = (l.n*l.sxy - l.sx*l.sy) / spread
	return slope, (l.sy - slope*l.sx) / l.n, true
}

// residual is the sum of squares that the fitted line leaves.
func (l *line) residual(slope, offset float64) float64 {
	return max(l.syy-slope*l.sxy-offset*l.sy, 0)
}
