package daemon

import "wetside/sensors/quantity"

// measure is how a channel of a dimension is given to other programs: the name of the
// metric, and its value from one in the inside unit.
type measure struct {
	name  string
	value func(base float64) float64
}

// metricName is the whole name of a metric.
func metricName(name string) string { return "wetside_" + name }

// measureOf gives the metric of a dimension, in the base units that metrics have.
func measureOf(d quantity.Dimension) (m measure, ok bool) {
	as := func(name string, factor float64) (measure, bool) {
		return measure{name, func(base float64) float64 { return base * factor }}, true
	}
	switch d {
	case quantity.Temperature:
		return as("temperature_celsius", 1)
	case quantity.Velocity:
		return as("air_velocity_meters_per_second", 1)
	case quantity.VolumeFlow:
		return measure{"air_flow_cubic_meters_per_second", func(base float64) float64 {
			return quantity.CubicMetrePerHour(base).CubicMetresPerSecond()
		}}, true
	case quantity.Pressure:
		return as("air_pressure_pascals", 1)
	case quantity.Ratio:
		return as("relative_humidity_ratio", 1./100)
	case quantity.VolumeFraction:
		return as("gas_volume_ratio", 1e-6)
	case quantity.Contact:
		return as("contact_closed", 1)
	}
	return measure{}, false
}
