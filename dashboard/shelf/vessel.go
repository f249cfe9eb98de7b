package shelf

import (
	"fmt"

	"wetside/chem"
	"wetside/dashboard/cards"
)

// mixDrawing is a vessel with the marks to which it is filled, in the units of the drawing.
type mixDrawing struct {
	WaterTop, MixTop   float64
	WaterText, MixText string
	Title              string
}

// The drawing: a vessel from its rim to its bottom, wider at the top.
const (
	bottomY, fullY              = 212.0, 62.0
	bottomHalf, rimHalf         = 84.0, 100.0
	rimY                        = 20.0
	leastGap                    = 20.0 // between two marks, so that their words do not touch
	vesselMiddle        float64 = 110
)

// halfAt is half the width of the vessel at a height of the drawing.
func halfAt(y float64) float64 {
	return bottomHalf + (rimHalf-bottomHalf)*(bottomY-y)/(bottomY-rimY)
}

func (c shelfContext) drawn(p chem.Plan) *mixDrawing {
	water := bottomY - (bottomY-fullY)*float64(p.Water/p.Total)
	water = max(water, fullY+leastGap)
	return &mixDrawing{WaterTop: water, MixTop: fullY,
		WaterText: c.shortly(p.Water) + " water first", MixText: c.shortly(p.Total) + " in all",
		Title: fmt.Sprintf("A vessel filled with water to %s, then with concentrate to %s", c.shortly(p.Water), c.shortly(p.Total))}
}

// WaterShape and MixShape outline the two liquids.
func (d mixDrawing) WaterShape() string { return outline(d.WaterTop, bottomY) }

// MixShape outlines the concentrate above the water.
func (d mixDrawing) MixShape() string { return outline(d.MixTop, d.WaterTop) }

func outline(top, bottom float64) string {
	upper, lower := halfAt(top), halfAt(bottom)
	return fmt.Sprintf("M%.1f %.1fH%.1fL%.1f %.1fH%.1fZ", vesselMiddle-upper, top, vesselMiddle+upper, vesselMiddle+lower, bottom,
		vesselMiddle-lower)
}

// Marks are the two lines beside the vessel.
func (d mixDrawing) Marks() []cards.Fact {
	return []cards.Fact{{Name: fmt.Sprintf("%.1f", d.MixTop), Text: d.MixText}, {Name: fmt.Sprintf("%.1f", d.WaterTop), Text: d.WaterText}}
}
