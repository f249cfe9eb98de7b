// Package rules says what is true of a room: it takes what is known (readings,
// lines, what stands in the trays) and gives an immutable [Snapshot] to show and
// the [Event]s to record. It is pure: no clock, no I/O, no globals. A tick is an
// input like a reading, so that a silent probe is a finding and not an absence.
package rules

import (
	"slices"
	"time"

	"wetside/chem"
	"wetside/rules/breathing"
	"wetside/rules/session"
	"wetside/rules/truth"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Room is what is fixed about a room between two readings of its configuration.
type Room struct {
	ID   string
	Name string
	// Volume of air in the room; air changes are counted against it.
	Volume quantity.CubicMetre
	// Floor is the net floor area; zero when not given.
	Floor quantity.SquareMetre
	// Surface is the open solution of all trays together; zero when not given.
	Surface quantity.SquareMetre
	Duct    Duct
	// Supply is the channel of the make-up air that is blown in; empty without one.
	Supply sensors.ChannelID
	// Required lists the ventilation requirements switched on in this place.
	Required []ventilation.Requirement
	// Commissioned is what a traverse has proven; zero when none was made.
	Commissioned Commissioned
	// Hood holds the probes along a slot hood, which may draw well in the middle alone.
	Hood Hood
	// Airing is what is asked before trays are uncovered and after they are covered.
	Airing Airing
	// Estimate says whether and from what the acetic acid in the air is estimated.
	Estimate Estimate
	// Gases are the gas channels that are set against limits.
	Gases []Gas
	// Calendar says when sessions are planned.
	Calendar session.Calendar
	Channels []sensors.Channel
	Baths    []Bath
	Lines    []Line
	// Announce is the share by which a developing time must change to be told anew; zero takes 0.1.
	Announce float64
	// Stages are the times of the place's own behind the developer.
	Stages StageTimes
}

// Duct is the place of the air probe in the exhaust.
type Duct struct {
	Area quantity.SquareMetre
	// Factor turns the velocity at the probe into the mean over the duct (0 to 1.2);
	// it comes from a traverse.
	Factor float64
	// Altitude of the place, for the density of air.
	Altitude quantity.Metre
}

// Hood names the channels of the air velocity along a slot hood; each may be left out.
// They don't count as the velocity in the duct.
type Hood struct {
	Left, Middle, Right sensors.ChannelID
	// LeftTrays and RightTrays are the IDs of the baths at its ends; the rest stand before
	// its middle. While none is named, nobody knows which tray stands where.
	LeftTrays, RightTrays []string
}

// serves says whether a bath may stand at a place of the hood.
func (h Hood) serves(place ventilation.SignKind, bath string) bool {
	left, right := slices.Contains(h.LeftTrays, bath), slices.Contains(h.RightTrays, bath)
	switch {
	case len(h.LeftTrays)+len(h.RightTrays) == 0:
		return true
	case place == ventilation.HoodLeft:
		return left
	case place == ventilation.HoodRight:
		return right
	}
	return !left && !right
}

// Holds says whether a channel is one of the hood's.
func (h Hood) Holds(id sensors.ChannelID) bool {
	return id != "" && (id == h.Left || id == h.Middle || id == h.Right)
}

// apart says whether a channel stands elsewhere than in the exhaust duct.
func (r Room) apart(id sensors.ChannelID) bool {
	return r.Hood.Holds(id) || id != "" && id == r.Supply
}

// measures are what requirements refer to.
func (r Room) measures() ventilation.Room {
	return ventilation.Room{Volume: r.Volume, Floor: r.Floor, Surface: r.Surface}
}

// Line is a serial line of the room and the channels that depend on it.
type Line struct {
	ID       sensors.LineID
	Name     string
	Channels []sensors.ChannelID
}

// Role says what a bath is for.
type Role string

// The roles of a bath in tray order of a usual wet side.
const (
	Developer Role = "developer"
	StopBath  Role = "stop bath"
	Fixer     Role = "fixer"
	WashAid   Role = "wash aid"
	Wash      Role = "wash"
	Toner     Role = "toner"
)

func (r Role) Said() phrase.Sentence { return phrase.Plain(string(r)) }

// Roles lists every role in tray order.
func Roles() []Role { return []Role{Developer, StopBath, Fixer, WashAid, Wash, Toner} }

// Bath is a tray or tank of the room, in tray order.
type Bath struct {
	ID   string
	Name string
	Role Role
	// Channel measures its temperature; empty when no probe is fitted. Accuracy is the
	// plus-or-minus of that probe in kelvin.
	Channel  sensors.ChannelID
	Accuracy float64
	// Band is the temperature in °C that the place wants; zero when none is set.
	Band sensors.Range
	// Developing holds the published times of a developer, typed off its data sheet; the zero Table when none are.
	Developing chem.Table
	// Nominal is the dilution that those times are for, and Published are times at
	// several dilutions; both may be left out.
	Nominal   chem.Parts
	Published []chem.DilutionTime
	// Slowing is the share by which the time has grown when the bath is used up, a setting of the place.
	Slowing float64
	// HydroquinoneFloor is set where the developer relies on hydroquinone, which fails when cold.
	HydroquinoneFloor bool
}

func (r Room) bath(id string) (Bath, error) {
	at := slices.IndexFunc(r.Baths, func(b Bath) bool { return b.ID == id })
	if at < 0 {
		return Bath{}, phrase.Errorf("this room has no bath %q: choose one from the page", id)
	}
	return r.Baths[at], nil
}

// bathName is empty for a bath that has left the configuration.
func (r Room) bathName(id string) string {
	b, _ := r.bath(id)
	return b.Name
}

// Portion is what stands in a tray: some of a batch, poured by somebody.
type Portion struct {
	// Record is the number in the record book of the act that filled the tray.
	Record uint64    `json:"record"`
	Batch  string    `json:"batch"`
	What   string    `json:"what"`   // what it is, in a person's words
	By     string    `json:"by"`     // who filled the tray
	Filled time.Time `json:"filled"` // when, UTC
	// Parts of the parent and of water; both zero when not stated.
	Concentrate float64             `json:"parts_concentrate,omitempty"`
	Water       float64             `json:"parts_water,omitempty"`
	Volume      quantity.Millilitre `json:"volume_ml,omitempty"`
	// Covered is set while the tray has its lid on.
	Covered bool `json:"-"`
	// Known is what the book of the shelf knows of it; nil for an entry of an older book.
	Known *Known `json:"-"`
}

// Board is what is known of a room at one moment. The room's loop owns it.
type Board struct {
	// Readings holds the newest reading of each channel, of any grade.
	Readings map[sensors.ChannelID]sensors.Reading
	// LastGood holds when each channel last gave a good reading.
	LastGood map[sensors.ChannelID]sensors.Instant
	// Lines holds the newest status of each line.
	Lines map[sensors.LineID]sensors.LineStatus
	// Shelf is what the book of the shelf says of the trays.
	Shelf Trays
	// Portions holds, by bath, what older books say beside the shelf.
	Portions map[string]Portion
	// Proven is the traverse of the duct that is on record last.
	Proven Proven
	// required are the rows of what is asked of the air that people have set, oldest first.
	required []entered[RequireAir]
	// limited are the limits for what is breathed that people have set, oldest first.
	limited []entered[LimitGas]
	// unexposed are the statements about the time outside of classes, oldest first.
	unexposed []breathing.Vouched
	// Told holds the developing time announced last for each bath.
	Told map[string]Told
	// Probes is what is known of the devices, their corrections and what their readings give away.
	Probes truth.Book
	// FlatAfter is how long a value of a channel may stand still; none for a channel of which
	// that can't be told.
	FlatAfter map[sensors.ChannelID]time.Duration
	// Clock says how far the wall clock may be believed.
	Clock ClockView
	// History says whether what comes in is being kept.
	History HistoryView
	// Memory is what the rules said last, given back to them.
	Memory Memory
}

// NewBoard is a board on which nothing is known yet.
func NewBoard() Board {
	return Board{
		Readings: map[sensors.ChannelID]sensors.Reading{},
		LastGood: map[sensors.ChannelID]sensors.Instant{},
		Lines:    map[sensors.LineID]sensors.LineStatus{},
		Portions: map[string]Portion{},
	}
}
