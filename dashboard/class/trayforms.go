package class

import (
	"strings"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors/quantity"
)

// mostParts bounds what is taken for a mixture.
const mostParts = 1000

// wheres are the places where the content of a tray may go.
func wheres() []string { return []string{"back to storage", "to waste", "discarded"} }

func (f figures) wheres() []web.Choice {
	var out []web.Choice
	for _, place := range wheres() {
		out = append(out, web.Choice{Value: place, Text: f.Words.Say("where." + strings.ReplaceAll(place, " ", "-"))})
	}
	return out
}

func readFill(f *web.FormReader, t web.Typed) rules.FillTray {
	act := rules.FillTray{Bath: t.Bath, Batch: f.Text("batch", t.Batch, web.LongestName, true),
		What: f.Text("what", t.What, web.LongestText, true)}
	act.Concentrate, act.Water = readParts(f, t.Concentrate, t.Water)
	act.Volume = readMillilitres(f, t.Volume)
	return act
}

// readParts reads a mixture: both numbers or neither.
func readParts(f *web.FormReader, concentrate, water string) (c, w float64) {
	if strings.TrimSpace(concentrate) == "" && strings.TrimSpace(water) == "" {
		return 0, 0
	}
	c = readNumber(f, "concentrate", concentrate)
	w = readNumber(f, "water", water)
	if f.Problem == nil && c == 0 {
		f.Fail("concentrate", "form.no-concentrate")
	}
	return c, w
}

func readNumber(f *web.FormReader, field, text string) float64 {
	if strings.TrimSpace(text) == "" {
		f.Fail(field, "form.both-parts")
		return 0
	}
	v, err := quantity.Number(text)
	if err != nil || v < 0 || v > mostParts {
		f.Unread(field, err, "form.part", f.Words.Say("field."+field), web.Clip(text), mostParts)
		return 0
	}
	return v + 0 // a zero without a sign
}

// readMillilitres reads a volume; one without a unit is in the place's own.
func readMillilitres(f *web.FormReader, text string) quantity.Millilitre {
	text = strings.TrimSpace(text)
	if text == "" {
		return 0
	}
	if quantity.Bare(text) {
		text += " " + f.Volume.Symbol()
	}
	v, err := quantity.ParseMillilitre(text)
	if err != nil || v <= 0 {
		f.Unread("volume", err, "form.volume", web.Clip(text))
		return 0
	}
	return v
}

func readWhere(f *web.FormReader, place string) string {
	for _, known := range wheres() {
		if place == known {
			return place
		}
	}
	f.Fail("where", "form.where")
	return ""
}
