package quantity

import (
	"fmt"
	"slices"
	"strings"
)

// Dimension says what kind of thing a unit measures. The zero value is no
// dimension at all, so a forgotten one never passes for a real one.
type Dimension uint8

// The dimensions that wetside knows, each with the unit used inside.
const (
	Temperature       Dimension = iota + 1 // Celsius
	Pressure                               // Pascal
	Velocity                               // MetrePerSecond
	VolumeFlow                             // CubicMetrePerHour
	RoomVolume                             // CubicMetre
	LiquidVolume                           // Millilitre
	Area                                   // SquareMetre
	Length                                 // Metre
	VolumeFraction                         // PartsPerMillion
	MassConcentration                      // MilligramPerCubicMetre
	Ratio                                  // Percent
	Rate                                   // PerHour
	Contact                                // 0 open, 1 closed
)

// String names the dimension in words.
func (d Dimension) String() string {
	names := [...]string{"no dimension", "temperature", "pressure", "air velocity", "volume flow", "room volume", "liquid volume", "area",
		"length", "volume fraction", "mass concentration", "ratio", "rate", "contact"}
	if int(d) >= len(names) {
		return "unknown dimension"
	}
	return names[d]
}

// Unit is a unit of measurement as people and probes write it. Units are
// comparable with ==; the zero Unit is not valid.
type Unit struct {
	symbol    string
	dimension Dimension
	factor    float64 // base = (value - zero) * factor
	zero      float64
}

// Symbol is the unit as written, such as "m3/h".
func (u Unit) Symbol() string { return u.symbol }

// Label is the unit as people read it, such as "m³/h".
func (u Unit) Label() string {
	own := map[string]string{"C": "°C", "F": "°F", "floz": "US fl oz", "gal": "US gal", "impfloz": "imp fl oz", "impgal": "imp gal",
		"inwg": "in. w.g."}
	if label, is := own[u.symbol]; is {
		return label
	}
	return strings.NewReplacer("m3", "m³", "m2", "m²", "ft3", "ft³", "ft2", "ft²", "ug", "µg").Replace(u.symbol)
}

// Dimension says what the unit measures.
func (u Unit) Dimension() Dimension { return u.dimension }

func (u Unit) String() string { return u.symbol }

// ToBase turns a value in this unit into the unit used inside for its dimension.
func (u Unit) ToBase(value float64) float64 { return (value - u.zero) * u.factor }

// FromBase turns a value in the inside unit into this unit.
func (u Unit) FromBase(base float64) float64 { return base/u.factor + u.zero }

// Exact by definition: the foot, the pound, the US gallon and the imperial
// gallon (NIST Handbook 44, appendix C; UK Weights and Measures Act 1985).
// An inch of water is the conventional one, 249.089 Pa (from memory).
const (
	metrePerFoot        = 0.3048
	millilitrePerGallon = 3785.411784
	millilitrePerImpGal = 4546.09
	pascalPerInchWater  = 249.08891
)

// units lists what is accepted; the first symbol of a dimension is the inside unit.
func units() [40]Unit {
	const cubicFoot = metrePerFoot * metrePerFoot * metrePerFoot
	return [...]Unit{
		{"C", Temperature, 1, 0}, {"F", Temperature, 5.0 / 9, 32}, {"K", Temperature, 1, 273.15},
		{"Pa", Pressure, 1, 0}, {"hPa", Pressure, 100, 0}, {"kPa", Pressure, 1000, 0},
		{"mbar", Pressure, 100, 0}, {"bar", Pressure, 1e5, 0}, {"inwg", Pressure, pascalPerInchWater, 0},
		{"m/s", Velocity, 1, 0}, {"km/h", Velocity, 1 / 3.6, 0}, {"fpm", Velocity, metrePerFoot / 60, 0},
		{"m3/h", VolumeFlow, 1, 0}, {"m3/s", VolumeFlow, 3600, 0}, {"L/s", VolumeFlow, 3.6, 0},
		{"cfm", VolumeFlow, cubicFoot * 60, 0},
		{"m3", RoomVolume, 1, 0}, {"ft3", RoomVolume, cubicFoot, 0},
		{"mL", LiquidVolume, 1, 0}, {"L", LiquidVolume, 1000, 0},
		{"floz", LiquidVolume, millilitrePerGallon / 128, 0}, {"gal", LiquidVolume, millilitrePerGallon, 0},
		{"impfloz", LiquidVolume, millilitrePerImpGal / 160, 0}, {"impgal", LiquidVolume, millilitrePerImpGal, 0},
		{"m2", Area, 1, 0}, {"cm2", Area, 1e-4, 0}, {"ft2", Area, metrePerFoot * metrePerFoot, 0},
		{"in2", Area, 0.0254 * 0.0254, 0},
		{"m", Length, 1, 0}, {"cm", Length, 0.01, 0}, {"mm", Length, 0.001, 0},
		{"ft", Length, metrePerFoot, 0}, {"in", Length, 0.0254, 0},
		{"ppm", VolumeFraction, 1, 0}, {"ppb", VolumeFraction, 0.001, 0},
		{"mg/m3", MassConcentration, 1, 0}, {"ug/m3", MassConcentration, 0.001, 0},
		{"%", Ratio, 1, 0}, {"/h", Rate, 1, 0}, {"on/off", Contact, 1, 0},
	}
}

// spellings maps other ways of writing a unit to its symbol, all in lower case.
func spellings() map[string]string {
	return map[string]string{
		"°c": "C", "celsius": "C", "degc": "C", "ºc": "C", "degreesc": "C", "degreec": "C", "degreescelsius": "C", "centigrade": "C",
		"℃": "C", "°f": "F", "fahrenheit": "F", "degf": "F", "ºf": "F", "degreesf": "F", "degreef": "F", "degreesfahrenheit": "F", "℉": "F",
		"kelvin":  "K",
		"in.w.g.": "inwg", "inw.g.": "inwg", "inh2o": "inwg", "inwc": "inwg",
		"ft/min": "fpm", "m³/h": "m3/h", "m³/s": "m3/s", "l/sec": "L/s", "ft3/min": "cfm", "ft³/min": "cfm",
		"m³": "m3", "ft³": "ft3", "m²": "m2", "cm²": "cm2", "ft²": "ft2", "in²": "in2", "sqft": "ft2", "sqin": "in2",
		"usfloz": "floz", "fluidounce": "floz", "usfluidounce": "floz", "flounce": "floz", "usflounce": "floz",
		"impoz": "impfloz", "ukfloz": "impfloz", "imperialfloz": "impfloz", "impfluidounce": "impfloz", "ukfluidounce": "impfloz",
		"imperialfluidounce": "impfloz",
		"usgal":              "gal", "gallon": "gal", "usgallon": "gal", "ukgal": "impgal", "impgallon": "impgal", "ukgallon": "impgal",
		"imperialgallon": "impgal", "imperialgal": "impgal",
		"litre": "L", "liter": "L", "lt": "L", "ltr": "L", "millilitre": "mL", "milliliter": "mL", "cc": "mL", "ccm": "mL", "cm3": "mL",
		"cm³":   "mL",
		"mg/m³": "mg/m3", "µg/m3": "ug/m3", "µg/m³": "ug/m3", "percent": "%", "pct": "%", "％": "%", "%rh": "%", "1/h": "/h", "ach": "/h",
	}
}

// ParseUnit reads a unit as people and probes write it: letter case, inner spaces,
// the points of an abbreviation ("fl. oz.") and a plural s ("fluid ounces") do not
// matter unless two units differ by case alone. A bare ounce is refused: it is a
// weight as well. The error lists the units that are known.
func ParseUnit(text string) (Unit, error) {
	known := units()
	for _, u := range known {
		if u.symbol == text {
			return u, nil
		}
	}
	folded := strings.ToLower(strings.Join(strings.Fields(text), ""))
	if ounce(text) {
		return Unit{}, fmt.Errorf("%q may be a weight: write fl oz for a US fluid ounce, imp fl oz for an imperial one", text)
	}
	for _, way := range []string{folded, strings.TrimSuffix(folded, "s"), strings.ReplaceAll(folded, ".", ""),
		strings.TrimSuffix(strings.ReplaceAll(folded, ".", ""), "s")} {
		if symbol, ok := spellings()[way]; ok {
			folded = strings.ToLower(symbol)
			break
		}
		if slices.ContainsFunc(known[:], func(u Unit) bool { return len(way) > 1 && strings.ToLower(u.symbol) == way }) {
			folded = way
			break
		}
	}
	at := slices.IndexFunc(known[:], func(u Unit) bool { return strings.ToLower(u.symbol) == folded })
	if at < 0 {
		return Unit{}, fmt.Errorf("unknown unit %q: expected one of %s", text, unitList(known[:]))
	}
	return known[at], nil
}

// ounce says whether a unit is a bare ounce, of a liquid or of a weight.
func ounce(text string) bool {
	bare := strings.TrimRight(strings.ToLower(strings.TrimSpace(text)), ".")
	return bare == "oz" || bare == "ounce" || bare == "ounces" || bare == "us oz" || bare == "usoz"
}

// BaseUnit is the unit used inside for a dimension.
func BaseUnit(d Dimension) (Unit, error) {
	for _, u := range units() {
		if u.dimension == d {
			return u, nil
		}
	}
	return Unit{}, fmt.Errorf("%s has no unit", d)
}

// UnitsOf lists the accepted units of a dimension, the inside unit first.
func UnitsOf(d Dimension) []Unit {
	var list []Unit
	for _, u := range units() {
		if u.dimension == d {
			list = append(list, u)
		}
	}
	return list
}

func unitList(list []Unit) string {
	symbols := make([]string, len(list))
	for i, u := range list {
		symbols[i] = u.symbol
	}
	return strings.Join(symbols, " ")
}
