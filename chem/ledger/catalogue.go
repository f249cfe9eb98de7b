package ledger

import (
	"bytes"
	"errors"
	"slices"

	"github.com/pelletier/go-toml/v2"

	"wetside/sensors/quantity/phrase"
)

// Catalogue is what is known of the products in use.
type Catalogue struct {
	products []Product
}

// Product is one kind of chemistry with its figures. A figure that is nil is
// not known, and the answer to "may I pour this?" is then to test first.
type Product struct {
	ID       string     `toml:"id"`
	Name     string     `toml:"name"`
	Class    Class      `toml:"class"`
	Opened   *Figure    `toml:"opened_life"`     // of the concentrate after the seal is broken
	Full     *Figure    `toml:"full"`            // life of the mix in a full bottle
	PartFull *Figure    `toml:"part_full"`       // in a part-full bottle
	Floating *Figure    `toml:"floating_lid"`    // in a tank with a floating lid
	OpenTray *Figure    `toml:"open_tray"`       // in an open tray, by the calendar
	TrayTime *Figure    `toml:"open_tray_hours"` // hours that it may stand open in all
	Capacity []Capacity `toml:"capacity"`
	Dilution []Dilution `toml:"dilution"`
}

// Capacity is how much of a material a litre can process.
type Capacity struct {
	Material Material `toml:"material"`
	Use      string   `toml:"use"`   // such as "single bath"
	Place    Place    `toml:"place"` // only "first of two baths" or nothing
	Figure
}

// Dilution is a way to mix the product, in parts of the concentrate and of water.
type Dilution struct {
	Use      string   `toml:"use"`
	Parent   float64  `toml:"parent"`
	Water    float64  `toml:"water"`
	Source   string   `toml:"source"`
	Standing Standing `toml:"standing"`
}

// Parts gives the dilution for a batch.
func (d Dilution) Parts() Parts { return Parts{d.Parent, d.Water} }

// ParseCatalogue reads a catalogue in TOML. Unknown keys, figures without
// source or standing, and two products of one id are errors.
func ParseCatalogue(data []byte) (Catalogue, error) {
	var file struct {
		Product []Product `toml:"product"`
	}
	d := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields()
	if err := d.Decode(&file); err != nil {
		var unknown *toml.StrictMissingError
		if errors.As(err, &unknown) {
			return Catalogue{}, phrase.Errorf("read catalogue: a key is not known:\n%s", unknown.String())
		}
		return Catalogue{}, phrase.Errorf("read catalogue: %w", err)
	}
	return NewCatalogue(file.Product...)
}

// NewCatalogue checks the products and keeps them in their order.
func NewCatalogue(products ...Product) (Catalogue, error) {
	var c Catalogue
	for _, p := range products {
		if err := p.Validate(); err != nil {
			return Catalogue{}, phrase.Errorf("product %q: %w", p.ID, err)
		}
		if _, taken := c.Product(p.ID); taken {
			return Catalogue{}, phrase.Errorf("product %q: %w", p.ID, Problem{ErrTaken, phrase.Say("Two products have this id"),
				phrase.Say("Give one of the two another id")})
		}
		c.products = append(c.products, p)
	}
	return c, nil
}

// Products lists the products in the order of the file.
func (c Catalogue) Products() []Product { return slices.Clone(c.products) }

// Product finds one by its id.
func (c Catalogue) Product(id string) (Product, bool) {
	at := slices.IndexFunc(c.products, func(p Product) bool { return p.ID == id })
	if at < 0 {
		return Product{}, false
	}
	return c.products[at], true
}

// Validate checks a product as a person types it in.
func (p Product) Validate() error {
	err := first(needName(phrase.Say("product"), p.ID), needName(phrase.Say("product (in words)"), p.Name), needClass(p.Class),
		p.Opened.life(phrase.Say("The life once opened")), p.Full.life(phrase.Say("The life in a full bottle")),
		p.PartFull.life(phrase.Say("The life in a part-full bottle")),
		p.Floating.life(phrase.Say("The life under a floating lid")), p.OpenTray.life(phrase.Say("The life in an open tray")),
		p.TrayTime.life(phrase.Say("The time in an open tray")))
	for _, c := range p.Capacity {
		_, ok := c.AreaPerLitre()
		err = first(err, oneOf(phrase.Say("material"), c.Material, Materials()...), needName(phrase.Say("use of the capacity"), c.Use),
			c.Place.forCapacity(), c.validate(phrase.Say("The capacity"), ok))
	}
	for _, d := range p.Dilution {
		err = first(err, d.validate())
	}
	return err
}

func (d Dilution) validate() error {
	if d.Parent <= 0 {
		return Problem{ErrForm, phrase.Say("A dilution has no parts of the concentrate"),
			phrase.Say("Write parts of the concentrate and parts of water, such as 1 and 9")}
	}
	return first(d.Parts().validate(), needName(phrase.Say("use of the dilution"), d.Use), needName(phrase.Say("source"), d.Source),
		oneOf(phrase.Say("standing"), d.Standing, Verified, Secondary, CommonPractice, Unverified))
}
