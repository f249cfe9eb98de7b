package past

import (
	"slices"
	"time"

	"wetside/rules/breathing"
	"wetside/rules/dated"
	"wetside/rules/duty"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// Kind is the kind of record that holds the settings in force. It is written at a start
// and when the configuration is read again, if anything in it has changed.
const Kind = "settings"

// Site is what the evenings of a site are judged by. Values are in inside units.
type Site struct {
	Zone string `json:"zone"`
	// Simulated is set for a room that is only pretended.
	Simulated bool           `json:"simulated,omitempty"`
	Rooms     []Room         `json:"rooms"`
	Duties    []duty.Duty    `json:"duties,omitempty"`
	Keeping   []duty.Keeping `json:"keeping,omitempty"`
}

// Room is a room; a figure of zero was not given.
type Room struct {
	ID      string  `json:"id"`
	Name    string  `json:"name"`
	Volume  float64 `json:"volume_m3"`
	Floor   float64 `json:"floor_m2,omitempty"`
	Surface float64 `json:"surface_m2,omitempty"`
	// Apart are the channels along the hood and of the supply, which are none of the exhaust.
	Apart        []string                  `json:"apart,omitempty"`
	DuctArea     float64                   `json:"duct_area_m2,omitempty"`
	DuctFactor   float64                   `json:"duct_factor,omitempty"`
	Altitude     float64                   `json:"altitude_m,omitempty"`
	Required     []ventilation.Requirement `json:"required,omitempty"`
	Commissioned *Commissioned             `json:"commissioned,omitempty"`
	AiringRemove float64                   `json:"airing_remove_percent,omitempty"`
	AiringMixing float64                   `json:"airing_mixing,omitempty"`
	Gases        []Gas                     `json:"gases,omitempty"`
	// Unexposed are the statements about the time outside of classes.
	Unexposed []breathing.Vouched `json:"unexposed,omitempty"`
	Channels  []Channel           `json:"channels"`
	Baths     []Bath              `json:"baths,omitempty"`
}

// Commissioned is what a traverse has proven.
type Commissioned struct {
	Flow        float64   `json:"flow_m3_per_h"`
	Date        time.Time `json:"date"`
	Instrument  string    `json:"instrument"`
	Certificate string    `json:"certificate"`
	// Record is the number of the traverse in the book; zero for one of the configuration.
	Record uint64 `json:"record,omitempty"`
	// Uncertainty of the flow in %, expanded (k = 2); zero when it is not stated.
	Uncertainty float64 `json:"uncertainty_percent,omitempty"`
	// Next is the day by which the duct is to be traversed again; zero where none is set.
	Next time.Time `json:"next,omitzero"`
}

// Gas is a gas channel with what its sensor can tell, in ppm, and the limits that it
// is set against.
type Gas struct {
	ID         string  `json:"id"` // of the channel
	Agent      string  `json:"agent"`
	MolarMass  float64 `json:"molar_mass,omitempty"`
	Resolution float64 `json:"resolution_ppm,omitempty"`
	Detection  float64 `json:"detection_ppm,omitempty"`
	FullScale  float64 `json:"full_scale_ppm,omitempty"`
	Limits     []Limit `json:"limits,omitempty"`
	// Shift lowers the long-term limits; zero lowers none.
	Shift float64 `json:"shift_minutes,omitempty"`
}

// Limit is a limit for a gas, in the unit in which it is published.
type Limit struct {
	Jurisdiction string    `json:"jurisdiction"`
	Edition      string    `json:"edition,omitempty"`
	Kind         string    `json:"kind"`
	Minutes      float64   `json:"minutes"`
	Value        float64   `json:"value,omitempty"`
	Unit         string    `json:"unit,omitempty"`
	Effective    time.Time `json:"effective,omitzero"`
	Standing     string    `json:"standing,omitempty"`
	Source       string    `json:"source"`
	// Until, Record and Off are those of [ventilation.Requirement].
	Until  time.Time `json:"until,omitzero"`
	Record uint64    `json:"record,omitempty"`
	Off    bool      `json:"off,omitempty"`
}

// Channel is a channel with what is believable in it.
type Channel struct {
	ID          string               `json:"id"`
	Name        string               `json:"name"`
	Kind        string               `json:"kind"`
	Unit        string               `json:"unit"`
	Silence     float64              `json:"silence_s"`
	Low         float64              `json:"plausible_low"`
	High        float64              `json:"plausible_high"`
	Corrections []sensors.Correction `json:"corrections,omitempty"`
}

// Bath is a bath and the band of temperature that the place wants.
type Bath struct {
	ID      string  `json:"id"`
	Name    string  `json:"name"`
	Role    string  `json:"role"`
	Channel string  `json:"channel,omitempty"`
	Low     float64 `json:"band_low_c,omitempty"`
	High    float64 `json:"band_high_c,omitempty"`
}

// Rows are the limits that the gas is set against, as the rules take them; one whose unit
// is not known is left out.
func (g Gas) Rows() []breathing.Limit {
	var rows []breathing.Limit
	for _, l := range g.Limits {
		unit, err := quantity.ParseUnit(l.Unit)
		if err != nil && !l.Off {
			continue
		}
		rows = append(rows, breathing.Limit{Agent: g.Agent, Jurisdiction: l.Jurisdiction, Edition: l.Edition,
			Kind: breathing.LimitKind(l.Kind), Window: minutes(l.Minutes),
			Value: l.Value, Unit: unit, Standing: breathing.Standing(l.Standing), Source: l.Source, Term: dated.Term{Effective: l.Effective,
				Until: l.Until, Record: l.Record}, Off: l.Off})
	}
	return rows
}

// InForce are the limits in force at a date, lowered for the shift of the place.
func (g Gas) InForce(at time.Time) []breathing.Limit {
	return breathing.InForce(g.Rows(), at, minutes(g.Shift))
}

func minutes(n float64) time.Duration { return time.Duration(n * float64(time.Minute)) }

// Channel finds a channel of any room; the zero Channel when there is none.
func (s Site) Channel(id string) Channel {
	for _, r := range s.Rooms {
		if c := r.Channel(id); c.ID != "" {
			return c
		}
	}
	return Channel{}
}

// Channel finds a channel of the room; the zero Channel when there is none.
func (r Room) Channel(id string) Channel {
	for _, c := range r.Channels {
		if c.ID == id {
			return c
		}
	}
	return Channel{}
}

// Room finds a room; false when there is none.
func (s Site) Room(id string) (Room, bool) {
	for _, r := range s.Rooms {
		if r.ID == id {
			return r, true
		}
	}
	return Room{}, false
}

// Sensor is the channel as the rules take it.
func (c Channel) Sensor() sensors.Channel {
	out := sensors.Channel{ID: sensors.ChannelID(c.ID), Name: c.Name, Kind: sensors.Kind(c.Kind)}
	out.Traits, _ = out.Kind.Traits()
	out.Unit, _ = quantity.ParseUnit(c.Unit)
	out.Plausible, out.Silence = sensors.Range{Low: c.Low, High: c.High}, time.Duration(c.Silence*float64(time.Second))
	out.Corrections = slices.Clone(c.Corrections)
	return out
}

// Corrected is the site with the corrections that people put in force, by channel,
// among its own. Of two from the same moment theirs holds. The site is not changed.
func (s Site) Corrected(of func(channel string) []sensors.Correction) Site {
	s.Rooms = slices.Clone(s.Rooms)
	for i := range s.Rooms {
		s.Rooms[i] = s.Rooms[i].Corrected(of)
	}
	return s
}

// Corrected is the room with the corrections that people put in force; see [Site.Corrected].
func (r Room) Corrected(of func(channel string) []sensors.Correction) Room {
	r.Channels = slices.Clone(r.Channels)
	for i := range r.Channels {
		c := &r.Channels[i]
		c.Corrections = slices.Concat(c.Corrections, of(c.ID))
		slices.SortStableFunc(c.Corrections, func(a, b sensors.Correction) int { return a.From.Compare(b.From) })
	}
	return r
}
