package ledger

import (
	"time"

	"wetside/sensors/quantity"
)

// collectFrom is the filling at which a waste container is to be called for
// (Missouri State University, photographic waste; said there of selenium waste).
const collectFrom = 0.75

// WasteLevel is how full a waste container is.
type WasteLevel struct {
	Container  string
	Stream     Stream
	Volume     quantity.Millilitre
	Capacity   quantity.Millilitre
	Fraction   float64 // 0 to 1
	FirstDrop  time.Time
	Days       float64   // since the first drop
	ThreeQuart time.Time // when it will be three quarters full at the pace so far; zero when that cannot be said
	CallNow    bool      // it is three quarters full
}

// Waste gives the level of every waste container at a time.
func (l *Ledger) Waste(now time.Time) []WasteLevel {
	var levels []WasteLevel
	for c := range l.now.vessels() {
		if c.Vessel == WasteContainer {
			levels = append(levels, c.level(now))
		}
	}
	return levels
}

func (c *Container) level(now time.Time) WasteLevel {
	w := WasteLevel{Container: c.ID, Stream: c.Stream, Capacity: c.Capacity, FirstDrop: c.FirstDrop}
	if c.Liquid == nil {
		return w
	}
	w.Volume = c.Liquid.volume
	w.Fraction = float64(w.Volume / c.Capacity)
	w.CallNow = w.Fraction >= collectFrom
	age := now.Sub(c.FirstDrop)
	w.Days = age.Hours() / 24
	if age < 24*time.Hour || w.CallNow {
		return w // less than a day says nothing about the pace
	}
	if days := w.Days * collectFrom / w.Fraction; days < 36500 {
		w.ThreeQuart = c.FirstDrop.Add(time.Duration(days * 24 * float64(time.Hour)))
	}
	return w
}
