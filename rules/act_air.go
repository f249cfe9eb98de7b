package rules

import (
	"cmp"
	"math"
	"strings"
	"time"

	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// DuctShape is the form of a duct's cross-section.
type DuctShape string

// The shapes of a duct for which traverse points are known.
const (
	RoundDuct       DuctShape = "round"
	RectangularDuct DuctShape = "rectangular"
)

// Section is the inside of a duct where it is traversed.
type Section struct {
	Shape    DuctShape      `json:"shape"`
	Diameter quantity.Metre `json:"diameter_m,omitempty"`
	Width    quantity.Metre `json:"width_m,omitempty"`
	Height   quantity.Metre `json:"height_m,omitempty"`
}

// Points gives the places to measure at, in their order: log-linear in a round duct,
// log-Tchebycheff in a rectangular one.
func (s Section) Points() ([]ventilation.Point, error) {
	switch s.Shape {
	case RoundDuct:
		return ventilation.RoundTraverse(s.Diameter)
	case RectangularDuct:
		return ventilation.RectangularTraverse(s.Width, s.Height)
	}
	return nil, phrase.Errorf("unknown shape of a duct %q: expected %s or %s", s.Shape, RoundDuct, RectangularDuct)
}

// Area of the cross-section; an error for sides that are none.
func (s Section) Area() (quantity.SquareMetre, error) {
	if s.Shape == RoundDuct {
		return ventilation.RoundDuct(s.Diameter)
	}
	if _, err := s.Points(); err != nil {
		return 0, err
	}
	return quantity.SquareMetre(s.Width * s.Height), nil
}

// CommissionAir is a traverse of the exhaust duct: what the fan moves, measured point
// by point. The limits of the flow follow from it. Flow, factor and evenness are what
// [CommissionAir.Work] makes of the rest.
type CommissionAir struct {
	Section
	Velocities  []quantity.MetrePerSecond `json:"velocities_m_per_s"` // one a point
	AtProbe     quantity.MetrePerSecond   `json:"at_probe_m_per_s"`   // the fixed probe meanwhile
	Instrument  string                    `json:"instrument"`
	Certificate string                    `json:"certificate"`
	Conditions  string                    `json:"conditions,omitempty"`
	// CertificateEnds is the last day on which the certificate counts, InstrumentPercent the
	// uncertainty that it states (k = 2). Traverses from before these were asked for lack them.
	CertificateEnds   time.Time        `json:"certificate_ends,omitzero"`
	InstrumentPercent quantity.Percent `json:"instrument_percent,omitempty"`
	// ZerosConfirmed says that points without velocity were measured twice.
	ZerosConfirmed bool `json:"zeros_confirmed,omitempty"`
	// Design is the flow that the exhaust was designed for; zero when nobody knows.
	Design quantity.CubicMetrePerHour `json:"design_m3_per_h,omitempty"`
	// DropReason says why less air moves than by design or at the first traverse.
	DropReason string `json:"drop_reason,omitempty"`
	// Next is the day by which the duct is to be traversed again.
	Next time.Time `json:"next,omitzero"`
	// Pressure is room minus neighbour meanwhile; nil when it was not measured.
	Pressure *quantity.Pascal `json:"room_pressure_pa,omitempty"`
	// Measured is the day of the traverse; zero means when it was entered.
	Measured time.Time `json:"measured,omitzero"`

	Flow     quantity.CubicMetrePerHour `json:"flow_m3_per_h"`
	Mean     quantity.MetrePerSecond    `json:"mean_m_per_s"`
	Factor   float64                    `json:"factor"`
	Evenness quantity.Percent           `json:"evenness_percent"`
	// Uncertainty of the flow, expanded (k = 2).
	Uncertainty quantity.Percent `json:"uncertainty_percent,omitempty"`
}

func (CommissionAir) Kind() string { return "commissioned" }

// Work gives the act with what follows from its velocities, or says what is missing.
func (a CommissionAir) Work(person string, at time.Time) (CommissionAir, error) {
	at = a.day(at)
	points, err := a.Points()
	if err != nil {
		return a, err
	}
	area, err := a.Area()
	if err != nil {
		return a, err
	}
	got, err := ventilation.Commissioning{At: at, By: person, Instrument: a.Instrument, Certificate: a.Certificate, Area: area,
		CertificateEnds: a.CertificateEnds, InstrumentUncertainty: a.InstrumentPercent, Conditions: a.Conditions,
		Points: points, Velocities: a.Velocities, ZerosConfirmed: a.ZerosConfirmed, AtProbe: a.AtProbe}.Evaluate()
	if err != nil {
		return a, err
	}
	a.Flow, a.Mean, a.Factor, a.Evenness, a.Uncertainty = got.Flow, got.Mean, got.Factor, got.Evenness, got.Uncertainty
	return a, nil
}

// mostOff is by how much a traverse may differ from the configured duct, and a flow
// probe from a traverse, before one of the two must be put right (choices of this program).
const (
	mostOff      = 0.05
	mostProbeOff = 0.25
)

func (a CommissionAir) check(room Room, board Board, c Command) error {
	for _, word := range []struct {
		what   phrase.Sentence
		text   string
		needed bool
	}{{phrase.Say("instrument"), a.Instrument, true}, {phrase.Say("number of its calibration certificate"), a.Certificate, true},
		{phrase.Say("conditions"), a.Conditions, true},
		{phrase.Say("reason for the drop"), a.DropReason, false}} {
		if err := checkWord(word.what, word.text, word.needed); err != nil {
			return err
		}
	}
	if a.Measured.After(c.At.Wall) {
		return phrase.Errorf("the day of the traverse is in the future: check the date")
	}
	if p := a.Pressure; p != nil && !(math.Abs(float64(*p)) <= 1000) {
		return phrase.Errorf("a room pressure of %s is not plausible: expected %s to %s", p.To(0), quantity.Pascal(-1000).To(1).Bare(),
			quantity.Pascal(1000).To(1))
	}
	worked, err := a.Work(c.Person, c.At.Wall)
	if err != nil {
		return err
	}
	area, err := a.Area()
	if err != nil {
		return err
	}
	if worked.Flow != a.Flow || worked.Factor != a.Factor || worked.Uncertainty != a.Uncertainty {
		return phrase.Errorf("the flow does not follow from the velocities: enter the traverse again")
	}
	if have := room.Duct.Area; have > 0 && math.Abs(float64(area/have)-1) > mostOff {
		return phrase.Errorf("this duct has an area of %.0f cm², the configured one %.0f cm²: measure the duct again, or put the "+
			"configuration right", 1e4*float64(area), 1e4*float64(have))
	}
	if room.flowIsMeasured() && math.Abs(a.Factor-1) > mostProbeOff {
		return phrase.Errorf("the flow probe reads %.0f %% of what the traverse found: correct the probe first, since the limits are judged "+
			"by it", 100/a.Factor)
	}
	return a.checkAims(room.proven(board.Proven), c.At.Wall)
}

// mostDesign is a flow that no exhaust of a darkroom is designed for, in m³/h.
const mostDesign = 100_000

// checkAims holds a traverse against what the exhaust was to move, and asks for the next.
func (a CommissionAir) checkAims(room Room, now time.Time) error {
	if !(a.Design >= 0 && a.Design <= mostDesign) {
		return phrase.Errorf("a design flow of %s is not usable: expected 0 to %s", a.Design.To(0), quantity.CubicMetrePerHour(mostDesign).To(0))
	}
	if a.Next.IsZero() || !a.Next.After(a.day(now)) {
		return phrase.Errorf("the day of the next traverse is missing, or not after this one: enter the day by which the duct is to be " +
			"measured again")
	}
	after := room.Commissioned
	after.Flow = a.Flow
	if a.Design > 0 {
		after.Design = a.Design
	}
	if drop := after.drop(); !drop.IsZero() && strings.TrimSpace(a.DropReason) == "" {
		return phrase.Errorf("this traverse found %s, %s: measure again, or enter the reason for the drop", a.Flow.To(1), drop)
	}
	return nil
}

// Since is the day of the traverse; zero at its record.
func (a CommissionAir) Since() (at time.Time, within time.Duration) { return a.Measured, wholeDay }

// day is when the traverse was made.
func (a CommissionAir) day(entered time.Time) time.Time {
	if a.Measured.IsZero() {
		return entered
	}
	return a.Measured
}

// flowIsMeasured says whether the probe gives a flow by itself, which no factor corrects.
func (r Room) flowIsMeasured() bool {
	kind, found := r.flowKind()
	return found && kind == sensors.VolumeFlow
}

// Proven is the traverse that is on record last. The zero Proven is none.
type Proven struct {
	At    time.Time // UTC, the day of the traverse
	First FirstFlow
	CommissionAir
}

// FirstFlow is what the first traverse of a duct found.
type FirstFlow struct {
	Flow quantity.CubicMetrePerHour
	At   time.Time
}

// apply notes a traverse. Flows measured before it tell nothing of a decline after it.
func (a CommissionAir) apply(b Board, d Done, _ sensors.Instant) (Board, error) {
	at, first := a.day(d.At), b.Proven.First
	if first.Flow == 0 || at.Before(first.At) {
		first = FirstFlow{a.Flow, at}
	}
	b.Proven.First = first
	if at.Before(b.Proven.At) {
		return b, nil
	}
	b.Proven = Proven{At: at, First: first, CommissionAir: a}
	b.Memory.decline = declineMemory{}
	return b, nil
}

func (a CommissionAir) sentence(_ Room, d Done) phrase.Sentence {
	return d.entered(phrase.Say("a traverse found %s, which now sets the airflow limits; recorded", a.Flow.To(1)))
}

// proven gives the room as its newest traverse found it: the one of the book, unless
// the configuration holds a later one.
func (r Room) proven(p Proven) Room {
	if c := r.Commissioned; c.Flow > 0 {
		r.Commissioned.First = FirstFlow{c.Flow, c.Date}
	}
	if p.At.IsZero() || p.At.Before(r.Commissioned.Date) {
		return r
	}
	area, err := p.Area()
	if err != nil {
		return r // the book holds what was checked before it was written
	}
	usual := r.Commissioned.RoomPressure // holds on where it was not measured anew
	if p.Pressure != nil {
		usual = ventilation.Known(*p.Pressure)
	}
	design, first := p.Design, p.First
	design = cmp.Or(design, r.Commissioned.Design)
	if before := r.Commissioned.First; before.Flow > 0 && before.At.Before(first.At) {
		first = before
	}
	r.Commissioned = Commissioned{RoomPressure: usual, Flow: p.Flow, Date: p.At, Instrument: p.Instrument, Certificate: p.Certificate,
		Design: design, First: first, Uncertainty: p.Uncertainty, Conditions: p.Conditions, Next: p.Next, DropReason: p.DropReason,
		Traverse: phrase.Say("mean of %d points %s", len(p.Velocities), p.Mean.To(0.01))}
	if !r.flowIsMeasured() {
		r.Duct.Area, r.Duct.Factor = area, p.Factor
	}
	return r
}
