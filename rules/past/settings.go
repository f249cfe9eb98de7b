package past

import (
	"encoding/json"
	"slices"
	"time"

	"wetside/rules"
	"wetside/rules/record"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// settingsKinds lists the kinds of record that [Timeline.apply] takes.
func settingsKinds() []string {
	return []string{Kind, rules.CommissionAir{}.Kind(), rules.RequireAir{}.Kind(), rules.LimitGas{}.Kind(), rules.StateUnexposed{}.Kind()}
}

// Version is the settings that were in force from a moment on.
type Version struct {
	Site
	At     time.Time
	Record uint64
	// Text is what the book holds.
	Text json.RawMessage
}

// Timeline is the settings over time: those of the configuration, with the traverses of
// ducts, the rows of what is asked of the air and the limits for gases that people entered. Each entry makes
// a version of its own and counts from its record on. The zero Timeline is empty.
type Timeline struct {
	Versions []Version // oldest first
	entries  []record.Record
}

// apply reads one record on; records come in the order of their numbers. One that no
// longer makes sense stays in the book and is passed over.
func (t *Timeline) apply(r record.Record) error {
	if r.Kind == Kind {
		v := Version{At: r.At, Record: r.Number, Text: r.Content}
		if json.Unmarshal(r.Content, &v.Site) != nil {
			return nil
		}
		changed := false
		for _, entry := range t.entries {
			changed = v.enter(entry) || changed
		}
		return t.keep(v, changed)
	}
	t.entries = append(t.entries, r)
	if len(t.Versions) == 0 {
		return nil // it counts once there are settings
	}
	v := t.Versions[len(t.Versions)-1]
	if v.At, v.Record = r.At, r.Number; !v.enter(r) {
		return nil
	}
	return t.keep(v, true)
}

func (t *Timeline) keep(v Version, changed bool) error {
	if changed {
		var err error
		if v.Text, err = json.Marshal(v.Site); err != nil {
			return phrase.Errorf("the settings with an entry can't be written down: %w", err)
		}
	}
	t.Versions = append(t.Versions, v)
	return nil
}

// enter puts what a person entered into its room and says whether that changed something.
func (s *Site) enter(r record.Record) bool {
	act, err := rules.DecodeAct(r.Kind, r.Content)
	at := slices.IndexFunc(s.Rooms, func(room Room) bool { return room.ID == r.Room })
	if err != nil || at < 0 {
		return false
	}
	s.Rooms = slices.Clone(s.Rooms)
	room := &s.Rooms[at]
	switch act := act.(type) {
	case rules.CommissionAir:
		return room.prove(act, r)
	case rules.RequireAir:
		room.Required = act.Amends(room.Required, r.Number, r.At)
		return true
	case rules.StateUnexposed:
		room.Unexposed = append(slices.Clip(room.Unexposed), act.Vouch(r.Person, r.Number, r.At))
		return true
	case rules.LimitGas:
		room.limit(act, r)
		return true
	}
	return false
}

// prove takes over a traverse, unless the room has a later one.
func (r *Room) prove(act rules.CommissionAir, entry record.Record) bool {
	area, err := act.Area()
	if err != nil || !(act.Flow > 0) {
		return false
	}
	at := act.Measured
	if at.IsZero() {
		at = entry.At
	}
	if r.Commissioned != nil && r.Commissioned.Date.After(at) {
		return false
	}
	r.Commissioned = &Commissioned{float64(act.Flow), at, act.Instrument, act.Certificate, entry.Number, float64(act.Uncertainty), act.Next}
	isFlow := func(c Channel) bool { return c.Kind == string(sensors.VolumeFlow) }
	if !slices.ContainsFunc(r.exhaust(), isFlow) {
		r.DuctArea, r.DuctFactor = float64(area), act.Factor
	}
	return true
}

// limit puts a limit among those of the gases that it is for.
func (r *Room) limit(act rules.LimitGas, entry record.Record) {
	r.Gases = slices.Clone(r.Gases)
	for i := range r.Gases {
		g := &r.Gases[i]
		rows := act.Amends(g.Agent, g.Rows(), entry.Number, entry.At)
		g.Limits = nil
		for _, l := range rows {
			g.Limits = append(g.Limits, limitOf(l))
		}
	}
}

// exhaust lists the channels of the room but for those of the hood and of the supply.
func (r Room) exhaust() []Channel {
	return slices.DeleteFunc(slices.Clone(r.Channels), func(c Channel) bool { return slices.Contains(r.Apart, c.ID) })
}

// At are the settings in force at a moment; where none were recorded yet, the first that
// are known. Nil when none ever were.
func (t *Timeline) At(at time.Time) *Version {
	var found *Version
	for i := range t.Versions {
		if found == nil || !t.Versions[i].At.After(at) {
			found = &t.Versions[i]
		}
	}
	return found
}

// Between are the versions in force between two moments, oldest first; where none were
// recorded yet, the first that are known.
func (t *Timeline) Between(from, to time.Time) []Version {
	var list []Version
	for i, v := range t.Versions {
		if v.At.Before(to) && (i+1 == len(t.Versions) || t.Versions[i+1].At.After(from)) {
			list = append(list, v)
		}
	}
	if len(list) == 0 && len(t.Versions) > 0 {
		list = t.Versions[:1]
	}
	return list
}

// Corrected are the same settings with the corrections that people put in force among those
// of every day: a correction counts from its date on, also where it became known later.
func (t Timeline) Corrected(of func(channel string) []sensors.Correction) Timeline {
	t.Versions = slices.Clone(t.Versions)
	for i := range t.Versions {
		t.Versions[i].Site = t.Versions[i].Site.Corrected(of)
	}
	return t
}
