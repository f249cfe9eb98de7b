package config

import (
	"slices"

	"wetside/rules/duty"
)

// readDuties reads the dated tasks of the place; each says what asks for it.
func readDuties(root section, rooms []Room) []duty.Duty {
	var duties []duty.Duty
	ids := seen{}
	for _, s := range root.tables("duty") {
		d := duty.Duty{ID: identifier(s, "id"), Owner: s.text("owner", true), Room: s.text("room", false), Why: s.text("why", true)}
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
		s.close()
	}
	return duties
}
