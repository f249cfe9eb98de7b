package ledger

import (
	"bytes"
	"cmp"
	"errors"
	"slices"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"wetside/chem"
	"wetside/sensors/quantity"
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
			oneOf(phrase.Say("place of the capacity"), cmp.Or(c.Place, FirstOfTwo), FirstOfTwo), c.validate(phrase.Say("The capacity"), ok))
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

// Standing says how far a figure can be trusted.
type Standing = chem.Standing

// The standings. A figure that is unverified never condemns a bath on its own.
const (
	Verified       = chem.Verified
	Secondary      = chem.Secondary
	CommonPractice = chem.CommonPractice
	Unverified     = chem.Unverified
)

// Figure is a number with where it comes from.
type Figure struct {
	Value    float64  `toml:"value"`
	Unit     string   `toml:"unit"`
	Source   string   `toml:"source"`
	Standing Standing `toml:"standing"`
}

const litresPerGallon = 3.785411784 // exact by definition, US gallon

// longestLife keeps a life in hours within what a time.Duration can hold.
const longestLife = 1e6

// measure is what one unit of a figure is: hours of a life, or sheets 8x10 a litre of a capacity.
type measure struct{ hours, sheets float64 }

// measures are the units that there are. A month has 30 days here; a sheet 8 x 10 in and a roll are both 80 square inches.
var measures = map[string]measure{
	"hours": {hours: 1}, "days": {hours: 24}, "weeks": {hours: 7 * 24}, "months": {hours: 30 * 24},
	"sheets 8x10 per litre": {sheets: 1}, "sheets 8x10 per US gallon": {sheets: 1 / litresPerGallon},
	"rolls per litre": {sheets: 1}, "rolls per US gallon": {sheets: 1 / litresPerGallon},
}

// Duration reads a figure in hours, days, weeks or months.
func (f Figure) Duration() (time.Duration, bool) {
	unit := measures[f.Unit].hours
	hours := f.Value * unit
	if unit == 0 || !(hours >= 0 && hours <= longestLife) {
		return 0, false
	}
	return time.Duration(hours * float64(time.Hour)), true
}

// AreaPerLitre reads a capacity in square metres a litre.
func (f Figure) AreaPerLitre() (quantity.SquareMetre, bool) {
	unit := measures[f.Unit].sheets
	return EightByTen * quantity.SquareMetre(f.Value*unit), unit > 0
}

// String is the figure with its unit.
func (f Figure) String() string { return f.Words().String() }

// Words are the figure with its unit.
func (f Figure) Words() phrase.Sentence {
	unit := f.Unit
	if f.Value == 1 && measures[unit].hours > 0 {
		unit = strings.TrimSuffix(unit, "s")
	}
	return phrase.Say("%g %s", f.Value, unit)
}

func (f Figure) validate(what phrase.Sentence, ok bool) error {
	switch {
	case !ok:
		return Problem{ErrForm, phrase.Say("%s cannot be %g %s", what, f.Value, f.Unit),
			phrase.Say("Use hours, days, weeks or months for a life; sheets 8x10 or rolls per litre or per US gallon for a capacity")}
	case !(f.Value > 0 && f.Value <= 100000):
		return Problem{ErrForm, phrase.Say("%s of %g is not a possible figure", what, f.Value), phrase.Say("Write a number more than 0")}
	case f.Source == "":
		return Problem{ErrForm, phrase.Say("%s has no source", what), phrase.Say(`Write where it comes from, such as "label of the bottle"`)}
	}
	return first(needName(phrase.Say("source"), f.Source), oneOf(phrase.Say("standing"), f.Standing, Verified, Secondary, CommonPractice,
		Unverified))
}

func (f *Figure) life(what phrase.Sentence) error {
	if f == nil {
		return nil
	}
	_, ok := f.Duration()
	return f.validate(what, ok)
}
