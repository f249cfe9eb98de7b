package config

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"wetside/sensors"
	"wetside/sensors/dialect"
	"wetside/sensors/hidport"
	"wetside/sensors/onewire"
	"wetside/sensors/quantity/phrase"
	"wetside/sensors/serialport"
	"wetside/sensors/tcpport"
)

// Dialect names what is spoken on a line.
type Dialect string

// The dialects, named as a configuration writes them.
const (
	Text      Dialect = "text"
	XDR       Dialect = "xdr"
	Modbus    Dialect = "modbus"
	ModbusTCP Dialect = "modbus-tcp"
	OneWire   Dialect = "one-wire"
	MQTT      Dialect = "mqtt"
	CO2Meter  Dialect = "co2-meter"
)

func dialects() []Dialect { return []Dialect{Text, XDR, Modbus, ModbusTCP, OneWire, MQTT, CO2Meter} }

// reads says whether the dialect reads registers.
func (d Dialect) reads() bool { return d == Modbus || d == ModbusTCP }

// Decoder makes a new decoder for the line.
func (l Line) Decoder() (sensors.Decoder, error) {
	switch l.Dialect {
	case Text:
		return dialect.NewText(), nil
	case XDR:
		return dialect.NewXDR(), nil
	case Modbus:
		return dialect.NewModbus(l.modbus)
	case ModbusTCP:
		return dialect.NewModbusTCP(l.modbus)
	case OneWire:
		return dialect.NewOneWire(), nil
	case MQTT:
		return dialect.NewMQTT(l.messages), nil
	case CO2Meter:
		return dialect.NewCO2Meter(), nil
	}
	return nil, fmt.Errorf("line %s speaks %q: expected one of %s", l.ID, l.Dialect, phrase.Listed(dialects()))
}

// Opener gives what opens the line: the given one where it is a serial port.
func (l Line) Opener(serial sensors.Opener) sensors.Opener {
	switch {
	case l.Dialect == OneWire:
		return onewire.Opener{}
	case l.Dialect == MQTT:
		return l.broker
	case l.Dialect == CO2Meter:
		return hidport.Opener{}
	case l.onNetwork():
		return tcpport.Opener{}
	}
	return serial
}

// Serial says whether the line is a serial port of this computer.
func (l Line) Serial() bool {
	return !slices.Contains([]Dialect{OneWire, MQTT, CO2Meter}, l.Dialect) && !l.onNetwork()
}

func (l Line) onNetwork() bool { return strings.HasPrefix(l.Settings.Path, tcpport.Scheme) }

// Way says how the line is reached, for people.
func (l Line) Way() string {
	s := l.Settings
	if !l.Serial() {
		return s.Path
	}
	return fmt.Sprintf("%s, %d baud %d%c%d", s.Path, s.Baud, s.DataBits, s.Parity, s.StopBits)
}

// readSettings reads how the line is reached. Only a serial port has a speed and a format; a
// Modbus line behind a device on the network has a speed.
func readSettings(s section, l Line) sensors.LineSettings {
	set := sensors.LineSettings{Path: s.text("port", true)}
	l.Settings = set
	switch {
	case l.Dialect == OneWire:
		if l.onNetwork() {
			s.complain("port", "a 1-Wire bus is a folder of this computer: write port = %q", onewire.Folder)
		}
	case l.Dialect == CO2Meter:
		if !strings.HasPrefix(set.Path, "/") {
			s.complain("port", "a CO2 meter is a device of this computer: write its path, such as \"/dev/hidraw0\"")
		}
	case l.Dialect == MQTT: // readBroker says what is wrong
	case l.onNetwork():
		if err := tcpport.Check(set.Path); err != nil {
			s.complain("port", "%s", err)
		}
		if l.Dialect == Modbus {
			set.Baud = s.whole("baud", 9600, 50, 4000000)
		}
	case l.Dialect == ModbusTCP:
		s.complain("port", "%q is a serial port: Modbus TCP needs an address on the network, such as %q", set.Path,
			tcpport.Scheme+"192.168.1.20:502")
	default:
		return readSerial(s, set)
	}
	return set
}

func readSerial(s section, set sensors.LineSettings) sensors.LineSettings {
	set.Baud = s.whole("baud", 9600, 50, 4000000)
	format := cmp.Or(s.text("format", false), "8N1")
	set, err := set.Framed(format)
	if err != nil {
		s.complain("format", "%s", err)
		return set
	}
	if err := serialport.Check(set); err != nil && set.Path != "" {
		s.complain("baud", "%s", err)
	}
	return set
}
