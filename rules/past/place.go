package past

import (
	"time"

	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/rules/duty"
	"wetside/sensors"
)

// Place is what a configuration says of a place.
type Place struct {
	Zone    *time.Location
	Rooms   []rules.Room
	Keeping []duty.Keeping
	Duties  []duty.Duty
}

// Site takes from a configuration what an evening is judged by.
func (p Place) Site() Site {
	s := Site{Zone: p.Zone.String(), Keeping: p.Keeping, Duties: p.Duties}
	for _, r := range p.Rooms {
		s.Rooms = append(s.Rooms, roomOf(r))
	}
	return s
}

func roomOf(r rules.Room) Room {
	out := Room{ID: r.ID, Name: r.Name, Required: r.Required, Volume: float64(r.Volume), Floor: float64(r.Floor), Surface: float64(r.Surface),
		DuctArea:   float64(r.Duct.Area),
		DuctFactor: r.Duct.Factor, Altitude: float64(r.Duct.Altitude), AiringRemove: float64(r.Airing.Remove), AiringMixing: r.Airing.Mixing}
	if k := r.Commissioned; k.Flow > 0 {
		out.Commissioned = &Commissioned{float64(k.Flow), k.Date, k.Instrument, k.Certificate, 0, float64(k.Uncertainty), k.Next}
	}
	for _, id := range []sensors.ChannelID{r.Hood.Left, r.Hood.Middle, r.Hood.Right, r.Supply} {
		if id != "" {
			out.Apart = append(out.Apart, string(id))
		}
	}
	for _, g := range r.Gases {
		out.Gases = append(out.Gases, gasOf(g))
	}
	for _, c := range r.Channels {
		out.Channels = append(out.Channels, channelOf(c))
	}
	for _, b := range r.Baths {
		out.Baths = append(out.Baths, Bath{b.ID, b.Name, string(b.Role), string(b.Channel), b.Band.Low, b.Band.High})
	}
	return out
}

func gasOf(g rules.Gas) Gas {
	out := Gas{ID: string(g.Channel), Agent: g.Agent.Name, MolarMass: float64(g.Agent.MolarMass),
		Resolution: g.Sensor.Resolution, Detection: g.Sensor.Detection, FullScale: g.Sensor.FullScale,
		Shift: g.Shift.Minutes()}
	for _, l := range g.Limits {
		out.Limits = append(out.Limits, limitOf(l))
	}
	return out
}

func limitOf(l breathing.Limit) Limit {
	return Limit{l.Jurisdiction, l.Edition, string(l.Kind), l.Window.Minutes(), l.Value, l.Unit.String(), l.Effective, string(l.Standing),
		l.Source, l.Until, l.Record, l.Off}
}

func channelOf(c sensors.Channel) Channel {
	return Channel{ID: string(c.ID), Name: c.Name, Kind: string(c.Kind), Unit: c.Unit.String(),
		Silence: c.Silence.Seconds(), Low: c.Plausible.Low, High: c.Plausible.High, Corrections: c.Corrections}
}
