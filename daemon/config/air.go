package config

import (
	"cmp"
	"slices"
	"time"

	"wetside/configs"
	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// readCommissioned reads what a traverse of the duct has proven; absent, the room
// is judged by what is required alone.
func readCommissioned(s section, zone *time.Location) rules.Commissioned {
	flow, _ := s.moreThanZero("flow", quantity.VolumeFlow, true)
	c := rules.Commissioned{Flow: quantity.CubicMetrePerHour(flow), Date: s.date("date", zone),
		Instrument: s.text("instrument", true), Certificate: s.text("certificate", true), Conditions: s.text("conditions", false),
		Uncertainty: quantity.Percent(s.number("uncertainty", 0, 0, 30)), Next: s.date("next", zone)}
	if design, ok := s.moreThanZero("design", quantity.VolumeFlow, false); ok {
		c.Design = quantity.CubicMetrePerHour(design)
	}
	if ends := s.date("certificate-until", zone); !ends.IsZero() && c.Date.After(ends.AddDate(0, 0, 1)) {
		s.complain("certificate-until", "ran out before the day of the traverse: have the instrument calibrated, and measure again")
	}
	if !c.Next.IsZero() && !c.Next.After(c.Date) {
		s.complain("next", "is not after the day of the traverse")
	}
	if c.Date.IsZero() {
		s.complain("date", "is missing: write date = 2026-09-01, the day of the traverse")
	}
	if p, ok := s.measure("room-pressure", quantity.Pressure, false); ok {
		c.RoomPressure = ventilation.Known(quantity.Pascal(p))
	}
	return c
}

func readHood(s section, r Room) rules.Hood {
	place := func(key string) sensors.ChannelID {
		id := sensors.ChannelID(s.text(key, key == "middle"))
		isVelocity := func(c sensors.Channel) bool { return c.ID == id && c.Kind == sensors.DuctVelocity }
		if id != "" && !slices.ContainsFunc(r.Channels, isVelocity) {
			s.complain(key, "this room has no channel %q with the quantity %s", id, sensors.DuctVelocity)
		}
		return id
	}
	h := rules.Hood{Left: place("left"), Middle: place("middle"), Right: place("right")}
	readHoodTrays(s, &h, r.Room.Baths)
	return h
}

func readHoodTrays(s section, h *rules.Hood, baths []rules.Bath) {
	h.LeftTrays, h.RightTrays = s.texts("left-trays"), s.texts("right-trays")
	for key, trays := range map[string][]string{"left-trays": h.LeftTrays, "right-trays": h.RightTrays} {
		for _, id := range trays {
			if !slices.ContainsFunc(baths, func(b rules.Bath) bool { return b.ID == id }) {
				s.complain(key, "this room has no bath %q: write the ids of the baths at that end of the hood", id)
			}
		}
	}
	for _, id := range h.LeftTrays {
		if slices.Contains(h.RightTrays, id) {
			s.complain("right-trays", "%q is listed at the left end already", id)
		}
	}
}

func readSupply(room section, channels []sensors.Channel) sensors.ChannelID {
	id := sensors.ChannelID(room.text("supply", false))
	isFlow := func(c sensors.Channel) bool { return c.ID == id && c.Kind == sensors.VolumeFlow }
	if id != "" && !slices.ContainsFunc(channels, isFlow) {
		room.complain("supply", "this room has no channel %q with the quantity %s", id, sensors.VolumeFlow)
	}
	return id
}

// readEstimate reads from what the acetic acid in the air is estimated; the model is
// off unless it is switched on.
func readEstimate(s section, surface quantity.SquareMetre) rules.Estimate {
	area, haveArea := s.moreThanZero("area", quantity.Area, false)
	e := rules.Estimate{On: s.yes("on"), Area: quantity.SquareMetre(area), Strength: quantity.GramPerLitre(s.number("acetic-acid", 10, 0.1,
		60))}
	if !haveArea && e.On {
		s.complain("area", "is missing: write the surface of the stop bath only, such as area = \"0.2 m2\"")
	}
	if surface > 0 && e.Area > surface {
		s.complain("area", "the stop bath can't be larger than the surface of all trays")
	}
	return e
}

func readAiring(s section) rules.Airing {
	return rules.Airing{Remove: quantity.Percent(s.number("remove", 99, 1, 99.99)), Mixing: s.number("mixing", 3, 1, 10)}
}

// readGases reads against which limits the gas channels of the room are set. What a
// sensor can tell is written for its channel; every other gas channel whose quantity
// names its agent joins by itself.
func readGases(s section, channels []sensors.Channel) []rules.Gas {
	limits, shift := readOwn(s, "file", configs.Limits, breathing.ParseLimits), s.duration("shift", 0, 8*time.Hour, 12*time.Hour)
	jurisdictions := s.texts("limits")
	if len(jurisdictions) == 0 {
		s.complain("limits", "is missing: write whose limits apply here, such as limits = [\"OSHA\", \"NIOSH\"]")
	}
	var list []rules.Gas
	described := map[sensors.ChannelID]bool{}
	for _, t := range s.tables("gas") {
		g := readGas(t, channels, limits)
		g.Limits, g.Shift = limits.Of(g.Agent.Name, jurisdictions...), shift
		if g.Agent.Name != "" && len(g.Limits) == 0 {
			t.complain("agent", "there is no limit for %s by %q: add a row to the limits file", g.Agent.Name, jurisdictions)
		}
		described[g.Channel] = true
		list = append(list, g)
	}
	for _, c := range channels {
		agent, known := limits.Find(c.Kind.Agent())
		if known && !described[c.ID] {
			list = append(list, rules.Gas{Channel: c.ID, Agent: agent, Sensor: sensorOf(&c, 0, 0),
				Limits: limits.Of(agent.Name, jurisdictions...), Shift: shift})
		}
	}
	return list
}

// sensorOf is what a gas channel can tell: where no detection limit is known, what is less than a step is below a step, and not zero.
func sensorOf(c *sensors.Channel, detection, fullScale float64) breathing.Sensor {
	return breathing.Sensor{Resolution: c.Resolution, Detection: cmp.Or(detection, c.Resolution), FullScale: fullScale}
}

func readGas(s section, channels []sensors.Channel, limits breathing.Limits) rules.Gas {
	g := rules.Gas{Channel: sensors.ChannelID(s.text("channel", true))}
	channel := &sensors.Channel{}
	for i := range channels {
		if channels[i].ID == g.Channel {
			channel = &channels[i]
		}
	}
	if channel.Dimension != quantity.VolumeFraction {
		s.complain("channel", "this room has no gas channel %q", g.Channel)
	}
	name := cmp.Or(s.text("agent", channel.Kind.Agent() == ""), channel.Kind.Agent())
	var known bool
	if g.Agent, known = limits.Find(name); !known && name != "" {
		s.complain("agent", "the limits file has no gas %q", name)
	}
	ppm := func(key string) float64 {
		v, _ := s.moreThanZero(key, quantity.VolumeFraction, false)
		return v
	}
	g.Sensor = sensorOf(channel, ppm("detection"), ppm("full-scale"))
	channel.Top = g.Sensor.FullScale
	return g
}
