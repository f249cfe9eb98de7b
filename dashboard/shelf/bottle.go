package shelf

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// bottle is a bottle of concentrate from which a tray can be mixed.
type bottle struct {
	ID      string
	Lot     string // of a bottle that is opened with the mix; empty for one that is open
	Class   ledger.Class
	Product string
	Left    quantity.Millilitre
}

func (b bottle) title() string {
	if b.Lot != "" {
		return fmt.Sprintf("Open a bottle of %s and mix from it", b.Lot)
	}
	return fmt.Sprintf("Mix from %s", b.ID)
}

// openLotField names the lot of a bottle that is opened in the press that mixes from it.
const openLotField = "open_lot"

// openBottles are what the bottles in the book still hold, and then those of the classes that an earlier tray opens.
func (c shelfContext) openBottles(ids []string, classes []ledger.Class) (all []bottle) {
	for _, id := range ids {
		held, _ := c.book.Contents(id, c.book.At)
		all = append(all, bottle{ID: id, Class: held.Class, Product: held.Product, Left: held.Volume})
	}
	for _, b := range c.earlier.opened {
		if b.Lot = ""; slices.Contains(classes, b.Class) {
			all = append(all, b)
		}
	}
	for i := range all {
		all[i].Left -= c.earlier.drawn[all[i].ID]
	}
	return slices.DeleteFunc(all, func(b bottle) bool { return b.Left < dregs })
}

// dregs are not worth a way of their own: no graduate of a darkroom shows less (common practice).
const dregs quantity.Millilitre = 1

// closedBottles are one bottle of each lot of the classes that has one left.
func (c shelfContext) closedBottles(classes []ledger.Class) (all []bottle) {
	taken := map[string]int{}
	for _, b := range c.earlier.opened {
		taken[b.Lot]++
	}
	names := c.bottleNames()
	for _, lot := range c.lotsOf(classes, false) {
		if lot.Units-lot.Opened > taken[lot.ID] {
			name := cmp.Or(names[productOfClass{lot.Product, lot.Class}], c.product(lot.Product, lot.ID))
			all = append(all, bottle{c.freeBottle(name), lot.ID, lot.Class, lot.Product, lot.UnitVolume})
		}
	}
	return all
}

// productOfClass is a product, and what it is used as.
type productOfClass struct {
	product string
	class   ledger.Class
}

// bottleNames are what the last opened bottle of each product is called, without its number.
func (c shelfContext) bottleNames() map[productOfClass]string {
	names := map[productOfClass]string{}
	for _, r := range c.book.Records {
		if opened, is := r.Act.(ledger.LotOpened); is {
			if lot, known := c.book.Lot(opened.Lot); known {
				names[productOfClass{lot.Product, lot.Class}] = strings.TrimRight(opened.Container, " 0123456789")
			}
		}
	}
	return names
}

// freeBottle is a name for a bottle that no vessel has yet.
func (c shelfContext) freeBottle(name string) string {
	for n := 1; ; n++ {
		free := name
		if n > 1 {
			free = fmt.Sprintf("%s %d", name, n)
		}
		if _, taken := c.book.Container(free); !taken && !c.earlier.named[free] {
			return free
		}
	}
}

// opens lets the form open the bottle as well, if it is closed, and asks for the name that it is given.
func (f *entryForm) opens(b bottle) {
	if b.Lot == "" {
		return
	}
	f.Fields = slices.DeleteFunc(f.Fields, func(d drawnField) bool { return d.Name == "from" })
	f.Fields = append(f.Fields,
		drawnField{Name: openLotField, Kind: string(hiddenField), Value: b.Lot},
		drawnField{Name: "from", Kind: string(textField), Label: "Name of the opened bottle",
			Hint: "write the name on the bottle; it stays when the bottle is refilled", Value: b.ID})
}

// unsealed opens the bottle that a mix comes from, unless an earlier try has opened it already.
func (r *entryReader) unsealed() []ledger.Act {
	lot, name := r.text(openLotField, "Lot", false), r.text("from", "Name of the opened bottle", r.values.Has(openLotField))
	if lot == "" || name == "" {
		return nil
	}
	held, _ := r.book.Contents(name, r.book.At)
	if slices.ContainsFunc(held.Shares, func(s ledger.Share) bool { return s.Origin == lot }) {
		return nil
	}
	return []ledger.Act{ledger.LotOpened{Lot: lot, Container: name}}
}

// earlierTrays is what the trays before take where one form fills several.
type earlierTrays struct {
	opened []bottle
	drawn  map[string]quantity.Millilitre // by bottle
	named  map[string]bool
}

// plan begins a form that fills several trays.
func (c *shelfContext) plan() {
	c.earlier = earlierTrays{drawn: map[string]quantity.Millilitre{}, named: map[string]bool{}}
}

func (p *earlierTrays) mixes(from bottle, form *entryForm, drawn quantity.Millilitre) {
	if from.Lot != "" {
		from.ID = form.field("from").Value
		p.opened, p.named[from.ID] = append(p.opened, from), true
	}
	p.drawn[from.ID] += drawn
}
