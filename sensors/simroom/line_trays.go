package simroom

import (
	"strconv"

	"wetside/sensors/dialect"
)

// powerOn is what a digital temperature probe shows before its first conversion.
const powerOn = 85.0

// sayTrays is what the microcontroller with the tray probes prints each second:
// the text dialect, temperatures in °C. After a power-on the probes have not
// measured yet.
func sayTrays(values readings, fresh bool) []byte {
	var out []dialect.TextValue
	for _, id := range []string{"DEV", "STP", "FX1", "FX2", "WSH"} {
		celsius := values[id]
		if fresh {
			celsius = powerOn
		}
		out = append(out, dialect.TextValue{Name: id, Value: places(celsius, 2), Unit: "C"})
	}
	return []byte(dialect.EncodeText(out))
}

// readings are what the probes show, by name.
type readings map[string]float64

func places(v float64, n int) string { return strconv.FormatFloat(v, 'f', n, 64) }
