package shelf

import (
	"errors"
	"fmt"
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

// bathStep lists the ways to fill a tray: what stands ready first, then what can be mixed.
func (c shelfContext) bathStep(t cards.ShelfTray, v url.Values) *bathStep {
	classes := t.Classes()
	b := &bathStep{Name: t.Name, Cautions: c.Texts(ledger.CautionsFor(classes[0])), Skip: c.skipHref(t, v)}
	ready, mixes := c.book.Stored(classes)
	if held, filled := c.book.InTray(t.Bath, c.book.At); filled {
		classes = []ledger.Class{held.Class}
		ready, mixes = c.book.Stored(classes)
		b.Held = c.Volume(held.Volume) + " of " + c.Volume(c.fillOf(t, v.Get("fill"))) + " in the tray"
	}
	b.Pitcher = c.book.PitcherFor(classes[0])
	if b.Ways = c.repairWays(t, v); len(b.Ways) > 0 {
		b.Held = ""
		return b
	}
	b.Ways = slices.Concat(c.pourWays(t, ready, v, ledger.Pour), c.pourWays(t, ready, v, ledger.TestFirst), c.mixWays(t, mixes, classes, v),
		c.pourWays(t, ready, v, ledger.Discard))
	doors, other := c.doors(t, classes, v), c.otherWays(t, classes, b.Ways, v)
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
func (c shelfContext) pourWays(t cards.ShelfTray, ready []string, v url.Values, verdict ledger.Verdict) (ways []way) {
	for _, id := range ready {
		if c.book.MayPour(id, c.book.At).Verdict == verdict {
			ways = append(ways, c.pourWay(t, id, v))
		}
	}
	return ways
}

// mixWays mix from an open bottle, and from a closed one of each product of which no open bottle fills the tray.
func (c shelfContext) mixWays(t cards.ShelfTray, mixes []string, classes []ledger.Class, v url.Values) (ways []way) {
	whole := map[string]bool{} // products of which an open bottle fills the tray
	for _, from := range c.openBottles(mixes, classes) {
		w := c.mixWay(t, from, v)
		ways, whole[from.Product] = append(ways, w), whole[from.Product] || w.Ask != nil || w.Form != nil && !w.Part
	}
	for _, from := range c.closedBottles(classes) {
		if !whole[from.Product] {
			ways = append(ways, c.mixWay(t, from, v))
		}
	}
	return ways
}

func (c shelfContext) skipHref(t cards.ShelfTray, v url.Values) string {
	q := url.Values{"who": v["who"], "fill": v["fill"], "skip": append(slices.Clone(v["skip"]), t.Bath)}
	return "/rooms/" + t.Room + "/set-up?" + q.Encode()
}

// here is the address that leads back to this set-up.
func here(t cards.ShelfTray, v url.Values) string {
	q := url.Values{"who": v["who"], "fill": v["fill"], "skip": v["skip"]}
	return "/rooms/" + t.Room + "/set-up?" + q.Encode()
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
func (c shelfContext) repairWays(t cards.ShelfTray, v url.Values) []way {
	repair, from, wrong := c.repair(t)
	if !wrong {
		return nil
	}
	tray := c.book.TrayOf(t)
	w := way{Title: "Put the mix right", Lead: phrase.Capital(c.Text(repair.Reason)) + ".", Open: true}
	at := filling(t, v).pressed("I added it")
	switch repair.Remedy {
	case chem.AddConcentrate:
		w.Big = []cards.Numeral{c.numeral("Add concentrate", repair.Add)}
		w.Form = c.stepForm("topped-up", url.Values{"container": {tray}, "from": {from}, "volume_ml": {c.TypedVolume(repair.Add)}}, at,
			"volume_ml")
	case chem.DiscardAndStartAgain:
		held, _ := c.book.Contents(tray, c.book.At)
		for _, lot := range c.lotsOf([]ledger.Class{held.Class}, false) {
			w.Links = append(w.Links, c.openLink(lot, t, v))
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
			Links: []web.Link{{Href: c.stepHref(slug(mix.Act.Kind()), q, filling(t, v)), Text: "Correct the entry"}}})
	}
	discard := web.Link{Href: c.stepHref("discarded", c.discards(tray), filling(t, v)), Text: "Discard"}
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
func (c shelfContext) pourWay(t cards.ShelfTray, id string, v url.Values) way {
	held, _ := c.book.Contents(id, c.book.At)
	answer := c.cards().Answer(id)
	w := way{Title: fmt.Sprintf("Pour from %s", id), Lead: c.contents(held), Answer: &answer}
	fill := min(c.missing(t, v), held.Volume)
	verdict := c.book.MayPour(id, c.book.At).Verdict
	at := filling(t, v)
	pour := c.stepForm("portion-poured", url.Values{"from": {id}, "to": {c.book.TrayOf(t)}, "volume_ml": {c.TypedVolume(fill)}},
		at.pressed("I poured it"), "volume_ml")
	labelled := verdict == ledger.TestFirst && held.Strength == nil
	session, _ := c.book.Session(v.Get("in_session"))
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
func (c shelfContext) mixWay(t cards.ShelfTray, from bottle, v url.Values) way {
	w := way{Title: from.title(), From: from}
	if held, open := c.book.Contents(from.ID, c.book.At); open {
		answer := c.cards().Answer(from.ID)
		w.Lead, w.Answer = c.contents(held), &answer
		if c.book.MayPour(from.ID, c.book.At).Verdict == ledger.Pour { // it is mixed with water, not poured into a tray
			w.Answer, w.Note = nil, answer.Because+" "+answer.Source
		}
		if c.book.MayPour(from.ID, c.book.At).Verdict == ledger.Discard {
			w.Spent = true
			w.Links = []web.Link{{Href: c.stepHref("discarded", c.discards(from.ID), filling(t, v)), Text: "Discard"}}
			return w
		}
	}
	product, _ := c.book.Catalogue.Product(from.Product)
	parts, lead := c.partsFor(product, v)
	w.Links = c.dilutions(t, product, v)
	amount, next := c.missing(t, v), here(t, v)
	asked, wanted := c.askAmount(t, v)
	if wanted > 0 { // with that the tray has what it is to have tonight
		amount, next = wanted, c.skipHref(t, v)+"&"+url.Values{"for": {t.Bath}, "amount": {asked.Typed}}.Encode()
	}
	if reach := from.Left / quantity.Millilitre(parts.Strength()); wanted == 0 && reach < amount {
		if w.Part = reach < ledger.FullEnough*amount; w.Part {
			lead = fmt.Sprintf("%s. %s is left in it, for %s: fill up from another bottle", lead, c.Volume(from.Left), c.Volume(reach))
		}
		amount = reach
	}
	plan, err := parts.Plan(amount)
	if err != nil {
		w.Ask = c.askParts(t, v)
		return w
	}
	w.Big, w.Lead, w.Drawing, w.Amount = c.planned(plan), lead, c.drawn(plan), asked
	w.Form = c.mixForm(stepOf{tray: t, asked: v, next: next, button: "I mixed it"}, from, parts, plan)
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
		poured.Set("product", from.Product)
		poured.Set("class", string(from.Class))
		poured.Set("meant", string(ledger.FromConcentrate))
		poured.Set("into", c.book.TrayOf(at.tray))
		poured.Set("parent_ml", c.TypedVolume(plan.Concentrate))
		poured.Set("aim", parts.String())
		poured.Set("with", c.book.PitcherFor(from.Class))
		form = c.stepForm("batch-mixed", poured, at, "parent_ml", "water_ml")
		form.field("parent_ml").Label = "Concentrate poured"
	}
	form.opens(from)
	return form
}

// missing is what a tray still takes tonight.
func (c shelfContext) missing(t cards.ShelfTray, v url.Values) quantity.Millilitre {
	held, _ := c.book.InTray(t.Bath, c.book.At)
	return c.fillOf(t, v.Get("fill")) - held.Volume
}

// partsFor is the dilution for a product: one of the catalogue, what was typed off the
// label, or what it was mixed at last; with the words that say which.
func (c shelfContext) partsFor(p ledger.Product, v url.Values) (chem.Parts, string) {
	if len(p.Dilution) > 0 {
		d := p.Dilution[min(chosen(v), len(p.Dilution)-1)]
		return chem.Parts{Concentrate: d.Parent, Water: d.Water}, fmt.Sprintf("%s, %s %s", c.figures.Parts(d.Parent, d.Water), d.Use,
			c.Sourced(d.Source, d.Standing))
	}
	if typed, err := chem.ParseParts(v.Get("parts")); err == nil {
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
	Hidden   []cards.Option
	Typed    string
	Problem  string
	Readings []web.Link
}

// asks is a question of a step, with what its page was asked with.
func asks(t cards.ShelfTray, v url.Values, field string, kept ...string) *asking {
	a := &asking{ID: web.NewToken(), Page: "/rooms/" + t.Room + "/set-up", Typed: v.Get(field)}
	for _, name := range kept {
		for _, value := range v[name] {
			a.Hidden = append(a.Hidden, cards.Option{Value: value, Text: name})
		}
	}
	return a
}

// askAmount asks how much is mixed for a tray. What was answered for this tray is zero until it can be read.
func (c shelfContext) askAmount(t cards.ShelfTray, v url.Values) (*asking, quantity.Millilitre) {
	a := asks(t, v, "amount", "who", "fill", "skip", "dilution", "parts")
	a.Hidden = append(a.Hidden, cards.Option{Value: t.Bath, Text: "for"})
	if v.Get("for") != t.Bath || a.Typed == "" {
		a.Typed = ""
		return a, 0
	}
	r := c.reader(v)
	amount := r.volumeOf(web.Field{Name: "amount", Label: "Amount"}, a.Typed)
	switch most := c.missing(t, v); {
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
func (c shelfContext) askParts(t cards.ShelfTray, v url.Values) *asking {
	a := asks(t, v, "parts", "who", "fill", "skip", "for", "amount")
	_, err := chem.ParseParts(a.Typed)
	var colon *chem.ColonRatioError
	switch {
	case a.Typed == "":
	case errors.As(err, &colon):
		a.Problem = fmt.Sprintf("%s does not say what its parts are. Choose which you mean:", colon.Text)
		plans, _ := colon.For(c.trayFill(v.Get("fill"))) // a fill is always more than nothing
		for _, plan := range plans {
			q := url.Values{"who": v["who"], "fill": v["fill"], "skip": v["skip"], "parts": {plan.Parts.String()}}
			a.Readings = append(a.Readings, web.Link{Href: a.Page + "?" + q.Encode(), Text: c.reading(plan)})
		}
	case err != nil:
		a.Problem = c.ErrorText(err)
	}
	return a
}

// chosen is which of several dilutions was asked for.
func chosen(v url.Values) int {
	n, err := strconv.Atoi(v.Get("dilution"))
	if err != nil || n < 0 {
		return 0
	}
	return n
}

// dilutions lead to the other ways to mix a product.
func (c shelfContext) dilutions(t cards.ShelfTray, p ledger.Product, v url.Values) []web.Link {
	var links []web.Link
	for i, d := range p.Dilution {
		if i == chosen(v) {
			continue
		}
		q := url.Values{"who": v["who"], "fill": v["fill"], "skip": v["skip"], "dilution": {strconv.Itoa(i)}}
		links = append(links, web.Link{Href: "/rooms/" + t.Room + "/set-up?" + q.Encode(),
			Text: fmt.Sprintf("%s: %s", d.Use, d.Parts().String())})
	}
	return links
}

// otherWays lead to what has to be entered first: an opened bottle, a delivery, a product, a bottle without a label.
func (c shelfContext) otherWays(t cards.ShelfTray, classes []ledger.Class, shown []way, v url.Values) way {
	w := way{Title: "Another way"}
	for _, r := range c.lotsOf(classes, false) {
		if !slices.ContainsFunc(shown, func(w way) bool { return w.From.Lot == r.ID }) {
			w.Links = append(w.Links, c.openLink(r, t, v))
		}
	}
	for _, r := range c.lotsOf(classes, true) {
		values := url.Values{"lot": {r.ID}, "product": {r.Product}, "meant": {string(ledger.FromPowder)},
			"water_ml": {c.TypedVolume(r.UnitVolume)}}
		w.Links = append(w.Links, web.Link{Href: c.stepHref("batch-mixed", values, filling(t, v)), Text: fmt.Sprintf("Mix a packet of %s", r.ID)})
	}
	w.Links = append(w.Links,
		web.Link{Href: c.stepHref("lot-received", url.Values{}, filling(t, v)), Text: "I have a bottle that is not listed"},
		web.Link{Href: c.stepHref("product-noted", url.Values{"class": {string(classes[0])}}, filling(t, v)), Text: "Add a product"},
		web.Link{Href: c.stepHref("bottle-found", url.Values{}, filling(t, v)), Text: "Found an unlabelled bottle"})
	return w
}

func (c shelfContext) openLink(lot ledger.Lot, t cards.ShelfTray, v url.Values) web.Link {
	return web.Link{Href: c.stepHref("lot-opened", url.Values{"lot": {lot.ID}}, filling(t, v)),
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

// filling is the step of a set-up that fills a tray.
func filling(t cards.ShelfTray, v url.Values) stepOf {
	return stepOf{tray: t, asked: v, next: here(t, v)}
}

// pressed is the step with a button of that name.
func (at stepOf) pressed(button string) stepOf {
	at.button = button
	return at
}

// stepForm is the form of an act with everything filled in that follows from the step;
// only what a person measures is shown.
func (c shelfContext) stepForm(slugged string, values url.Values, at stepOf, shown ...string) *entryForm {
	k, _ := kindOf(slugged)
	values.Set("who", at.asked.Get("who"))
	values.Set("room", at.tray.Room)
	values.Set("in_session", at.asked.Get("in_session"))
	values.Set("next", at.next)
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
	values.Set("who", at.asked.Get("who"))
	values.Set("room", at.tray.Room)
	values.Set("in_session", at.asked.Get("in_session"))
	values.Set("next", at.next)
	return "/shelf/enter/" + slugged + "?" + values.Encode()
}
