package config

import (
	"cmp"
	"slices"
	"time"

	"wetside/sensors"
	"wetside/sensors/dialect"
	"wetside/sensors/quantity"
)

func readLine(s section, zone *time.Location, ids seen) Line {
	l := Line{Channels: map[string]sensors.Channel{}}
	id := identifier(s)
	ids.once(s, "id", "line", id)
	l.ID, l.Name = sensors.LineID(id), called(s, id)
	l.Dialect = choose(s, "dialect", "", oneOf("dialect", dialects()))
	l.Settings = readSettings(s, l)
	ids.once(s, "port", "port", l.Settings.Path)
	l.Silence = s.duration("silence", 15*time.Second, time.Second, time.Hour)
	if l.Dialect == MQTT {
		l.broker = readBroker(s, l.Settings.Path)
	}
	if l.Dialect.reads() {
		l.modbus.Every = s.duration("every", time.Second, 100*time.Millisecond, time.Hour)
		l.modbus.AnswerWithin = s.duration("answer-within", 500*time.Millisecond, 100*time.Millisecond, 5*time.Second)
		l.modbus.Baud = l.Settings.Baud
	}
	members := s.tables("channel")
	for _, c := range members {
		readChannel(c, &l, zone, ids)
	}
	if len(members) == 0 {
		s.complain("channel", "this line has no channel: write at least one [[room.line.channel]]")
	}
	if l.Dialect.reads() && len(s.doc.problems) == 0 {
		if _, err := l.Decoder(); err != nil {
			s.complain("channel", "%s", err)
		}
	}
	return l
}

func readChannel(s section, l *Line, zone *time.Location, ids seen) {
	id := identifier(s)
	ids.once(s, "id", "channel", id)
	c := sensors.Channel{ID: sensors.ChannelID(id), Name: called(s, id)}
	c.Kind = choose(s, "quantity", "", sensors.ParseKind)
	address := readAddress(s, l)
	traits, known := c.Kind.Traits()
	if !known {
		*s.known = append(*s.known, "unit", "plausible", "resolution", "silence", "jump", "flat", "correction")
		return
	}
	c.Unit = readUnit(s, "unit", traits.Dimension)
	if l.Dialect == MQTT { // a probe that speaks by radio speaks seldom: its line says how seldom
		traits.Silence = max(traits.Silence, l.Silence)
	}
	c.Traits = readTraits(s, traits, c.Unit)
	for _, k := range s.tables("correction") {
		c.Corrections = append(c.Corrections, readCorrection(k, c.Unit, zone))
	}
	slices.SortStableFunc(c.Corrections, func(a, b sensors.Correction) int { return a.From.Compare(b.From) })
	if _, taken := l.Channels[address]; taken {
		s.complain("address", "two channels of this line have the address %q", address)
	}
	l.Channels[address] = c
	l.order = append(l.order, address)
}

func readAddress(s section, l *Line) string {
	switch {
	case l.Dialect == MQTT:
		return readTopic(s, l)
	case !l.Dialect.reads():
		return s.text("address", true)
	}
	r := dialect.Register{
		Unit:   uint8(readUnitNumber(s, l)),
		Table:  choose(s, "table", "", dialect.ParseTable),
		Number: uint16(s.whole("register", 0, 0, 65535)),
		Type:   choose(s, "type", "", dialect.ParseRegisterType),
		Order:  choose(s, "words", dialect.HighFirst, dialect.ParseWordOrder),
		Scale:  s.number("scale", 1, -1e9, 1e9),
		Offset: s.number("offset", 0, -1e9, 1e9),
	}
	if r.Scale == 0 {
		s.complain("scale", "is 0, which makes every value 0: write the factor from the data sheet of the probe, such as 0.1")
	}
	if _, given := s.values["register"]; !given {
		s.complain("register", "is missing: write the register's number as on the wire, counted from 0")
	}
	l.modbus.Registers = append(l.modbus.Registers, r)
	return r.Address()
}

func readUnitNumber(s section, l *Line) int {
	n := s.whole("modbus-unit", 1, 1, dialect.WholeDevice)
	if n > 247 && (n != dialect.WholeDevice || l.Dialect != ModbusTCP) {
		s.complain("modbus-unit", "%d is out of range: expected 1 to 247, or with modbus-tcp %d for a device without a serial line behind it", n,
			dialect.WholeDevice)
	}
	return n
}

// readTraits narrows the usual limits of a kind by what the file says.
func readTraits(s section, t sensors.Traits, unit quantity.Unit) sensors.Traits {
	if ends := s.texts("plausible"); len(ends) == 2 {
		low, _, errLow := quantity.Parse(t.Dimension, ends[0])
		high, _, errHigh := quantity.Parse(t.Dimension, ends[1])
		if err := cmp.Or(errLow, errHigh); err != nil {
			s.complain("plausible", "%s", err)
		} else if low >= high {
			s.complain("plausible", "expected the lower value first")
		} else {
			t.Plausible = sensors.Range{Low: low, High: high}
		}
	} else if len(ends) != 0 {
		s.complain("plausible", "expected two values with their unit, such as [\"5 %s\", \"40 %s\"]", unit, unit)
	}
	t.Resolution = step(s, "resolution", t.Resolution, unit)
	t.Jump = step(s, "jump", t.Jump, unit)
	t.Silence = s.duration("silence", t.Silence, time.Second, time.Hour)
	t.Flat = s.duration("flat", t.Flat, 0, 24*time.Hour)
	return t
}

// step reads a difference in the channel's unit and gives it in the inside unit.
func step(s section, key string, usual float64, unit quantity.Unit) float64 {
	if _, given := s.values[key]; !given {
		*s.known = append(*s.known, key)
		return usual
	}
	return unit.ToBase(s.number(key, 0, 0, 1e6)) - unit.ToBase(0)
}

func readCorrection(s section, unit quantity.Unit, zone *time.Location) sensors.Correction {
	k := sensors.Correction{From: s.date("from", zone), Slope: s.number("slope", 1, 0.5, 2)}
	offset := s.number("offset", 0, -1e6, 1e6)
	k.Offset = unit.ToBase(offset) - unit.ToBase(0)
	if k.From.IsZero() {
		s.complain("from", "is missing: write the date from which the correction applies, such as 2026-09-01")
	}
	return k
}

// Addresses lists the addresses of the channels in the order of the file.
func (l Line) Addresses() []string { return slices.Clone(l.order) }

// ordered lists the line's channels in the order of the file.
func (l Line) ordered() []sensors.Channel {
	list := make([]sensors.Channel, 0, len(l.order))
	for _, address := range l.order {
		list = append(list, l.Channels[address])
	}
	return list
}
