package ledger

import (
	"cmp"
	"slices"

	"wetside/sensors/quantity/phrase"
)

// Amount is a figure as it stands on a bottle: a life, or how much a litre carries.
type Amount struct {
	Value float64 `json:"value"`
	Unit  string  `json:"unit"` // as a [Figure] has it
}

// Carries is how much of a material the product carries.
type Carries struct {
	Material Material `json:"material"`
	Amount
}

// ProductNoted is what somebody read on a bottle, all of it from one source.
// Figures of the product that it leaves out stay as they were.
type ProductNoted struct {
	Product  string    `json:"product"`
	Name     string    `json:"name"`
	Class    Class     `json:"class"`
	Aim      Parts     `json:"aim,omitzero"`
	Use      string    `json:"use,omitempty"` // what the parts and the capacities are for
	Opened   *Amount   `json:"opened_life,omitempty"`
	Full     *Amount   `json:"full,omitempty"`
	PartFull *Amount   `json:"part_full,omitempty"`
	Floating *Amount   `json:"floating_lid,omitempty"`
	OpenTray *Amount   `json:"open_tray,omitempty"`
	TrayTime *Amount   `json:"open_tray_hours,omitempty"`
	Capacity []Carries `json:"capacity,omitempty"`
	Source   string    `json:"source"`
	Standing Standing  `json:"standing"`
}

func (ProductNoted) Kind() string { return "product noted" }

func (ProductNoted) about() []string { return nil }

func (a ProductNoted) Sentence() phrase.Sentence {
	return phrase.Say("%s added [%s; %s]", a.Name, a.Source, a.Standing)
}

func (a ProductNoted) validate() error {
	err := first(needName(phrase.Say("product"), a.Product), needName(phrase.Say("product (in words)"), a.Name), needClass(a.Class),
		maybeName(phrase.Say("use"), a.Use),
		needName(phrase.Say("source"), a.Source), oneOf(phrase.Say("standing"), a.Standing, Verified, Secondary, CommonPractice, Unverified),
		a.Aim.validate())
	if err != nil {
		return err
	}
	return a.product().Validate()
}

func (a ProductNoted) check(s *state, _ Entry) error {
	if before, ok := s.noted[a.Product]; ok && before.Class != a.Class {
		return Problem{ErrMismatch, phrase.Say("%s is recorded as %s, not %s", a.Product, before.Class, a.Class),
			phrase.Say("Give the other product a name of its own")}
	}
	return nil
}

func (a ProductNoted) apply(s *state, _ Entry) {
	p := a.product()
	if before, ok := s.noted[a.Product]; ok {
		p = before.with(p)
	} else {
		s.notedOrder = append(s.notedOrder, a.Product)
	}
	s.noted[a.Product] = p
}

func (a ProductNoted) product() Product {
	figure := func(m *Amount) *Figure {
		if m == nil {
			return nil
		}
		return &Figure{m.Value, m.Unit, a.Source, a.Standing}
	}
	p := Product{ID: a.Product, Name: a.Name, Class: a.Class, Opened: figure(a.Opened), Full: figure(a.Full), PartFull: figure(a.PartFull),
		Floating: figure(a.Floating), OpenTray: figure(a.OpenTray), TrayTime: figure(a.TrayTime)}
	use := cmp.Or(a.Use, "as on the label")
	if a.Aim != (Parts{}) {
		p.Dilution = []Dilution{{use, a.Aim.Parent, a.Aim.Water, a.Source, a.Standing}}
	}
	for _, c := range a.Capacity {
		p.Capacity = append(p.Capacity, Capacity{Material: c.Material, Use: use, Figure: *figure(&c.Amount)})
	}
	return p
}

// with is the product with what a later entry says in the place of what it said.
func (p Product) with(o Product) Product {
	p.Name = o.Name
	for _, each := range []struct{ to, from **Figure }{{&p.Opened, &o.Opened}, {&p.Full, &o.Full}, {&p.PartFull, &o.PartFull},
		{&p.Floating, &o.Floating}, {&p.OpenTray, &o.OpenTray}, {&p.TrayTime, &o.TrayTime}} {
		if *each.from != nil {
			*each.to = *each.from
		}
	}
	for _, c := range o.Capacity {
		p.Capacity = append(slices.DeleteFunc(slices.Clone(p.Capacity), func(old Capacity) bool {
			return old.Material == c.Material &&
				old.Use == c.Use
		}), c)
	}
	for _, d := range o.Dilution {
		p.Dilution = append([]Dilution{d}, slices.DeleteFunc(slices.Clone(p.Dilution), func(old Dilution) bool { return old.Use == d.Use })...)
	}
	return p
}

// Catalogue is the catalogue of the settings with what was noted in the book.
func (l *Ledger) Catalogue() Catalogue {
	c := Catalogue{products: l.settings.Catalogue.Products()}
	for _, id := range l.now.notedOrder {
		noted := l.now.noted[id]
		if at := slices.IndexFunc(c.products, func(p Product) bool { return p.ID == id }); at >= 0 {
			c.products[at] = c.products[at].with(noted)
			continue
		}
		c.products = append(c.products, noted)
	}
	return c
}

// checkClass refuses a note that takes a product of the catalogue for another class.
func (s Settings) checkClass(act Act) error {
	a, is := act.(ProductNoted)
	if p, known := s.Catalogue.Product(a.Product); is && known && p.Class != a.Class {
		return Problem{ErrMismatch, phrase.Say("%s is in the catalogue as %s, not %s", a.Product, p.Class, a.Class),
			phrase.Say("Give the other product a name of its own")}
	}
	return nil
}

// product finds one in the catalogue as the book has it.
func (l *Ledger) product(id string) Product {
	p, known := l.settings.Catalogue.Product(id)
	noted, is := l.now.noted[id]
	switch {
	case is && known:
		return p.with(noted)
	case is:
		return noted
	}
	return p
}
