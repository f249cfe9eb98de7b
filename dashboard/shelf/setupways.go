package shelf

import (
	"errors"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strconv"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// filling fills one tray of a set-up, with what its page was asked with.
type filling struct {
	shelfContext
	tray  cards.ShelfTray
	asked url.Values
}

// bathStep lists the ways to fill a tray: what stands ready first, then what can be mixed.
func (c filling) bathStep() *bathStep {
	classes := c.tray.Classes()
	b := &bathStep{Name: c.tray.Name, Cautions: c.Texts(ledger.CautionsFor(classes[0])), Skip: c.skipHref()}
	ready, mixes := c.book.Stored(classes)
	if held, filled := c.book.InTray(c.tray.Bath, c.book.At); filled {
		classes = []ledger.Class{held.Class}
		ready, mixes = c.book.Stored(classes)
		b.Held = c.Volume(held.Volume) + " of " + c.Volume(c.fillOf(c.tray, c.asked.Get("fill"))) + " in the tray"
	}
	b.Pitcher = c.book.PitcherFor(classes[0])
	if b.Ways = c.repairWays(); len(b.Ways) > 0 {
		b.Held = ""
		return b
	}
	b.Ways = slices.Concat(c.pourWays(ready, ledger.Pour), c.pourWays(ready, ledger.TestFirst), c.mixWays(mixes, classes),
		c.pourWays(ready, ledger.Discard))
	doors, other := []way{c.readyDoor(classes[0]), c.concentrateDoor(classes), c.trayDoor(classes[0])}, c.otherWays(classes, b.Ways)
	if b.Held != "" { // what is in the tray is known, and nothing else may be said to be in it
		doors = doors[:2]
	}
	if slices.ContainsFunc(b.Ways, func(w way) bool { return !w.Spent }) {
		b.Ways[0].Open = true
		b.Otherwise = append(doors, other)
		return b
	}
	for i := range doors {
		doors[i].Open = true
	}
	b.Lead = "Nothing on the shelf for this bath yet. What do you have?"
	if len(b.Ways) > 0 {
		b.Lead = "Nothing on the shelf may be poured for this bath. What else do you have?"
	}
	b.Ways, b.Otherwise = doors, append(b.Ways, other)
	return b
}

// pourWays pour from what stands ready and has a verdict.
func (c filling) pourWays(ready []string, verdict ledger.Verdict) (ways []way) {
	for _, id := range ready {
		if c.book.MayPour(id, c.book.At).Verdict == verdict {
			ways = append(ways, c.pourWay(id))
		}
	}
	return ways
}

// mixWays mix from an open bottle, and from a closed one of each product of which no open bottle fills the tray.
func (c filling) mixWays(mixes []string, classes []ledger.Class) (ways []way) {
	whole := map[string]bool{} // products of which an open bottle fills the tray
	for _, from := range c.openBottles(mixes, classes) {
		w := c.mixWay(from)
		ways, whole[from.Product] = append(ways, w), whole[from.Product] || w.Ask != nil || w.Form != nil && !w.Part
	}
	for _, from := range c.closedBottles(classes) {
		if !whole[from.Product] {
			ways = append(ways, c.mixWay(from))
		}
	}
	return ways
}

// here is the address that leads back to this set-up.
func (c filling) here() string { return c.with("who", c.asked["who"]...) }

func (c filling) skipHref() string {
	return c.with("skip", append(slices.Clone(c.asked["skip"]), c.tray.Bath)...)
}

// with leads to this set-up with something else asked.
func (c filling) with(name string, values ...string) string {
	q := url.Values{"who": c.asked["who"], "fill": c.asked["fill"], "skip": c.asked["skip"]}
	q[name] = values
	return "/rooms/" + c.tray.Room + "/set-up?" + q.Encode()
}

// repair is what puts the mix in a tray right that came out other than was meant, and the bottle for it; no bottle
// where water does it, or where no open one is left.
func (c shelfContext) repair(t cards.ShelfTray) (repair chem.PourCheck, from string, wrong bool) {
	tray := c.book.TrayOf(t)
	held, _ := c.book.Contents(tray, c.book.At)
	_, mixes := c.book.Stored([]ledger.Class{held.Class})
	for _, id := range mixes {
		if repair, wrong = c.book.Repair(tray, id); wrong {
			return repair, id, true
		}
	}
	repair, wrong = c.book.Repair(tray, "")
	return repair, "", wrong
}

// repairWays put right what is in the tray where its mix came out other than was meant.
func (c filling) repairWays() []way {
	repair, from, wrong := c.repair(c.tray)
	if !wrong {
		return nil
	}
	tray := c.book.TrayOf(c.tray)
	w := way{Title: "Put the mix right", Lead: phrase.Capital(c.Text(repair.Reason)) + ".", Open: true}
	at := c.step().pressed("I added it")
	switch repair.Remedy {
	case chem.AddConcentrate:
		w.Big = []cards.Numeral{c.numeral("Add concentrate", repair.Add)}
		w.Form = c.stepForm("topped-up", url.Values{"container": {tray}, "from": {from}, "volume_ml": {c.TypedVolume(repair.Add)}}, at,
			"volume_ml")
	case chem.DiscardAndStartAgain:
		held, _ := c.book.Contents(tray, c.book.At)
		for _, lot := range c.lotsOf([]ledger.Class{held.Class}, false) {
			w.Links = append(w.Links, c.openLink(lot))
		}
	case chem.AddWater:
		w.Big = []cards.Numeral{c.numeral("Add water", repair.Add)}
		w.Form = c.stepForm("topped-up", url.Values{"container": {tray}, "water_ml": {c.TypedVolume(repair.Add)}}, at, "water_ml")
	}
	ways := []way{w}
	if mix, known := c.lastMixIn(tray); known { // a slip of the pen is not put right with water
		ways[0].Lead = fmt.Sprintf("Recorded: %s. %s", c.Text(mix.Act.Sentence()), ways[0].Lead)
		q := url.Values{"corrects": {web.Plain(float64(mix.Number))}}
		ways = append(ways, way{Title: "It was typed wrong, but mixed right",
			Links: []web.Link{{Href: c.stepHref(slug(mix.Act.Kind()), q, c.step()), Text: "Correct the entry"}}})
	}
	discard := web.Link{Href: c.stepHref("discarded", c.discards(tray), c.step()), Text: "Discard"}
	return append(ways, way{Title: "Start again", Links: []web.Link{discard}})
}

// lastMixIn is the last entry that made what is in a tray as strong as it is.
func (c shelfContext) lastMixIn(tray string) (ledger.Entry, bool) {
	for _, e := range slices.Backward(c.book.Story(tray)) {
		switch e.Act.(type) {
		case ledger.BatchMixed, ledger.ToppedUp:
			return e, true
		}
	}
	return ledger.Entry{}, false
}

// pourWay pours what stands ready, if it may be poured.
func (c filling) pourWay(id string) way {
	held, _ := c.book.Contents(id, c.book.At)
	answer := c.cards().Answer(id)
	w := way{Title: fmt.Sprintf("Pour from %s", id), Lead: c.contents(held), Answer: &answer}
	fill := min(c.missing(), held.Volume)
	verdict := c.book.MayPour(id, c.book.At).Verdict
	at := c.step()
	pour := c.stepForm("portion-poured", url.Values{"from": {id}, "to": {c.book.TrayOf(c.tray)}, "volume_ml": {c.TypedVolume(fill)}},
		at.pressed("I poured it"), "volume_ml")
	labelled := verdict == ledger.TestFirst && held.Strength == nil
	session, _ := c.book.Session(c.asked.Get("in_session"))
	tested := labelled && session.ID != "" && held.Passed(session.Opened) // an earlier session's test is done again
	if verdict == ledger.Pour || labelled && held.Passed(time.Time{}) {
		w.Big, w.Form = []cards.Numeral{c.numeral("Pour", fill)}, pour
	}
	switch {
	case tested:
		w.Answer, w.Note = nil, "Its test was passed. "+answer.Because
		w.Links = []web.Link{{Href: c.stepHref("test-done", url.Values{"container": {id}}, at), Text: "Test again"}}
	case verdict == ledger.TestFirst:
		if w.Test = c.pictured(id, at, "passed: it may be poured", "spent: do not pour it"); w.Test != nil {
			w.Then, answer.Do = pour, "" // the test is what to do
			break
		}
		w.Links = []web.Link{{Href: c.stepHref("test-done", url.Values{"container": {id}}, at), Text: "Test"}}
	case verdict == ledger.Discard:
		w.Title, w.Spent = fmt.Sprintf("Do not pour from %s", id), true
		w.Links = []web.Link{{Href: c.stepHref("discarded", c.discards(id), at), Text: "Discard"}}
	}
	return w
}

// mixWay mixes from concentrate straight into the tray.
func (c filling) mixWay(from bottle) way {
	w := way{Title: from.title(), From: from}
	if held, open := c.book.Contents(from.ID, c.book.At); open {
		answer := c.cards().Answer(from.ID)
		w.Lead, w.Answer = c.contents(held), &answer
		if c.book.MayPour(from.ID, c.book.At).Verdict == ledger.Pour { // it is mixed with water, not poured into a tray
			w.Answer, w.Note = nil, answer.Because+" "+answer.Source
		}
		if c.book.MayPour(from.ID, c.book.At).Verdict == ledger.Discard {
			w.Spent = true
			w.Links = []web.Link{{Href: c.stepHref("discarded", c.discards(from.ID), c.step()), Text: "Discard"}}
			return w
		}
	}
	product, _ := c.book.Catalogue.Product(from.Product)
	parts, lead := c.partsFor(product)
	w.Links = c.dilutions(product)
	amount, next := c.missing(), c.here()
	asked, wanted := c.askAmount()
	if wanted > 0 { // with that the tray has what it is to have tonight
		amount, next = wanted, c.skipHref()+"&"+url.Values{"for": {c.tray.Bath}, "amount": {asked.Typed}}.Encode()
	}
	if reach := from.Left / quantity.Millilitre(parts.Strength()); wanted == 0 && reach < amount {
		if w.Part = reach < ledger.FullEnough*amount; w.Part {
			lead = fmt.Sprintf("%s. %s is left in it, for %s: fill up from another bottle", lead, c.Volume(from.Left), c.Volume(reach))
		}
		amount = reach
	}
	plan, err := parts.Plan(amount)
	if err != nil {
		w.Ask = c.askParts()
		return w
	}
	w.Big, w.Lead, w.Drawing, w.Amount = c.planned(plan), lead, c.drawn(plan), asked
	w.Form = c.mixForm(stepOf{tray: c.tray, asked: c.asked, next: next, button: "I mixed it"}, from, parts, plan)
	w.Draws = plan.Concentrate
	return w
}

// mixForm records what was mixed: a new bath, or more in a tray that is filled already.
func (c shelfContext) mixForm(at stepOf, from bottle, parts chem.Parts, plan chem.Plan) (form *entryForm) {
	poured := url.Values{"from": {from.ID}, "water_ml": {c.TypedVolume(plan.Water)}}
	if _, filled := c.book.InTray(at.tray.Bath, c.book.At); filled {
		poured.Set("container", c.book.TrayOf(at.tray))
		poured.Set("volume_ml", c.TypedVolume(plan.Concentrate))
		form = c.stepForm("topped-up", poured, at, "volume_ml", "water_ml")
		form.field("volume_ml").Label = "Concentrate added"
	} else {
		maps.Copy(poured, url.Values{"product": {from.Product}, "class": {string(from.Class)}, "meant": {string(ledger.FromConcentrate)},
			"into": {c.book.TrayOf(at.tray)}, "parent_ml": {c.TypedVolume(plan.Concentrate)}, "aim": {parts.String()},
			"with": {c.book.PitcherFor(from.Class)}})
		form = c.stepForm("batch-mixed", poured, at, "parent_ml", "water_ml")
		form.field("parent_ml").Label = "Concentrate poured"
	}
	form.opens(from)
	return form
}

// missing is what a tray still takes tonight.
func (c filling) missing() quantity.Millilitre {
	held, _ := c.book.InTray(c.tray.Bath, c.book.At)
	return c.fillOf(c.tray, c.asked.Get("fill")) - held.Volume
}

// partsFor is the dilution for a product: one of the catalogue, what was typed off the
// label, or what it was mixed at last; with the words that say which.
func (c filling) partsFor(p ledger.Product) (chem.Parts, string) {
	if len(p.Dilution) > 0 {
		d := p.Dilution[min(c.chosen(), len(p.Dilution)-1)]
		return chem.Parts{Concentrate: d.Parent, Water: d.Water}, fmt.Sprintf("%s, %s %s", c.figures.Parts(d.Parent, d.Water), d.Use,
			c.Sourced(d.Source, d.Standing))
	}
	if typed, err := chem.ParseParts(c.asked.Get("parts")); err == nil {
		return typed, fmt.Sprintf("%s, from the label", c.figures.Parts(typed.Concentrate, typed.Water))
	}
	if mix, ok := c.book.LastMix(p.ID); ok {
		return chem.Parts{Concentrate: mix.Aim.Parent, Water: mix.Aim.Water}, fmt.Sprintf("%s, as last time (batch %s)",
			c.figures.Parts(mix.Aim.Parent, mix.Aim.Water), mix.Batch)
	}
	return chem.Parts{}, ""
}

// asking is the question for the parts on a label.
type asking struct {
	ID       string // of the field
	Page     string // of the set-up
	Hidden   []web.Choice
	Typed    string
	Problem  string
	Readings []web.Link
}

// asks is a question of a step, with what its page was asked with.
func (c filling) asks(field string, kept ...string) *asking {
	a := &asking{ID: web.NewToken(), Page: "/rooms/" + c.tray.Room + "/set-up", Typed: c.asked.Get(field)}
	for _, name := range kept {
		for _, value := range c.asked[name] {
			a.Hidden = append(a.Hidden, web.Choice{Value: value, Text: name})
		}
	}
	return a
}

// askAmount asks how much is mixed for a tray. What was answered for this tray is zero until it can be read.
func (c filling) askAmount() (*asking, quantity.Millilitre) {
	a := c.asks("amount", "who", "fill", "skip", "dilution", "parts")
	a.Hidden = append(a.Hidden, web.Choice{Value: c.tray.Bath, Text: "for"})
	if c.asked.Get("for") != c.tray.Bath || a.Typed == "" {
		a.Typed = ""
		return a, 0
	}
	r := c.reader(c.asked)
	amount := r.volumeOf(web.Field{Name: "amount", Label: "Amount"}, a.Typed)
	switch most := c.missing(); {
	case r.form.Problem != nil:
		a.Problem = r.form.Problem.Sentence
	case amount <= 0 || amount > most:
		a.Problem = fmt.Sprintf("Write an amount of up to %s: more does not go into the tray tonight.", c.Volume(most))
	default:
		return a, amount
	}
	return a, 0
}

// askParts asks for the dilution, and which is meant where a bare ratio was typed.
func (c filling) askParts() *asking {
	a := c.asks("parts", "who", "fill", "skip", "for", "amount")
	_, err := chem.ParseParts(a.Typed)
	var colon *chem.ColonRatioError
	switch {
	case a.Typed == "":
	case errors.As(err, &colon):
		a.Problem = fmt.Sprintf("%s does not say what its parts are. Choose which you mean:", colon.Text)
		plans, _ := colon.For(c.trayFill(c.asked.Get("fill"))) // a fill is always more than nothing
		for _, plan := range plans {
			a.Readings = append(a.Readings, web.Link{Href: c.with("parts", plan.Parts.String()), Text: c.reading(plan)})
		}
	case err != nil:
		a.Problem = c.ErrorText(err)
	}
	return a
}

// chosen is which of several dilutions was asked for.
func (c filling) chosen() int {
	n, err := strconv.Atoi(c.asked.Get("dilution"))
	if err != nil || n < 0 {
		return 0
	}
	return n
}

// dilutions lead to the other ways to mix a product.
func (c filling) dilutions(p ledger.Product) []web.Link {
	var links []web.Link
	for i, d := range p.Dilution {
		if i == c.chosen() {
			continue
		}
		links = append(links, web.Link{Href: c.with("dilution", strconv.Itoa(i)), Text: fmt.Sprintf("%s: %s", d.Use, d.Parts().String())})
	}
	return links
}

// otherWays lead to what has to be entered first: an opened bottle, a delivery, a product, a bottle without a label.
func (c filling) otherWays(classes []ledger.Class, shown []way) way {
	w := way{Title: "Another way"}
	for _, r := range c.lotsOf(classes, false) {
		if !slices.ContainsFunc(shown, func(w way) bool { return w.From.Lot == r.ID }) {
			w.Links = append(w.Links, c.openLink(r))
		}
	}
	for _, r := range c.lotsOf(classes, true) {
		values := url.Values{"lot": {r.ID}, "product": {r.Product}, "meant": {string(ledger.FromPowder)},
			"water_ml": {c.TypedVolume(r.UnitVolume)}}
		w.Links = append(w.Links, web.Link{Href: c.stepHref("batch-mixed", values, c.step()), Text: fmt.Sprintf("Mix a packet of %s", r.ID)})
	}
	w.Links = append(w.Links,
		web.Link{Href: c.stepHref("lot-received", url.Values{}, c.step()), Text: "I have a bottle that is not listed"},
		web.Link{Href: c.stepHref("product-noted", url.Values{"class": {string(classes[0])}}, c.step()), Text: "Add a product"},
		web.Link{Href: c.stepHref("bottle-found", url.Values{}, c.step()), Text: "Found an unlabelled bottle"})
	return w
}

func (c filling) openLink(lot ledger.Lot) web.Link {
	return web.Link{Href: c.stepHref("lot-opened", url.Values{"lot": {lot.ID}}, c.step()),
		Text: fmt.Sprintf("Open a bottle of %s", lot.ID)}
}

// lotsOf are the lots of the classes, of powder or of bottles, with something that is still closed and not expired.
func (c shelfContext) lotsOf(classes []ledger.Class, powder bool) []ledger.Lot {
	var lots []ledger.Lot
	for _, o := range c.lots(powder) {
		if lot, ok := c.book.Lot(o.Value); ok && slices.Contains(classes, lot.Class) && !lot.ExpiredBefore(c.book.At) {
			lots = append(lots, lot)
		}
	}
	return lots
}

// stepOf is a step of a set-up or take-down: its tray, what the page was asked with,
// where it leads, and the words of its button.
type stepOf struct {
	tray   cards.ShelfTray
	asked  url.Values
	next   string
	button string
}

// step fills the tray and leads back to the set-up.
func (c filling) step() stepOf { return stepOf{tray: c.tray, asked: c.asked, next: c.here()} }

// pressed is the step with a button of that name.
func (at stepOf) pressed(button string) stepOf {
	at.button = button
	return at
}

// fill says in a form where it was asked for, and where it leads.
func (at stepOf) fill(values url.Values) {
	maps.Copy(values, url.Values{"who": {at.asked.Get("who")}, "room": {at.tray.Room}, "in_session": {at.asked.Get("in_session")},
		"next": {at.next}})
}

// stepForm is the form of an act with everything filled in that follows from the step;
// only what a person measures is shown.
func (c shelfContext) stepForm(slugged string, values url.Values, at stepOf, shown ...string) *entryForm {
	k, _ := kindOf(slugged)
	at.fill(values)
	form := c.draw(k, values)
	form.Button, form.Sessions, form.Lead = at.button, nil, ""
	form.Other = otherwiseNamed(at.next)
	for i, f := range form.Fields {
		if !slices.Contains(shown, f.Name) {
			form.Fields[i].Kind = string(hiddenField)
		} else if f.Value != "" {
			form.Fields[i].Hint = "" // what is filled in shows how it is written
		}
	}
	return &form
}

// otherwiseNamed is the address of a step at which the name is asked for anew.
func otherwiseNamed(address string) string {
	to := web.OwnPath(address, "/shelf")
	q := to.Query()
	q.Set(web.NameField, "")
	to.RawQuery = q.Encode()
	return to.String()
}

// stepHref leads to the page of an act and back to the step.
func (c shelfContext) stepHref(slugged string, values url.Values, at stepOf) string {
	at.fill(values)
	return "/shelf/enter/" + slugged + "?" + values.Encode()
}
