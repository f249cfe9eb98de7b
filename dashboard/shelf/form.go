package shelf

import (
	"fmt"
	"net/url"
	"slices"
	"strings"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
)

// entryForm is one act of the shelf as a form, with what was typed into it.
type entryForm struct {
	Slug, Title, Lead     string
	Fields                []drawnField
	Sessions              []web.Choice // to choose from, where more than one is open
	Session, SessionLabel string
	Who, Happened, Reason string
	Room, Next, Corrects  string
	Token, Version        string
	Wrong                 string // the field to look at
	Late                  bool   // the part for late entries is open
	Button                string
	Cautions              []string
	Other                 string // where somebody else gives a name
}

type drawnField struct {
	Name, Kind, Label, Hint, Value string
	Wrong, Checked                 bool
	Options                        []web.Choice
}

// shelfContext is what forms of the shelf are drawn from and read with.
type shelfContext struct {
	figures
	book    *cards.ShelfBook
	refused *refusedStep // where a form of a step comes back to the page of its step
	earlier earlierTrays // where one form fills several trays
}

// cards says what pages of several people say of the book.
func (c shelfContext) cards() cards.BookCards {
	return cards.BookCards{Figures: c.Figures, Book: c.book}
}

// slug is a kind as it stands in addresses.
func slug(k string) string { return strings.ReplaceAll(k, " ", "-") }

func kindOf(slugged string) (kind, bool) {
	for _, k := range shelfKinds() {
		if slug(k.act.Kind()) == slugged {
			return k, true
		}
	}
	return kind{}, false
}

// draw makes the form of a kind with values that were typed or are offered.
func (c shelfContext) draw(k kind, v url.Values) entryForm {
	form := entryForm{Slug: slug(k.act.Kind()), Title: k.word, Button: "Save",
		Token: web.NewToken(),
		Who:   v.Get("who"), Happened: v.Get("happened"), Reason: v.Get("because"), Room: v.Get("room"), Next: v.Get("next"),
		Corrects: v.Get("corrects"), Session: v.Get("in_session"), Version: web.Plain(float64(c.book.Version()))}
	form.Late = form.Happened != "" || form.Reason != "" || form.Corrects != ""
	if k.lead != "" {
		form.Lead = k.lead
	}
	for _, f := range k.fields {
		if c.applies(f, v) {
			form.Fields = append(form.Fields, c.drawField(f, v))
		}
	}
	if v.Get(newVesselField) != "" {
		form.Fields = append(form.Fields, c.newVessel(v), c.newCapacity(v))
	}
	form.Sessions, form.SessionLabel = c.sessionChoices(v), "Session"
	if onPrint(ledger.TestKind(v.Get("test"))) {
		form.SessionLabel = "Session in which the print was made"
	}
	return form
}

// mostSessions is how many sessions a form offers at most.
const mostSessions = 30

// sessionChoices are the sessions that an entry may belong to, where there is a choice: those that
// are open, or for a test of a finished print all, since a print is tested when it is dry.
func (c shelfContext) sessionChoices(v url.Values) (choices []web.Choice) {
	open, chosen := c.cards().OpenSessions(""), v.Get("in_session")
	if onPrint(ledger.TestKind(v.Get("test"))) {
		for _, session := range cards.Newest(c.cards().Sessions(""), mostSessions) {
			text := fmt.Sprintf("%s, %s", session.Title, c.Brief(session.Opened))
			choices = append(choices, web.Choice{Value: session.ID, Text: text, Checked: session.ID == chosen || chosen == "" && len(open) == 1 &&
				open[0].ID == session.ID})
		}
		return choices
	}
	if len(open) < 2 {
		return nil
	}
	for _, session := range open {
		choices = append(choices, web.Choice{Value: session.ID, Text: session.Title, Checked: session.ID == chosen})
	}
	return choices
}

// onPrint says whether a test is one of a finished print instead of a bath.
func onPrint(t ledger.TestKind) bool { return t == ledger.ResidualFixer || t == ledger.ResidualSilver }

func (c shelfContext) drawField(f field, v url.Values) drawnField {
	d := drawnField{Name: f.name, Kind: string(f.kind), Label: f.word, Value: v.Get(f.name)}
	if f.hint != "" {
		d.Hint = f.hint
	} else if f.kind == volumeField || f.kind == temperatureField {
		d.Hint = c.unitHint(f.kind)
	}
	if f.kind == namesField {
		d.Value = strings.Join(v[f.name], ", ")
	}
	if f.kind == linesField {
		d.Value = strings.Join(v[f.name], "\n")
		if !v.Has(f.name) {
			d.Value = strings.Join(c.book.Closing(ledger.ClosingList(v.Get("list"))), "\n")
		}
	}
	d.Checked = d.Value != ""
	for _, o := range c.options(f.from, v) {
		o.Checked = slices.Contains(v[f.name], o.Value)
		if f.from == fromSeen {
			o.Picture = pictures()[ledger.Seen(o.Value)].Picture
		}
		d.Options = append(d.Options, o)
	}
	if f.from != "" && v.Has("corrects") {
		d.Options = append(d.Options, asEntered(d.Options, v[f.name])...)
	}
	return d
}

// asEntered are the choices of an entry that are offered no more, as a bottle that is empty by
// now: who puts the entry right must be able to leave them.
func asEntered(offered []web.Choice, values []string) (all []web.Choice) {
	for _, value := range values {
		if value != "" && !slices.ContainsFunc(offered, func(o web.Choice) bool { return o.Value == value }) {
			all = append(all, web.Choice{Value: value, Text: value, Checked: true})
		}
	}
	return all
}

func (c shelfContext) unitHint(k fieldKind) string {
	if k == volumeField {
		return fmt.Sprintf("with a unit, such as 2 L or 64 floz; without a unit: %s", c.Unit(web.VolumeDimension).Label())
	}
	return fmt.Sprintf("without a unit: %s", c.Degrees())
}

// applies leaves out what the chosen test does not ask for.
func (c shelfContext) applies(f field, v url.Values) bool {
	test := ledger.TestKind(v.Get("test"))
	if test == "" {
		return true
	}
	timed := test == ledger.ClearingTest || test == ledger.EmergenceTest
	switch f.name {
	case "container":
		return !onPrint(test)
	case "seen":
		return !timed
	case "seconds":
		return timed
	case "bath_c":
		return test == ledger.EmergenceTest
	case "film":
		return test == ledger.ClearingTest
	case "baseline":
		return timed || test == ledger.BlackStripTest
	case "white_light":
		return test == ledger.StopColourTest
	}
	return true
}

// cautions are those of the class that a form is about, as far as it is known.
func (c shelfContext) cautions(v url.Values) []string {
	for _, name := range []string{"container", "from"} {
		if held, ok := c.book.Contents(v.Get(name), c.book.At); ok {
			return c.Texts(ledger.CautionsFor(held.Class))
		}
	}
	if p, ok := c.book.Catalogue.Product(v.Get("product")); ok {
		return c.Texts(ledger.CautionsFor(p.Class))
	}
	return nil
}

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
