package truth_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/simroom"
)

// place is a place in the pretend room with the kind of its probe. Is gives its truth from
// those of the room.
type place struct {
	id   string
	kind sensors.Kind
	is   string
	size float64
}

// places are those of the pretend room, with a volume flow and a further gas beside.
func places() []place {
	return []place{
		{"DEV", sensors.BathTemperature, "DEV", 1}, {"STP", sensors.BathTemperature, "STP", 1}, {"FX1", sensors.BathTemperature, "FX1", 1},
		{"FX2", sensors.BathTemperature, "FX2", 1},
		{"WSH", sensors.WaterTemperature, "WSH", 1}, {"AIR", sensors.AirTemperature, "AIR", 1}, {"HUM", sensors.RelativeHumidity, "HUM", 1},
		{"VEL", sensors.DuctVelocity, "VEL", 1}, {"HDL", sensors.DuctVelocity, "HDL", 1}, {"FLW", sensors.VolumeFlow, "VEL", 63.6},
		{"VPR", sensors.VelocityPressure, "VPR", 1}, {"ROOM", sensors.RoomPressure, "ROOM", 1}, {"FAN", sensors.FanCommand, "FAN", 1},
		{"CO2", sensors.CarbonDioxide, "CO2", 1}, {"ACA", sensors.AceticAcid, "ACA", 1}, {"SO2", sensors.SulfurDioxide, "SO2", 1},
		{"OTH", sensors.OtherGas, "ACA", 0.5},
	}
}

// course is what was true in each place of a room, a second after the other, with the acts that were entered.
type course struct {
	is      map[string][]float64
	seconds int
	emptied int              // the second in which the evening ends: people leave in the minutes after
	acts    map[int][]string // by their second
}

// courses are evenings that differ in people, fan, jackets and lids, and nights. Each is worked out when it is asked for.
type courses map[uint64]course

// of is the course of an evening or a failure, by its number.
func (all courses) of(t require.TestingT, number uint64) course {
	const different = 24
	i := number % different
	if c, known := all[i]; known {
		return c
	}
	dice := rand.New(rand.NewPCG(i, 41))
	schedule, emptied := strings.Join(happens(dice), "; "), 220+dice.IntN(20)
	lasts := 4*time.Hour + 30*time.Minute
	if i%8 == 7 {
		lasts = 12 * time.Hour
	}
	events, err := simroom.ParseSchedule(fmt.Sprintf("%s; %dm empty trays; %dm people 0; %dm stop fan", schedule, emptied, emptied+5,
		emptied+10))
	require.NoError(t, err)
	c := course{is: map[string][]float64{}, seconds: int(lasts / time.Second), emptied: emptied * 60,
		acts: map[int][]string{10: all4(), emptied * 60: all4()}}
	simroom.Course(simroom.Options{Seed: i, Events: events}, lasts, func(_ time.Duration, is map[string]float64) {
		for id, v := range is {
			c.is[id] = append(c.is[id], v)
		}
	})
	all[i] = c
	return c
}

func all4() []string { return []string{"DEV", "STP", "FX1", "FX2"} }

// happens draws what happens in an evening.
func happens(dice *rand.Rand) []string {
	minute := func(from, to int) string { return fmt.Sprintf("%dm ", from+dice.IntN(to-from)) }
	events := []string{"0s start fan", "10s fill trays", "0s people 1", fmt.Sprintf("%speople %d", minute(5, 20), 3+dice.IntN(9))}
	for _, bath := range all4() {
		if dice.IntN(2) == 0 {
			events = append(events, minute(30, 180)+"jacket "+bath)
		}
	}
	if dice.IntN(2) == 0 { // a count-down timer that nobody minds for a while
		off := 60 + dice.IntN(80)
		events = append(events, fmt.Sprintf("%dm stop fan", off), fmt.Sprintf("%dm start fan", off+2+dice.IntN(25)))
	}
	if dice.IntN(4) == 0 {
		events = append(events, minute(30, 150)+"block make-up 12m")
	}
	if dice.IntN(4) == 0 {
		events = append(events, minute(30, 150)+"block hood-left 15m")
	}
	return append(events, fmt.Sprintf("%speople %d", minute(70, 100), 2+dice.IntN(12)), fmt.Sprintf("%speople %d", minute(130, 160),
		2+dice.IntN(6)), minute(190, 215)+"cover trays")
}

// makeOf is an invented make of probe: how finely it shows what it feels, and how it scatters.
type makeOf struct {
	step, noise float64
	part        float64 // of the value: turbulence
	slow        float64 // share of the scatter that stays from one reading to the next
	lag         float64 // s
	cut         float64 // below it shows zero
	low, high   float64
	every       int // seconds
}

func oneOf[T any](dice *rand.Rand, list ...T) T { return list[dice.IntN(len(list))] }

// drawn is a make of probe for a place, by chance.
func drawn(dice *rand.Rand, c sensors.Channel) makeOf {
	m := makeOf{lag: oneOf(dice, 1.0, 5, 20), low: c.Plausible.Low, high: c.Plausible.High, slow: oneOf(dice, 0, 0, 0.5, 0.9),
		every: oneOf(dice, 1, 1, 1, 2, 5)}
	switch c.Kind {
	case sensors.BathTemperature, sensors.WaterTemperature, sensors.AirTemperature:
		m.step, m.noise, m.lag = oneOf(dice, 0.01, 0.0625, 0.1, 0.5, 1), oneOf(dice, 0.003, 0.01, 0.03, 0.08), oneOf(dice, 5.0, 15, 60)
	case sensors.RelativeHumidity:
		m.step, m.noise = oneOf(dice, 0.1, 1), oneOf(dice, 0.05, 0.1, 0.3)
	case sensors.DuctVelocity:
		m.step, m.noise, m.part, m.cut = oneOf(dice, 0.01, 0.05, 0.1), oneOf(dice, 0.005, 0.02), oneOf(dice, 0.01, 0.03, 0.06),
			oneOf(dice, 0, 0, 0.15)
	case sensors.VolumeFlow:
		m.step, m.noise, m.part = oneOf(dice, 1.0, 5), 0.5, oneOf(dice, 0.01, 0.03, 0.06)
	case sensors.VelocityPressure, sensors.RoomPressure:
		m.step, m.noise, m.part = oneOf(dice, 0.1, 1), oneOf(dice, 0.05, 0.1, 0.3), oneOf(dice, 0.02, 0.06)
	case sensors.CarbonDioxide:
		m.step, m.noise = 1, oneOf(dice, 1.0, 3, 10)
	case sensors.AceticAcid, sensors.SulfurDioxide, sensors.OtherGas:
		m.step, m.noise = oneOf(dice, 0.001, 0.01, 0.1), oneOf(dice, 0.005, 0.01, 0.03)
	default:
		m.step = 1
	}
	return m
}

// device is one probe as it feels and speaks.
type device struct {
	place
	makeOf
	channel sensors.Channel
	gate    *sensors.Gate
	dice    *rand.Rand
	follow  float64 // share of what is left, in a second
	felt    float64
	wander  float64
	begun   bool
	said    float64
}

func newDevice(t require.TestingT, dice *rand.Rand, p place) *device {
	c := channel(t, p.id, p.kind)
	m := drawn(dice, c)
	return &device{place: p, makeOf: m, channel: c, gate: sensors.NewGate(c), dice: rand.New(rand.NewPCG(dice.Uint64(), 1)),
		follow: 1 - math.Exp(-1/m.lag)}
}

// feel lets a second pass.
func (d *device) feel(is, stirred float64) {
	if !d.begun {
		d.felt, d.begun = is, true
	}
	d.felt += (is - d.felt) * d.follow
	scatter := math.Sqrt(d.noise*d.noise + d.part*d.part*d.felt*d.felt + stirred*stirred)
	d.wander = d.slow*d.wander + math.Sqrt(1-d.slow*d.slow)*scatter*d.dice.NormFloat64()
}

// scatter is the standard deviation of one reading at a value.
func (m makeOf) scatter(at float64) float64 { return math.Hypot(m.noise, m.part*at) }

// shows is what the probe says of what it feels.
func (d *device) shows(off float64) float64 {
	v := math.Round((d.felt+off)/d.step) * d.step
	if math.Abs(v) < d.cut {
		v = 0
	}
	return min(d.high, max(d.low, v)) + 0
}

// disturbed is what happens by the way in an evening: doors open, trays are rocked, the wash is shut off, a plug
// is pulled and put back, people stir the air.
type disturbed struct {
	doors, rocked, shut [][2]int // from and to, seconds
	pulled              [2]int
	line                int
	stirs               float64 // how much, of what a busy room does
}

// oneLine is the line of a kind, of three.
func oneLine(k sensors.Kind) int {
	switch {
	case k == sensors.BathTemperature || k == sensors.WaterTemperature:
		return 0
	case k == sensors.AirTemperature || k == sensors.RelativeHumidity || k == sensors.CarbonDioxide:
		return 1
	}
	return 2
}

func disturbances(dice *rand.Rand, c course) disturbed {
	lasts := c.seconds
	var d disturbed
	for range dice.IntN(9) {
		at := dice.IntN(lasts)
		d.doors = append(d.doors, [2]int{at, at + 10 + dice.IntN(80)})
	}
	for at := 20 * 60; at < min(lasts, 190*60); at += 90 + dice.IntN(700) {
		d.rocked = append(d.rocked, [2]int{at, at + 60 + dice.IntN(60)})
		at += 90
	}
	at := 1800 + dice.IntN(lasts-3600)
	d.pulled, d.line = [2]int{at, at + 5 + dice.IntN(50)}, dice.IntN(3)
	d.stirs = 0.1 + 0.9*dice.Float64()
	for range dice.IntN(4) { // while nothing is in it
		at := 1800 + dice.IntN(c.emptied-1800)
		d.shut = append(d.shut, [2]int{at, at + 120 + dice.IntN(2400)})
	}
	d.shut = append(d.shut, [2]int{c.emptied - dice.IntN(900), lasts})
	return d
}

func within(list [][2]int, second int) bool {
	return slices.ContainsFunc(list, func(s [2]int) bool { return second >= s[0] && second < s[1] })
}

// is gives what is true at a place, with a door open or closed.
func (d disturbed) is(c course, p place, second int) (value, stirred float64) {
	value = c.is[p.is][second] * p.size
	open := within(d.doors, second)
	switch {
	case p.kind == sensors.RoomPressure && open:
		value *= 0.1
	case p.kind == sensors.AirTemperature && open:
		value -= 0.8
	case p.kind == sensors.BathTemperature && within(d.rocked, second):
		stirred = 0.04
	case p.kind == sensors.WaterTemperature:
		value = d.washed(c, second)
	}
	stirs := d.stirs * c.busy(second)
	if p.kind.IsGas() {
		return value, stirs * gasStirred * value
	}
	return value, stirred + stirs*airStirred[p.kind]
}

// gasStirred is by what share of it a gas scatters so (common practice: an estimate).
const gasStirred = 0.1

// airStirred is by how much the air of a busy room scatters within seconds at one place, beside the scatter of the probe
// (common practice: estimates).
var airStirred = map[sensors.Kind]float64{sensors.AirTemperature: 0.1, sensors.RelativeHumidity: 0.4, sensors.CarbonDioxide: 20}

// busy is how much the air is stirred, of the most: by people until they leave, and by the fan.
func (c course) busy(second int) float64 {
	share := 0.05
	if second < c.emptied+300 {
		share += 0.65
	}
	return share + 0.3*c.is["FAN"][second]
}

// washed is the water of the wash: where it is shut off, what stands in it goes to the temperature of the air, as a tray does
// that is half as deep (common practice).
func (d disturbed) washed(c course, second int) float64 {
	const lasts = 45 * 60
	for _, s := range d.shut {
		if second >= s[0] && second < s[1] {
			stood, air := c.is["WSH"][s[0]], c.is["AIR"][second]
			return air + (stood-air)*math.Exp(-float64(second-s[0])/lasts)
		}
	}
	return c.is["WSH"][second]
}

// liveQuietly lives through an evening with probes drawn by chance, none of which fails, and
// gives what was found, and what the gate doubted as it came.
func liveQuietly(t *testing.T, c course, seed uint64) (found []truth.Offer, doubted map[sensors.Reason]int) {
	dice := rand.New(rand.NewPCG(seed, 17))
	var devices []*device
	var channels []sensors.Channel
	for _, p := range places() {
		if v := newDevice(t, dice, p); dice.IntN(3) > 0 { // few rooms have them all
			devices, channels = append(devices, v), append(channels, v.channel)
		}
	}
	d := disturbances(dice, c)
	if second := newDevice(t, dice, places()[5]); dice.IntN(3) > 0 { // another probe of the room's air
		second.channel.ID = "AIR2"
		second.gate = sensors.NewGate(second.channel)
		devices, channels = append(devices, second), append(channels, second.channel)
	}
	book, watch := truth.Open(channels), truth.NewWatch(channels)
	doubted = map[sensors.Reason]int{}
	for second := range c.seconds {
		now := instant(time.Duration(second+1) * time.Second)
		for _, id := range c.acts[second] {
			watch.Done(sensors.ChannelID(id), now)
		}
		pulled := second >= d.pulled[0] && second < d.pulled[1]
		for _, v := range devices {
			v.feel(d.is(c, v.place, second))
			if second%v.every == 0 && (!pulled || d.line != oneLine(v.kind)) {
				r := v.gate.Judge(sensors.Measurement{Value: v.shows(v.wander)}, now)
				if r.Grade != sensors.Good {
					doubted[r.Reason]++
				}
				watch.Take(r)
			}
		}
		for _, f := range watch.Find(book, now) {
			book = book.Offered(f)
		}
	}
	return book.Findings(), doubted
}
