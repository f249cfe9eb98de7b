package shelf

import (
	"net/url"
	"slices"
	"strings"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/sensors/quantity"
)

// measure reads a field that is a plain figure: a number, per cent, a life, a moment.
func (r *entryReader) measure(kind fieldKind, of web.Field, raw string) any {
	switch kind {
	case momentField:
		return r.moment(of.Name)
	case amountField:
		return r.amount(of, raw)
	}
	n, err := quantity.Number(strings.TrimSpace(strings.TrimSuffix(raw, "%")))
	if err != nil {
		r.form.Unread(of, err, "is not a number.")
	}
	if kind == percentField {
		return n / 100
	}
	return n
}

// amount reads "6 months", "24 h", or what a litre or a US gallon carries, as "80 per gallon".
func (r *entryReader) amount(of web.Field, raw string) ledger.Amount {
	digits := strings.IndexFunc(raw+" ", func(c rune) bool { return !strings.ContainsRune("0123456789.,", c) })
	value, err := quantity.Number(raw[:digits])
	unit := unitOf(of.Name, strings.ToLower(strings.Join(strings.Fields(raw[digits:]), " ")))
	if err != nil || unit == "" {
		r.form.Unread(of, err, "is not a figure with a unit. Write it like 24 hours, 7 days, 6 months, 20 per litre or 80 per gallon.")
	}
	return ledger.Amount{Value: value, Unit: unit}
}

// unitOf gives the unit of a figure as the catalogue writes it; empty when it is none.
func unitOf(name, text string) string {
	carries := strings.HasPrefix(name, "carries_")
	what := "sheets 8x10"
	if name == "carries_film" {
		what = "rolls"
	}
	text = strings.TrimPrefix(strings.TrimPrefix(text, what+" "), "per ")
	switch {
	case carries && (text == "litre" || text == "liter" || text == "l"):
		return what + " per litre"
	case carries && (text == "us gallon" || text == "gallon" || text == "us gal" || text == "gal"):
		return what + " per US gallon"
	case carries:
		return ""
	}
	for unit, words := range map[string]string{"hours": " h hour hours ", "days": " d day days ", "weeks": " week weeks ",
		"months": " month months "} {
		if text != "" && strings.Contains(words, " "+text+" ") {
			return unit
		}
	}
	return ""
}

// completePlan fills in what follows from the rest of an act of planning.
func (r *entryReader) completePlan(k string, act map[string]any) {
	switch k {
	case ledger.WorkBooked{}.Kind():
		r.fallback(act, "booking", r.freeName("booking"))
	case ledger.ProductNoted{}.Kind():
		name, _ := act["name"].(string)
		r.fallback(act, "product", r.productID(name))
		if label := "label of the bottle"; act["source"] == nil || act["source"] == label {
			r.fallback(act, "source", label)
			r.fallback(act, "standing", string(ledger.Verified)) // whoever types it has just read it
		}
		var carries []ledger.Carries
		for _, each := range carried() {
			if amount, ok := act[each.field].(ledger.Amount); ok {
				carries = append(carries, ledger.Carries{Material: each.material, Amount: amount})
			}
			delete(act, each.field)
		}
		if carries != nil {
			act["capacity"] = carries
		}
	}
}

func (r *entryReader) booked(name string) bool {
	return slices.ContainsFunc(r.book.Records, func(rec cards.ShelfRecord) bool {
		w, is := rec.Act.(ledger.WorkBooked)
		return is && w.Booking == name
	})
}

// productID is the product that a name belongs to already, or the name itself.
func (r *entryReader) productID(name string) string {
	for _, p := range r.book.Catalogue.Products() {
		if strings.EqualFold(p.Name, name) {
			return p.ID
		}
	}
	return name
}

// carried are the fields of the form for what a product carries, by material.
func carried() []struct {
	field    string
	material ledger.Material
} {
	return []struct {
		field    string
		material ledger.Material
	}{{"carries_rc", ledger.ResinCoated}, {"carries_fb", ledger.FibreBased}, {"carries_film", ledger.Film}}
}

// typedCapacity writes the capacities of an act as the fields of its form.
func (c shelfContext) typedCapacity(value any) map[string][]string {
	fields := map[string][]string{}
	list, _ := value.([]any)
	for _, each := range list {
		one, _ := each.(map[string]any)
		for _, of := range carried() {
			if one["material"] == string(of.material) {
				fields[of.field] = []string{c.typedAmount(one)}
			}
		}
	}
	return fields
}

func (c shelfContext) typedAmount(m map[string]any) string {
	value, _ := m["value"].(float64)
	unit, _ := m["unit"].(string)
	return web.Plain(value) + " " + unit
}

// assumed fills the form of the assumptions with those that hold.
func (c shelfContext) assumed(a ledger.AssumptionsStated, next string) url.Values {
	v := url.Values{"next": {next}, "evaporation_ml": {c.TypedVolume(a.Evaporation)}}
	for name, value := range map[string]float64{"coating_low_g_m2": float64(a.CoatingLow), "coating_high_g_m2": float64(a.CoatingHigh),
		"dissolved_low":  100 * a.DissolvedLow,
		"dissolved_high": 100 * a.DissolvedHigh, "carry_over_ml_m2": float64(a.CarryOver), "lead_days": a.LeadDays} {
		v.Set(name, web.Plain(value))
	}
	return v
}
