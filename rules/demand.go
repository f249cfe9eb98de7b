package rules

import (
	"time"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
)

// RequiredRow is one row of what is asked of the air, with what it comes to in this room.
type RequiredRow struct {
	ventilation.Requirement
	// Flow is what the row asks for; zero for a make-up share and while the row is not in force.
	Flow    quantity.CubicMetrePerHour
	InForce bool
	// Binds is set for the row that asks for the most.
	Binds bool
}

// rows lists what is asked of the room at a moment. A row that can't be used is left
// out here because the configuration refuses it.
func (r Room) rows(at time.Time) []RequiredRow {
	var list []RequiredRow
	binds, most := -1, quantity.CubicMetrePerHour(0)
	for _, q := range r.Required {
		if !q.On || q.Over(at) {
			continue // taken off, or another has taken its place
		}
		row := RequiredRow{Requirement: q, InForce: q.Holds(at)}
		alone, err := ventilation.Strictest([]ventilation.Requirement{q}, r.measures())
		if row.InForce && err == nil {
			row.Flow = alone.Exhaust
		}
		if row.Flow > most {
			binds, most = len(list), row.Flow
		}
		list = append(list, row)
	}
	if binds >= 0 {
		list[binds].Binds = true
	}
	return list
}

// MakeUpView sets the air that is blown in against the air that is drawn out.
type MakeUpView struct {
	Supply quantity.CubicMetrePerHour
	Share  quantity.Percent // of the exhaust
	// Asked is the least share that a row in force asks for, and Source whose; zero without one.
	Asked  quantity.Percent
	Source string
}

// makeUp sets the supply against the exhaust; nil unless both are measured.
func (a AirView) makeUp(probe ChannelView) *MakeUpView {
	supply, ok := probe.Good()
	if !ok || probe.Channel.ID == "" || a.Flow == nil {
		return nil
	}
	m := &MakeUpView{Supply: quantity.CubicMetrePerHour(supply)}
	var err error
	if m.Share, err = ventilation.MakeUp(m.Supply, *a.Flow); err != nil {
		return nil // nothing is drawn out, so that there is no share
	}
	for _, row := range a.Rows {
		if row.Kind == ventilation.MakeUpShare && row.InForce && quantity.Percent(row.Value) > m.Asked {
			m.Asked, m.Source = quantity.Percent(row.Value), row.Source
		}
	}
	return m
}
