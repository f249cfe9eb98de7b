package config

import (
	"slices"
	"strings"

	"wetside/rules/duty"
	"wetside/sensors"
)

func readDuties(root section, rooms []Room) []duty.Duty {
	var duties []duty.Duty
	ids := seen{}
	for _, s := range root.tables("duty") {
		d := duty.Duty{ID: identifier(s), Owner: s.text("owner", true), Room: s.text("room", false), Why: s.text("why", true)}
		d.Name = called(s, d.ID)
		ids.once(s, "id", "duty", d.ID)
		if text := s.text("every", true); text != "" {
			every, err := duty.ParseInterval(text)
			if err != nil {
				s.complain("every", "%s", err)
			}
			d.Every = every
		}
		if d.Room != "" && !slices.ContainsFunc(rooms, func(r Room) bool { return r.ID == d.Room }) {
			s.complain("room", "there is no room %q: leave room out for a duty of the whole place", d.Room)
		}
		duties = append(duties, d)
	}
	return duties
}

// readKeeping reads how long samples are kept at least. A quantity that no table
// names is kept for ever.
func readKeeping(root section, rooms []Room) []duty.Keeping {
	var list []duty.Keeping
	named := seen{}
	for _, s := range root.tables("keep") {
		k := duty.Keeping{Why: s.text("why", true)}
		for _, text := range s.texts("quantities") {
			kind, err := sensors.ParseKind(text)
			if err != nil {
				s.complain("quantities", "%s", err)
				continue
			}
			named.once(s, "quantities", "quantity", string(kind))
			k.Quantities = append(k.Quantities, string(kind))
		}
		if len(k.Quantities) == 0 {
			s.complain("quantities", "name at least one, such as quantities = [\"bath-temperature\"]")
		}
		if text := s.text("for", true); text != "" {
			every, err := duty.ParseInterval(text)
			if err != nil {
				s.complain("for", "%s", err)
			}
			k.For = every
		}
		if agents := judgedInUS(rooms, k.Quantities); len(agents) > 0 && k.For != (duty.Interval{}) && shorter(k.For, duty.ExposureUS()) {
			s.complain("for", "%s is too short for %s: limits of the United States are in use, and exposure records there are kept for at "+
				"least %s (29 CFR 1910.1020(d)(1)(ii))",
				k.For, strings.Join(agents, ", "), duty.ExposureUS())
		}
		list = append(list, k)
	}
	return list
}

// shorter compares intervals by the shortest that each can be.
func shorter(a, b duty.Interval) bool {
	days := func(i duty.Interval) int { return i.Days + i.Months*365/12 }
	return days(a) < days(b)
}

// judgedInUS names those of the quantities that some room sets against limits of the
// United States.
func judgedInUS(rooms []Room, quantities []string) []string {
	var agents []string
	for _, r := range rooms {
		for _, g := range r.Gases {
			kind := kindOf(r, g.Channel)
			for _, l := range g.Limits {
				american := slices.Contains([]string{"OSHA", "NIOSH", "California"}, l.Jurisdiction)
				if american && slices.Contains(quantities, kind) && !slices.Contains(agents, kind) {
					agents = append(agents, kind)
				}
			}
		}
	}
	return agents
}

func kindOf(r Room, id sensors.ChannelID) string {
	for _, c := range r.Channels {
		if c.ID == id {
			return string(c.Kind)
		}
	}
	return ""
}
