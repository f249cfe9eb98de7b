package shelf

import (
	"fmt"
	"slices"
	"strings"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/sensors/quantity"
)

// enoughList says for one fill of the trays whether what is in storage reaches.
type enoughList struct {
	Fill string
	Rows []enoughRow
}

// enoughRow is one tray of tonight: what fills it, and whether that reaches.
type enoughRow struct {
	Name, How, Answer string
	Bar               int // percent that tonight takes of what is there, or, where that is short, that is there of what it takes
	Short             bool
}

// enough answers before anything is poured, for every fill that the page offers.
func (c setUpPart) enough(room string, fills ...string) []enoughList {
	lists, trays := make([]enoughList, 0, len(fills)), c.traysOf(room)
	for _, fill := range fills {
		list := enoughList{Fill: fill}
		needs := make([]ledger.Need, len(trays))
		for i, t := range trays {
			needs[i] = ledger.Need{Bath: t.Bath, Classes: t.Classes(), Volume: c.fillOf(t, fill)}
		}
		for i, s := range c.book.Supplies(needs, c.book.At) {
			list.Rows = append(list.Rows, c.enoughRow(trays[i].Name, s))
		}
		lists = append(lists, list)
	}
	return lists
}

// traysOf are the trays of a room that hold chemistry, in pouring order.
func (c shelfContext) traysOf(room string) []cards.ShelfTray {
	return slices.DeleteFunc(slices.Clone(c.book.Trays), func(t cards.ShelfTray) bool { return t.Room != room || len(t.Classes()) == 0 })
}

func (c setUpPart) enoughRow(name string, s ledger.Supply) enoughRow {
	row := enoughRow{Name: name}
	var how []string
	for _, d := range slices.Concat(s.Ready, s.Test) {
		how = append(how, fmt.Sprintf("%s from %s", c.Volume(d.Volume), d.Container))
	}
	if s.Mix != nil {
		how = append(how, fmt.Sprintf("%s of water + %s of concentrate, of %s on hand", c.Volume(s.Mix.Makes-s.Mix.Concentrate),
			c.Volume(s.Mix.Concentrate), c.Volume(s.Mix.OnHand)))
	}
	row.How = strings.Join(how, "; ")
	switch s.Verdict {
	case ledger.InTheTray:
		row.How, row.Answer = c.Volume(s.Held)+" in the tray", "in the tray"
	case ledger.Stored:
		row.Answer = "enough in storage"
	case ledger.StoredTest:
		row.Answer = "enough, once the test is passed"
		if s.Instead != nil {
			row.How += fmt.Sprintf("; if the test fails, mix a fresh bath from %s of concentrate", c.Volume(s.Instead.Concentrate))
		} else {
			row.How += "; if the test fails, there is no replacement"
		}
	case ledger.MixedFresh:
		row.Answer = "enough to mix"
	case ledger.NoDilution:
		row.Answer, row.Short = "concentrate is on hand; enter its dilution when you mix", s.Missing > s.Need.Volume/2 && len(how) == 0
	case ledger.NothingHere:
		row.How, row.Answer, row.Short = "none in storage", "you add a bottle at this step", true
	case ledger.NotEnough:
		row.Answer, row.Short = c.Volume(s.Missing)+" short", true
	}
	switch {
	case row.Short:
		row.Bar = int(100 * s.OnHand / s.Need.Volume)
	case s.OnHand > 0:
		row.Bar = int(100 * min(1, s.Need.Volume/s.OnHand))
	}
	return row
}

// fillOf is how much goes into a tray tonight, at most what the tray takes.
func (c shelfContext) fillOf(t cards.ShelfTray, kind string) quantity.Millilitre {
	fill := c.trayFill(kind)
	if k, known := c.book.Container(c.book.TrayOf(t)); known && k.Capacity > 0 {
		fill = min(fill, k.Capacity)
	}
	return fill
}
