package shelf

import (
	"fmt"
	"net/url"
	"slices"
	"strings"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
)

func (c shelfContext) options(from source, v url.Values) []web.Choice {
	switch from {
	case fromHeld:
		return c.containers(func(id string, k ledger.Container) bool {
			return k.Liquid != nil && k.Vessel != ledger.WasteContainer
		})
	case fromVessels:
		return append(c.containers(func(_ string, k ledger.Container) bool { return k.Vessel != ledger.WasteContainer }), c.unnamedTrays()...)
	case fromTrays:
		trays := append(c.containers(func(_ string, k ledger.Container) bool { return k.Vessel.Working() }),
			c.unnamedTrays()...)
		return c.inWorkingOrder(trays)
	case fromPitchers:
		return c.containers(func(_ string, k ledger.Container) bool { return k.Vessel == ledger.Pitcher })
	case fromWaste:
		held, known := c.book.Contents(v.Get("container"), c.book.At)
		return c.containers(func(id string, k ledger.Container) bool {
			return k.Vessel == ledger.WasteContainer && (!known || id == held.Container || k.Stream == held.Stream)
		})
	case fromAll:
		return c.containers(func(_ string, k ledger.Container) bool { return k.Liquid != nil })
	case fromProducts:
		var all []web.Choice
		for _, p := range c.book.Catalogue.Products() {
			all = append(all, web.Choice{Value: p.ID, Text: p.Name})
		}
		return all
	case fromLots, fromPackets:
		return c.lots(from == fromPackets)
	case fromOpen:
		var all []web.Choice
		for _, s := range c.cards().OpenSessions("") {
			all = append(all, web.Choice{Value: s.ID, Text: s.Title})
		}
		return all
	}
	return c.listed(from, v)
}

// listed are choices that are the same in every book.
func (c shelfContext) listed(from source, v url.Values) []web.Choice {
	switch from {
	case fromClasses:
		return cards.Each(c.Figures, ledger.Classes())
	case fromMeant:
		return cards.Each(c.Figures, []ledger.ParentSort{ledger.FromConcentrate, ledger.FromStock, ledger.FromPowder, ledger.FromUnknown})
	case fromKinds:
		return cards.Each(c.Figures, ledger.Vessels())
	case fromStreams:
		return cards.Each(c.Figures, []ledger.Stream{ledger.SilverStream, ledger.TonerStream, ledger.PlainStream})
	case fromMethods:
		return cards.Each(c.Figures, ledger.SilverMethods())
	case fromStandings:
		return cards.Each(c.Figures, []ledger.Standing{ledger.Verified, ledger.Secondary, ledger.CommonPractice, ledger.Unverified})
	case fromMaterial:
		return c.Materials()
	case fromSeen:
		return cards.Each(c.Figures, ledger.TestKind(v.Get("test")).Seen())
	case fromSizes:
		return c.Sizes()
	}
	return nil
}

// containers lists containers with what they hold and whether it may be poured.
func (c shelfContext) containers(wanted func(string, ledger.Container) bool) []web.Choice {
	var all []web.Choice
	for _, id := range c.book.Containers() {
		k, _ := c.book.Container(id)
		if !wanted(id, k) {
			continue
		}
		text := id + ": " + "empty"
		if held, ok := c.book.Contents(id, c.book.At); ok {
			text = fmt.Sprintf("%s: %s, %s", id, c.Word(held.Class), c.Volume(held.Volume))
			if k.Vessel != ledger.WasteContainer {
				text += ", " + strings.ToLower(c.cards().Answer(id).Word)
			}
		}
		all = append(all, web.Choice{Value: id, Text: text})
	}
	return all
}

// unnamedTrays are trays of the rooms that the book does not know yet.
func (c shelfContext) unnamedTrays() []web.Choice {
	var all []web.Choice
	for _, t := range c.book.Trays {
		if _, known := c.book.Container(t.Container); !known && c.book.TrayOf(t) == t.Container {
			all = append(all, web.Choice{Value: t.Container, Text: t.Container + ": " + "empty"})
		}
	}
	return all
}

// inWorkingOrder puts the trays of the rooms first, as sheets go through them: it is the
// order in which a form sends those that were ticked.
func (c shelfContext) inWorkingOrder(trays []web.Choice) []web.Choice {
	place := map[string]int{}
	for i, t := range c.book.Trays {
		place[c.book.TrayOf(t)] = i - len(c.book.Trays)
	}
	slices.SortStableFunc(trays, func(a, b web.Choice) int { return place[a.Value] - place[b.Value] })
	return trays
}

func (c shelfContext) lots(powder bool) []web.Choice {
	var all []web.Choice
	for r := range c.book.Effective() {
		received, ok := r.Act.(ledger.LotReceived)
		if !ok {
			continue
		}
		lot, known := c.book.Lot(received.Lot)
		if known && lot.Opened < lot.Units && lot.Powder == powder {
			all = append(all, web.Choice{Value: lot.ID, Text: fmt.Sprintf("%s: %s, %d closed", lot.ID, c.product(lot.Product, ""),
				lot.Units-lot.Opened)})
		}
	}
	slices.SortFunc(all, func(a, b web.Choice) int { return strings.Compare(a.Text, b.Text) })
	return all
}
