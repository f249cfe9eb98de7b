package dialect

import (
	"math"
	"time"

	"wetside/sensors"
)

// CO2Meter reads the reports of the usual USB meters of carbon dioxide (USB 04d9:a052), eight
// bytes each: what is meant, a value of two bytes, the sum of these three, and a carriage
// return. Older meters mix the bytes with a key that they were given, here of zeros; newer
// ones send them as they are. The form was found out and published by Henryk Plötz ("Reverse
// Engineering a low-cost USB CO2 monitor", hackaday.io/project/5301); programs in the open that
// read it are maizy/ambient7 and heinemml/CO2Meter on GitHub.
type CO2Meter struct {
	// plain and mixed count the reports that were right in either form.
	plain, mixed int
	frames       []sensors.Frame
}

var _ sensors.Decoder = (*CO2Meter)(nil)

// What a report of a CO2 meter means, and the addresses of both values.
const (
	co2Value         = 0x50 // ppm
	temperatureValue = 0x42 // sixteenths of a kelvin

	CO2Address            = "co2"
	CO2TemperatureAddress = "temperature"
)

const reportLength = 8

// NewCO2Meter makes a decoder of the reports of a CO2 meter.
func NewCO2Meter() *CO2Meter { return &CO2Meter{} }

// Feed takes one report.
func (m *CO2Meter) Feed(_ sensors.Instant, data []byte) []sensors.Frame {
	m.frames = m.frames[:0]
	f := sensors.Frame{Result: sensors.FrameGarbled}
	if len(data) == reportLength {
		f = m.read([reportLength]byte(data))
	}
	f.Text = hexText(data)
	m.frames = append(m.frames, f)
	return m.frames
}

// Poll sends nothing: a meter speaks by itself.
func (m *CO2Meter) Poll(sensors.Instant) ([]byte, []sensors.Frame, time.Duration) { return nil, nil, 0 }

// Reset forgets in which form the meter sends: another one may have been plugged in.
func (m *CO2Meter) Reset() { m.plain, m.mixed = 0, 0 }

// read takes a report in the form in which more of the reports so far were right. One in the
// other form is right by chance, once in 65,536.
func (m *CO2Meter) read(sent [reportLength]byte) sensors.Frame {
	report, count, others := sent, &m.plain, m.mixed
	if !reportHolds(sent) {
		report, count, others = unmixed(sent), &m.mixed, m.plain
	}
	if !reportHolds(report) {
		return sensors.Frame{Result: sensors.FrameChecksum}
	}
	if *count++; *count <= others {
		return sensors.Frame{Result: sensors.FrameChecksum}
	}
	v := float64(uint16(report[1])<<8 | uint16(report[2]))
	found := sensors.Measurement{}
	switch report[0] {
	case co2Value:
		found = sensors.Measurement{Address: CO2Address, Value: v, Unit: "ppm"}
	case temperatureValue:
		found = sensors.Measurement{Address: CO2TemperatureAddress, Value: math.Round((v/16-273.15)*1e4) / 1e4, Unit: "C"}
	default:
		return sensors.Frame{Result: sensors.FrameIgnored}
	}
	return sensors.Frame{Result: sensors.FrameGood, Measurements: []sensors.Measurement{found}}
}

// reportHolds says whether a report has its sum and its end.
func reportHolds(b [reportLength]byte) bool { return b[4] == '\r' && b[0]+b[1]+b[2] == b[3] }

// unmixed undoes what an older meter does to a report: the bytes change places, the whole is
// turned by three bits, and a fixed text is added, its half bytes swapped.
func unmixed(sent [reportLength]byte) (out [reportLength]byte) {
	const text = "Htemp99e"
	var placed [reportLength]byte
	for from, to := range [reportLength]int{2, 4, 0, 7, 1, 6, 5, 3} {
		placed[to] = sent[from]
	}
	for i := range out {
		out[i] = placed[i]>>3 | placed[(i+reportLength-1)%reportLength]<<5
		out[i] -= text[i]>>4 | text[i]<<4
	}
	return out
}
