package chem

// Coefficient is the least-squares slope of -ln(time) over temperature, per
// kelvin. It is zero for a single point.
func (t Table) Coefficient() float64 {
	slope, _ := t.fit()
	return -slope
}
