// Package quantity names the physical quantities of a darkroom, each as a type
// that carries its unit, and reads them as people and probes write them.
//
// SI units are used inside the program; the units a person or a probe uses are
// turned into them at the edge by [ParseUnit], [Parse] and [Reading].
// The package imports nothing but the standard library and knows no clock.
package quantity

// Celsius is a temperature in degrees Celsius (ITS-90). Absolute zero is -273.15.
type Celsius float64

// Pascal is a pressure or a pressure difference in pascals. A room pressure is
// room minus adjacent space: negative means that air flows into the room.
type Pascal float64

// MetrePerSecond is an air velocity in metres per second.
type MetrePerSecond float64

// CubicMetrePerHour is a volume flow of air in cubic metres per hour.
type CubicMetrePerHour float64

// CubicMetre is the volume of a room in cubic metres.
type CubicMetre float64

// SquareMetre is an area in square metres: a duct, a floor, a tray, a sheet.
type SquareMetre float64

// Metre is a length, a height or an altitude in metres.
type Metre float64

// Millilitre is a volume of liquid in millilitres.
type Millilitre float64

// PartsPerMillion is a volume fraction of a gas in parts per million (1e-6).
type PartsPerMillion float64

// MilligramPerCubicMetre is a mass concentration in air in milligrams per cubic metre.
type MilligramPerCubicMetre float64

// Percent is a ratio times one hundred, such as relative humidity.
type Percent float64

// PerHour is a rate in events an hour, such as air changes.
type PerHour float64

// KilogramPerCubicMetre is a density, such as that of air.
type KilogramPerCubicMetre float64

// GramPerMole is a molar mass in grams per mole.
type GramPerMole float64

// GramPerLitre is a mass concentration in a liquid, such as silver in fixer.
type GramPerLitre float64

// GramPerSquareMetre is a coating weight, such as silver on paper.
type GramPerSquareMetre float64

// LitresPerSecond gives the flow in litres per second: 3.6 m³/h is 1 L/s.
func (q CubicMetrePerHour) LitresPerSecond() float64 { return float64(q) / 3.6 }

// CubicMetresPerSecond gives the flow in cubic metres per second.
func (q CubicMetrePerHour) CubicMetresPerSecond() float64 { return float64(q) / 3600 }

// Fahrenheit gives the temperature in degrees Fahrenheit: 20 °C is 68 °F.
func (c Celsius) Fahrenheit() float64 { return float64(c)*9/5 + 32 }

// AbsoluteZero is 0 K, by the definition of the degree Celsius.
const AbsoluteZero Celsius = -273.15

// Kelvin gives the thermodynamic temperature in kelvin.
func (c Celsius) Kelvin() float64 { return float64(c - AbsoluteZero) }

// FromFahrenheit gives the temperature for degrees Fahrenheit: 75 °F is 23.889 °C.
func FromFahrenheit(f float64) Celsius { return Celsius((f - 32) * 5 / 9) }
