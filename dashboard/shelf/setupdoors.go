package shelf

import (
	"fmt"
	"net/url"
	"slices"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/sensors/quantity"
)

// The fields of a form with which a vessel or a bottle comes into the book in the same press.
const (
	newVesselField   = "new_vessel"
	newCapacityField = "new_capacity_ml"
	openAsField      = "open_as"
)

// readyDoor brings a storage bottle of working strength into the book; the tray is poured from it then.
func (c filling) readyDoor(class ledger.Class) way {
	values := url.Values{"class": {string(class)}, "meant": {string(ledger.FromUnknown)}}
	form := c.stepForm("batch-mixed", values, c.step().pressed("List this bottle"),
		"water_ml")
	form.field("water_ml").Label = "Volume in it"
	form.Fields = append([]drawnField{c.newVessel(c.asked)}, append(form.Fields, c.newCapacity(c.asked))...)
	return way{Title: "Ready-to-use bottle",
		Lead: "A storage bottle with a bath of working strength that is not listed yet. It is listed first and poured from then.", Form: form}
}

// concentrateDoor brings a bottle of concentrate that somebody holds into the book, opened.
func (c filling) concentrateDoor(classes []ledger.Class) way {
	form := c.stepForm("lot-received", url.Values{"units": {"1"}},
		c.step().pressed("List this bottle and mix from it"), "product", "unit_ml")
	form.field("unit_ml").Label = "Volume in it"
	products := form.only("product", func(id string) bool {
		p, known := c.book.Catalogue.Product(id)
		return known && slices.Contains(classes, p.Class)
	})
	if len(products) > 0 {
		products[0].Checked = true
	}
	form.Fields = append(form.Fields, drawnField{Name: openAsField, Kind: string(textField), Label: "Name on the bottle",
		Hint: "leave empty for the name of the product", Value: c.asked.Get(openAsField)})
	return way{Title: "Mix from a bottle of concentrate", Form: form}
}

// trayDoor says that the bath is in the tray already.
func (c filling) trayDoor(class ledger.Class) way {
	values := url.Values{"class": {string(class)}, "container": {c.book.TrayOf(c.tray)},
		"volume_ml": {c.TypedVolume(c.fillOf(c.tray, c.asked.Get("fill")))}}
	form := c.stepForm(slug(ledger.BathFound{}.Kind()), values,
		c.step().pressed("It is in the tray"), "volume_ml", "fresh")
	form.field("volume_ml").Label = "How much is in the tray"
	return way{Title: "It is already in the tray", Form: form}
}

// only leaves the choices of a field whose value counts, and gives them.
func (f *entryForm) only(name string, counts func(value string) bool) []web.Choice {
	field := f.field(name)
	field.Options = slices.DeleteFunc(field.Options, func(o web.Choice) bool { return !counts(o.Value) })
	return field.Options
}

func (c shelfContext) newVessel(v url.Values) drawnField {
	return drawnField{Name: newVesselField, Kind: string(textField), Label: "Name on the bottle", Value: v.Get(newVesselField)}
}

func (c shelfContext) newCapacity(v url.Values) drawnField {
	return drawnField{Name: newCapacityField, Kind: string(volumeField), Label: "It holds when full",
		Hint: "leave empty if it is full now", Value: v.Get(newCapacityField)}
}

// newVessel reads a vessel that the book does not know yet, into which the act pours. Its name
// takes the place of a choice; one that an earlier try has named already is only chosen.
func (r *entryReader) newVessel(k kind) []ledger.Act {
	name := r.text(newVesselField, "Name on the bottle", false)
	at := slices.IndexFunc(k.fields, func(f field) bool { return f.from == fromVessels || f.from == fromWaste })
	if name == "" || at < 0 {
		return nil
	}
	r.values.Set(k.fields[at].name, name)
	if _, known := r.book.Container(name); known {
		return nil
	}
	vessel := ledger.ContainerNamed{Container: name, Vessel: ledger.Bottle, Capacity: r.capacity()}
	if k.fields[at].from == fromWaste {
		held, _ := r.book.Contents(r.values.Get("container"), r.book.At)
		vessel.Vessel, vessel.Stream = ledger.WasteContainer, held.Class.Stream()
	}
	return []ledger.Act{vessel}
}

// capacity is what a new vessel takes: as much as was poured where nothing else is said.
func (r *entryReader) capacity() quantity.Millilitre {
	for _, of := range []web.Field{{Name: newCapacityField, Label: "It holds when full"}, {Name: "volume_ml", Label: "Volume"},
		{Name: "water_ml", Label: "Volume in it"}} {
		if raw := r.form.Get(of); raw != "" {
			return r.volumeOf(of, raw)
		}
	}
	return 0
}

// opened lets a bottle that was received be opened in the same press.
func (r *entryReader) opened(e *cards.ShelfEntry) {
	lot, is := e.Act.(ledger.LotReceived)
	if !is || !r.values.Has(openAsField) {
		return
	}
	name := r.text(openAsField, "Name on the bottle", false)
	if p, known := r.book.Catalogue.Product(lot.Product); known && name == "" {
		name = p.Name
	}
	if _, taken := r.book.Container(name); taken || name == "" {
		if r.form.Problem == nil {
			r.form.Problem = &web.Problem{Field: openAsField, Sentence: fmt.Sprintf("Give the bottle a name that no other vessel has: %q.", name)}
		}
		return
	}
	e.Before, e.Act = append(e.Before, lot), ledger.LotOpened{Lot: lot.Lot, Container: name}
}
