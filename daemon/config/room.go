package config

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"time"

	"wetside/chem"
	"wetside/rules"
	"wetside/rules/dated"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// IsIdentifier says that a name can stand in addresses of pages and in metrics.
func IsIdentifier(name string) bool {
	return regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,39}$`).MatchString(name)
}

// identifier reads a name that stands in addresses of pages and in metrics.
func identifier(s section) string {
	id := s.text("id", true)
	if id != "" && !IsIdentifier(id) {
		s.complain("id", "%q is not usable as a name: expected small letters, digits and hyphens, at most 40", id)
	}
	return id
}

// called reads the name that people use; it is the identifier when left out.
func called(s section, id string) string {
	if name := s.text("name", false); name != "" {
		return name
	}
	return id
}

func readRoom(s section, zone *time.Location, ids seen) Room {
	var r Room
	r.ID = identifier(s)
	ids.once(s, "id", "room", r.ID)
	r.Name = called(s, r.ID)
	volume, _ := s.moreThanZero("volume", quantity.RoomVolume, true)
	floor, _ := s.moreThanZero("floor", quantity.Area, false)
	surface, _ := s.moreThanZero("surface", quantity.Area, false)
	r.Volume, r.Floor, r.Surface = quantity.CubicMetre(volume), quantity.SquareMetre(floor), quantity.SquareMetre(surface)
	r.Duct = readDuct(s)
	for _, row := range s.tables("required") {
		r.Required = append(r.Required, readRequirement(row, zone))
	}
	for _, line := range s.tables("line") {
		l := readLine(line, zone, ids)
		r.Lines = append(r.Lines, l)
	}
	channels := flatten(&r)
	for _, bath := range s.tables("bath") {
		r.Baths = append(r.Baths, readBath(bath, channels, ids))
	}
	r.Pouring = readPouring(s, r.Baths)
	r.Announce = s.number("announce", 10, 1, 100) / 100
	for _, stage := range s.tables("stage") {
		readStage(stage, &r.Stages)
	}
	r.Commissioned = below(s, "commissioned", func(s section) rules.Commissioned { return readCommissioned(s, zone) })
	r.Airing = below(s, "purge", readAiring)
	r.Hood = below(s, "hood", func(s section) rules.Hood { return readHood(s, r) })
	r.Gases = below(s, "breathing", func(s section) []rules.Gas { return readGases(s, r.Channels) })
	r.Supply = readSupply(s, r.Channels)
	r.Estimate = below(s, "estimate", func(s section) rules.Estimate { return readEstimate(s, r.Surface) })
	r.Calendar = readCalendar(s, zone)
	checkAir(s, r)
	return r
}

// flatten gives the rules their own list of lines and channels, in the order of the file.
func flatten(r *Room) map[sensors.ChannelID]sensors.Kind {
	kinds := map[sensors.ChannelID]sensors.Kind{}
	for _, l := range r.Lines {
		line := rules.Line{ID: l.ID, Name: l.Name}
		for _, c := range l.ordered() {
			line.Channels = append(line.Channels, c.ID)
			r.Channels = append(r.Channels, c)
			kinds[c.ID] = c.Kind
		}
		r.Room.Lines = append(r.Room.Lines, line)
	}
	return kinds
}

func readDuct(room section) rules.Duct {
	s, given := room.table("duct")
	if !given {
		return rules.Duct{Factor: 1}
	}
	area, haveArea := s.moreThanZero("area", quantity.Area, false)
	diameter, haveDiameter := s.moreThanZero("diameter", quantity.Length, false)
	switch {
	case haveArea && haveDiameter:
		s.complain("diameter", "give the area or the diameter of the duct: leave one of them out")
	case haveDiameter:
		area = math.Pi / 4 * diameter * diameter
	case !haveArea:
		s.complain("area", "is missing: write area = \"177 cm2\" or diameter = \"15 cm\"")
	}
	altitude, _ := s.measure("altitude", quantity.Length, false)
	if altitude < -500 || altitude > 9000 {
		s.complain("altitude", "expected -500 m to 9000 m")
	}
	return rules.Duct{Area: quantity.SquareMetre(area), Factor: s.number("factor", 1, 0.5, 1.2), Altitude: quantity.Metre(altitude)}
}

func readRequirement(s section, zone *time.Location) ventilation.Requirement {
	r := ventilation.Requirement{
		Kind:    choose(s, "kind", "", requirementKind),
		Value:   s.number("value", 0, 1e-6, 10000),
		Source:  s.text("source", true),
		Edition: s.text("edition", false),
		Term:    dated.Term{Effective: s.date("effective", zone)},
	}
	if _, given := s.values["value"]; !given {
		s.complain("value", "is missing: write the figure that the source requires")
	}
	return r
}

func requirementKind(text string) (ventilation.Kind, error) {
	if k := ventilation.Kind(text); slices.Contains(ventilation.Kinds(), k) {
		return k, nil
	}
	return "", fmt.Errorf("unknown kind %q: expected %q (in /h), %q or %q (in L/s for each m2), or %q (supply in %% of exhaust)",
		text, ventilation.AirChangeRate, ventilation.FloorFlow, ventilation.SurfaceFlow, ventilation.MakeUpShare)
}

// mostMakeUp is the largest make-up share that may be asked for, in percent.
const mostMakeUp = 200

// checkAir complains of air probes that could never say anything.
func checkAir(s section, r Room) {
	for _, q := range r.Required {
		switch {
		case q.Kind == ventilation.FloorFlow && r.Floor == 0:
			s.complain("floor", "is missing: a requirement depends on the floor area; write such as floor = \"12 m2\"")
		case q.Kind == ventilation.SurfaceFlow && r.Surface == 0:
			s.complain("surface", "is missing: a requirement goes by the solution surface; write the open surface of all trays together")
		case q.Kind == ventilation.MakeUpShare && q.Value > mostMakeUp:
			s.complain("required", "a make-up share of %g %% is not usable: expected at most %d", q.Value, mostMakeUp)
		}
	}
	for _, c := range r.Channels {
		needsDuct := (c.Kind == sensors.DuctVelocity || c.Kind == sensors.VelocityPressure) && !r.Hood.Holds(c.ID)
		if needsDuct && r.Duct.Area == 0 {
			s.complain("duct", "is missing: channel %s measures a velocity, so a [room.duct] with its area or diameter is needed", c.ID)
		}
	}
}

func readBath(s section, channels map[sensors.ChannelID]sensors.Kind, ids seen) rules.Bath {
	b := rules.Bath{ID: identifier(s)}
	ids.once(s, "id", "bath", b.ID)
	b.Name = called(s, b.ID)
	b.Role = choose(s, "role", "", oneOf("role", rules.Roles()))
	b.Channel = sensors.ChannelID(s.text("channel", false))
	kind, known := channels[b.Channel]
	switch {
	case b.Channel == "":
	case !known:
		s.complain("channel", "no line of this room has a channel %q", b.Channel)
	case b.Role == rules.Wash && kind == sensors.WaterTemperature: // of running water, in no tray
	case kind != sensors.BathTemperature:
		s.complain("channel", "channel %q measures %s: expected %s", b.Channel, kind, sensors.BathTemperature)
	}
	b.Accuracy = s.number("accuracy", 0.5, 0.01, 5)
	b.Band = readBand(s)
	b.HydroquinoneFloor = s.yes("hydroquinone")
	if times, given := s.table("times"); given {
		readDilutions(times, &b)
		b.Developing = readTimes(times)
		if b.Role != rules.Developer && b.Role != "" {
			s.complain("times", "only a developer has development times")
		}
	}
	return b
}

func readBand(s section) sensors.Range {
	ends := s.texts("band")
	if len(ends) == 0 {
		return sensors.Range{}
	}
	if len(ends) != 2 {
		s.complain("band", "expected two temperatures, such as [\"18 C\", \"24 C\"]")
		return sensors.Range{}
	}
	low, errLow := quantity.ParseCelsius(ends[0])
	high, errHigh := quantity.ParseCelsius(ends[1])
	for _, err := range []error{errLow, errHigh} {
		if err != nil {
			s.complain("band", "%s", err)
			return sensors.Range{}
		}
	}
	if low >= high {
		s.complain("band", "expected the lower temperature first")
	}
	return sensors.Range{Low: float64(low), High: float64(high)}
}

func readTimes(s section) chem.Table {
	source := s.text("source", true)
	var points []chem.Point
	for _, text := range s.texts("points") {
		p, err := chem.ParsePoint(text)
		if err != nil {
			s.complain("points", "%s", err)
			return chem.Table{}
		}
		points = append(points, p)
	}
	if source == "" {
		return chem.Table{}
	}
	t, err := chem.NewTable(source, points)
	if err != nil {
		s.complain("points", "%s", err)
	}
	return t
}
