package settings

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"wetside/daemon/history"
	"wetside/rules"
	"wetside/rules/dated"
	"wetside/rules/ventilation"
	"wetside/sensors"
)

// Kinds lists the kinds of record that [Ages.Take] takes.
func Kinds() []string {
	return []string{Kind, rules.CommissionAir{}.Kind(), rules.RequireAir{}.Kind(), rules.LimitGas{}.Kind()}
}

// Ages are the settings over time: those of the configuration, with the traverses of
// ducts, the rows of what is asked of the air and the limits for gases that people entered. Each entry makes
// a version of its own and counts from its record on. The zero Ages are empty.
type Ages struct {
	Versions []Version // oldest first
	entries  []history.Record
}

// Take reads one record on; records come in the order of their numbers. One that no
// longer makes sense stays in the book and is passed over.
func (a *Ages) Take(r history.Record) error {
	if r.Kind == Kind {
		v := Version{At: r.At, Record: r.Number, Text: r.Content}
		if json.Unmarshal(r.Content, &v.Site) != nil {
			return nil
		}
		changed := false
		for _, entry := range a.entries {
			changed = v.enter(entry) || changed
		}
		return a.keep(v, changed)
	}
	a.entries = append(a.entries, r)
	if len(a.Versions) == 0 {
		return nil // it counts once there are settings
	}
	v := a.Versions[len(a.Versions)-1]
	if v.At, v.Record = r.At, r.Number; !v.enter(r) {
		return nil
	}
	return a.keep(v, true)
}

func (a *Ages) keep(v Version, changed bool) error {
	if changed {
		var err error
		if v.Text, err = json.Marshal(v.Site); err != nil {
			return fmt.Errorf("the settings with an entry can't be written down: %w", err)
		}
	}
	a.Versions = append(a.Versions, v)
	return nil
}

// InForce gives the settings as [Versions] does, with what people entered in the book.
func InForce(ctx context.Context, book *history.Reader) ([]Version, error) {
	records, err := book.Records(ctx, history.Query{Kinds: Kinds()})
	if err != nil {
		return nil, fmt.Errorf("the settings recorded before can't be read: %w", err)
	}
	var a Ages
	for _, r := range records {
		if err := a.Take(r); err != nil {
			return nil, err
		}
	}
	return a.Versions, nil
}

// enter puts what a person entered into its room and says whether that changed something.
func (s *Site) enter(r history.Record) bool {
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
		room.require(act, r)
		return true
	case rules.LimitGas:
		room.limit(act, r)
		return true
	}
	return false
}

// prove takes over a traverse, unless the room has a later one.
func (r *Room) prove(act rules.CommissionAir, entry history.Record) bool {
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
	r.Commissioned = &Commissioned{float64(act.Flow), at, act.Instrument, act.Certificate, entry.Number}
	isFlow := func(c Channel) bool { return c.Kind == string(sensors.VolumeFlow) }
	if !slices.ContainsFunc(r.Exhaust(), isFlow) {
		r.DuctArea, r.DuctFactor = float64(area), act.Factor
	}
	return true
}

// require puts a row among what is asked of the air.
func (r *Room) require(act rules.RequireAir, entry history.Record) {
	rows := act.Amends(r.Rows(), entry.Number, entry.At)
	r.Required = nil
	for _, q := range rows {
		r.Required = append(r.Required, Requirement{string(q.Kind), q.Value, q.Source, q.Edition, q.Effective, q.Until, q.Record, !q.On})
	}
}

// Rows are what is asked of the air, as the rules take it.
func (r Room) Rows() []ventilation.Requirement {
	var rows []ventilation.Requirement
	for _, q := range r.Required {
		rows = append(rows, ventilation.Requirement{Kind: ventilation.Kind(q.Kind), Value: q.Value, Source: q.Source, Edition: q.Edition,
			Term: dated.Term{Effective: q.Effective, Until: q.Until, Record: q.Record}, On: !q.Off})
	}
	return rows
}

// limit puts a limit among those of the gases that it is for.
func (r *Room) limit(act rules.LimitGas, entry history.Record) {
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

// Exhaust lists the channels of the room but for those of the hood and of the supply.
func (r Room) Exhaust() []Channel {
	return slices.DeleteFunc(slices.Clone(r.Channels), func(c Channel) bool { return slices.Contains(r.Apart, c.ID) })
}
