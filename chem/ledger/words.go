package ledger

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wetside/chem"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Class is the class of chemistry that a liquid belongs to.
type Class string

// The classes. A liquid of UnknownClass is treated as silver-bearing until
// shown otherwise (common practice).
const (
	PrintDeveloper Class = "print developer"
	FilmDeveloper  Class = "film developer"
	StopBath       Class = "stop bath"
	Fixer          Class = "fixer"
	WashAid        Class = "wash aid"
	Toner          Class = "toner"
	UnknownClass   Class = "unknown"
)

// Classes lists every class in the order of the wet side, unknown last.
func Classes() []Class {
	return []Class{PrintDeveloper, FilmDeveloper, StopBath, Fixer, WashAid, Toner, UnknownClass}
}

// Developer says whether the class is a developer of paper or of film.
func (c Class) Developer() bool { return c == PrintDeveloper || c == FilmDeveloper }

// Stream is a kind of waste that is kept apart from the others.
type Stream string

// The streams of waste.
const (
	SilverStream Stream = "silver-bearing"
	TonerStream  Stream = "toner"
	PlainStream  Stream = "no silver"
)

// Stream says into which kind of waste a class goes. Used developer, stop bath
// and wash aid are not silver-rich (City of Dallas, silver practices); fixer is,
// and an unknown liquid is treated as if it were (common practice).
func (c Class) Stream() Stream {
	switch c {
	case Fixer, UnknownClass:
		return SilverStream
	case Toner:
		return TonerStream
	}
	return PlainStream
}

// Vessel is what a container is.
type Vessel string

// The kinds of vessel.
const (
	Bottle         Vessel = "bottle"
	Carboy         Vessel = "carboy"
	Pitcher        Vessel = "pitcher" // for measuring, mixing and pouring
	Tray           Vessel = "tray"
	Tank           Vessel = "tank"
	WasteContainer Vessel = "waste container"
)

// Vessels lists what a container can be.
func Vessels() []Vessel { return []Vessel{Bottle, Carboy, Pitcher, Tray, Tank, WasteContainer} }

// Working says whether work is done in the vessel.
func (v Vessel) Working() bool { return v == Tray || v == Tank }

// Material is what is processed.
type Material string

// What is processed.
const (
	ResinCoated Material = "resin-coated paper"
	FibreBased  Material = "fibre-based paper"
	Film        Material = "film"
)

// Materials lists them.
func Materials() []Material { return []Material{ResinCoated, FibreBased, Film} }

// EightByTen is the area of 80 square inches: one sheet 8 x 10 in, one 36-frame
// roll of 35 mm film, one roll of 120, four sheets 4 x 5 in.
const EightByTen quantity.SquareMetre = 80 * 0.0254 * 0.0254

// SheetsOf writes an area as so many sheets 8x10.
func SheetsOf(area quantity.SquareMetre) phrase.Sentence {
	sheets := math.Round(float64(area / EightByTen))
	if sheets == 1 {
		return phrase.Say("1 sheet 8x10")
	}
	return phrase.Say("%.0f sheets 8x10", sheets)
}

// Owner says whose a liquid is: [House], or private with a name.
type Owner string

// House is chemistry that belongs to the room.
const House Owner = "house"

// privatePrefix stands before the name of a person who brought the chemistry and takes it away again.
const privatePrefix = "private: "

func (o Owner) private() bool { return strings.HasPrefix(string(o), privatePrefix) }

func (o Owner) validate() error {
	if o == House || (o.private() && strings.TrimSpace(string(o)[len(privatePrefix):]) != "") {
		return nil
	}
	return Problem{ErrForm, phrase.Say("The owner is missing"), phrase.Say(`Write "house", or "private: " and the name`)}
}

// Parts is a dilution as it is said: so many parts of the parent and so many of water.
type Parts struct {
	Parent float64 `json:"parent"`
	Water  float64 `json:"water"`
}

// fraction is the share of the parent, 0 to 1; 0 when the parts are not stated.
func (p Parts) fraction() float64 {
	if p.Parent <= 0 || p.Water < 0 {
		return 0
	}
	return p.Parent / (p.Parent + p.Water)
}

// String writes the parts, such as "1+9".
func (p Parts) String() string { return fmt.Sprintf("%g+%g", p.Parent, p.Water) }

func (p Parts) validate() error {
	if p == (Parts{}) {
		return nil
	}
	if p.Parent <= 0 || p.Water < 0 || p.Parent > 1e6 || p.Water > 1e6 {
		return Problem{ErrForm, phrase.Say("The parts %s can't be mixed", p),
			phrase.Say("Write parts of concentrate and parts of water, such as 1 and 9")}
	}
	return nil
}

func oneOf[T ~string](what phrase.Sentence, value T, allowed ...T) error {
	if slices.Contains(allowed, value) {
		return nil
	}
	wrong := phrase.Say("%q is no %s", string(value), what)
	if value == "" {
		wrong = phrase.Say("No %s is given", what)
	}
	return Problem{ErrForm, wrong, phrase.Say("Choose one of: %s", phrase.Join(", ", allowed...))}
}

func needClass(c Class) error { return oneOf(phrase.Say("kind of chemical"), c, Classes()...) }

func needName(what phrase.Sentence, name string) error {
	bad := strings.ContainsFunc(name, func(r rune) bool { return r < ' ' || r == 0x7f || r == 0xfffd })
	if name == "" || len(name) > 100 || name != strings.TrimSpace(name) || bad {
		return Problem{ErrForm, phrase.Say("The name of the %s is missing or can't be used: %q", what, name),
			phrase.Say("Write a short name without line breaks or blanks at its ends")}
	}
	return nil
}

func maybeName(what phrase.Sentence, name string) error {
	if name == "" {
		return nil
	}
	return needName(what, name)
}

func needVolume(what phrase.Sentence, v quantity.Millilitre) error {
	if v > 0 && v <= 1e6 {
		return nil
	}
	return Problem{ErrVolume, phrase.Say("%s is %s", what, ml(v)),
		phrase.Say("Write the volume that was measured, more than 0 and at most %s", quantity.Millilitre(1e6).Litres(1000))}
}

func maybeVolume(what phrase.Sentence, v quantity.Millilitre) error {
	if v == 0 {
		return nil
	}
	return needVolume(what, v)
}

func needTemperature(what phrase.Sentence, t *quantity.Celsius) error {
	if t == nil || (*t >= 0 && *t <= 100) {
		return nil
	}
	return Problem{ErrForm, phrase.Say("%s of %s is out of range for a liquid in use", what, t.To(0.1)),
		phrase.Say("Write it between %s and %s, or leave it empty", quantity.Celsius(0).To(1).Bare(), quantity.Celsius(100).To(1))}
}

// What stands as a key in records is the word for it too, but for a few with words of their own; each is a
// [phrase.Spoken].

func (c Class) Said() phrase.Sentence { return phrase.Plain(string(c)) }

func (s Stream) Said() phrase.Sentence { return phrase.Plain(string(s)) }

func (v Vessel) Said() phrase.Sentence { return phrase.Plain(string(v)) }

func (m Material) Said() phrase.Sentence { return phrase.Plain(string(m)) }

func (p ParentSort) Said() phrase.Sentence { return phrase.Plain(string(p)) }

func (v Verdict) Said() phrase.Sentence { return phrase.Plain(string(v)) }

func (k TestKind) Said() phrase.Sentence { return phrase.Plain(string(k)) }

func (a Action) Said() phrase.Sentence { return phrase.Plain(string(a)) }

func (l SilverLine) Said() phrase.Sentence { return phrase.Plain(string(l)) }

func (m SilverMethod) Said() phrase.Sentence { return phrase.Plain(string(m)) }

// Said gives the words, and the name of a person.
func (o Owner) Said() phrase.Sentence {
	switch {
	case o == House:
		return phrase.Say("house")
	case o.private():
		return phrase.Say("private: %s", string(o)[len(privatePrefix):])
	}
	return phrase.Plain(string(o))
}

func (s Seen) Said() phrase.Sentence { return phrase.Plain(string(s)) }

// inSecondsOf writes a time that somebody took with a watch.
func inSecondsOf(seconds float64) phrase.Sentence { return phrase.Say("%g s", seconds) }

// sheetName is the size of a sheet by its area, as far as it is a common one.
func sheetName(area quantity.SquareMetre) phrase.Sentence {
	alike := func(s chem.Sheet) bool { d := area/s.Area - 1; return d < 1e-6 && d > -1e-6 }
	sheets := chem.CommonSheets()
	if at := slices.IndexFunc(sheets, alike); at >= 0 {
		return phrase.Plain(sheets[at].Words())
	}
	if alike(chem.FilmRoll()) {
		return phrase.Say("roll of film")
	}
	return phrase.Say("%.0f cm²", 1e4*float64(area))
}

// named leaves out the names that were not given.
func named(names ...string) []string {
	return slices.DeleteFunc(names, func(name string) bool { return name == "" })
}
