package discover

import (
	"slices"
	"strings"

	"wetside/sensors"
	"wetside/sensors/quantity"
)

// KindsOf lists what a channel may measure, by the unit it sends and then by its name,
// the likeliest first. Without a unit it may be anything.
func KindsOf(unit, name string) []sensors.Kind {
	kinds := sensors.KnownKinds()
	if u, err := quantity.ParseUnit(unit); err == nil && unit != "" {
		kinds = slices.DeleteFunc(kinds, func(k sensors.Kind) bool {
			traits, _ := k.Traits()
			return traits.Dimension != u.Dimension()
		})
	}
	name = strings.ToLower(name)
	slices.SortStableFunc(kinds, func(a, b sensors.Kind) int { return hint(b, name) - hint(a, name) })
	return kinds
}

// hint is 1 when a name holds a word that people use for a kind.
func hint(k sensors.Kind, name string) int {
	words := map[sensors.Kind][]string{
		sensors.AirTemperature: {"air", "room", "amb"}, sensors.WaterTemperature: {"water", "tap", "inlet"},
		sensors.FanCommand: {"fan"}, sensors.CarbonDioxide: {"co2"}, sensors.SulfurDioxide: {"so2"}, sensors.AceticAcid: {"acet", "hac"},
		sensors.RoomPressure: {"room", "dp"}, sensors.VelocityPressure: {"vel", "pitot", "duct"},
	}
	for _, w := range words[k] {
		if strings.Contains(name, w) {
			return 1
		}
	}
	return 0
}
