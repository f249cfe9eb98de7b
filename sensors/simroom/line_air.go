package simroom

import "wetside/sensors/dialect"

// sayAir is the sentence of the instrument on the wall, once a second:
// temperature in °C, relative humidity in per cent, room pressure in Pa.
func sayAir(values readings, _ bool) []byte {
	return []byte(dialect.EncodeXDR("WI", []dialect.XDRValue{
		{Type: "C", Value: places(values["AIR"], 2), Unit: "C", Name: "AIR"},
		{Type: "H", Value: places(values["HUM"], 1), Unit: "P", Name: "HUM"},
		{Type: "P", Value: places(values["ROOM"], 1), Unit: "P", Name: "ROOM"},
	}))
}
