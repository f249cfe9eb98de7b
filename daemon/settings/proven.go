package settings

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"wetside/daemon/history"
	"wetside/rules"
	"wetside/sensors"
)

// InForce gives the settings as [Versions] does, with the traverses of ducts that were
// entered in the book: each is a version of its own, and holds until a later one.
func InForce(ctx context.Context, book *history.Reader) ([]Version, error) {
	list, err := Versions(ctx, book)
	if err != nil {
		return nil, err
	}
	records, err := book.Records(ctx, history.Query{Kinds: []string{rules.CommissionAir{}.Kind()}})
	if err != nil {
		return nil, fmt.Errorf("the traverses recorded before can't be read: %w", err)
	}
	for _, r := range records {
		if list, err = withTraverse(list, r); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// withTraverse lets a traverse count from its record on. One that no longer makes sense
// stays in the book and is passed over.
func withTraverse(list []Version, r history.Record) ([]Version, error) {
	var a rules.CommissionAir
	if json.Unmarshal(r.Content, &a) != nil {
		return list, nil
	}
	area, err := a.Area()
	if err != nil || !(a.Flow > 0) {
		return list, nil
	}
	at := a.Measured
	if at.IsZero() {
		at = r.At
	}
	proven := Commissioned{float64(a.Flow), at, a.Instrument, a.Certificate, r.Number}
	after := slices.IndexFunc(list, func(v Version) bool { return v.Record > r.Number })
	if after < 0 {
		after = len(list)
	}
	if after == 0 {
		return list, nil // nothing was set before it
	}
	same := list[after-1]
	same.At, same.Record = r.At, r.Number
	list = slices.Insert(list, after, same)
	for i := after; i < len(list); i++ {
		list[i].Rooms = slices.Clone(list[i].Rooms)
		for j := range list[i].Rooms {
			if room := &list[i].Rooms[j]; room.ID == r.Room {
				room.prove(proven, float64(area), a.Factor)
			}
		}
		if list[i].Text, err = json.Marshal(list[i].Site); err != nil {
			return nil, fmt.Errorf("the settings with a traverse can't be written down: %w", err)
		}
	}
	return list, nil
}

// prove takes over a traverse, unless the room has a later one.
func (r *Room) prove(c Commissioned, area, factor float64) {
	if r.Commissioned != nil && r.Commissioned.Date.After(c.Date) {
		return
	}
	r.Commissioned = &c
	isFlow := func(c Channel) bool { return c.Kind == string(sensors.VolumeFlow) }
	if !slices.ContainsFunc(r.Exhaust(), isFlow) {
		r.DuctArea, r.DuctFactor = area, factor
	}
}

// Exhaust lists the channels of the room but for those of the hood and of the supply.
func (r Room) Exhaust() []Channel {
	return slices.DeleteFunc(slices.Clone(r.Channels), func(c Channel) bool { return slices.Contains(r.Apart, c.ID) })
}
