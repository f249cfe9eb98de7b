package truth_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/truth"
	"wetside/sensors"
)

var (
	evenings = flag.Int("quiet-evenings", 16, "how many quiet evenings are searched for findings that are none")
	first    = flag.Uint64("first-evening", 0, "the number of the first of them: with one that nobody tried, what is found was not tuned to")
	failures = flag.Int("failures", 4, "how many failures of each kind are simulated at each kind of channel")
	failed   = flag.Uint64("first-failure", 0, "the number of the first of them, below 100000")
)

// fault is a way in which a probe fails.
type fault string

const (
	frozen   fault = "value stands still"
	hushed   fault = "noise vanishes"
	follows  fault = "follows the air"
	stuck    fault = "stuck at one end"
	replugin fault = "step at a plug"
)

func faults() []fault { return []fault{frozen, hushed, follows, stuck, replugin} }

// unseen says where the readings of a probe alone cannot give a fault away.
func (f fault) unseen() string {
	switch f {
	case frozen, hushed:
		return "It can't be seen where the noise of a live probe is smaller than its steps, or its place moves by more than that noise, " +
			"nor where people or a tap make that noise, unless two other probes show that they still do."
	case follows:
		return "It can't be seen while the air has the temperature of the bath, nor in steps too coarse to follow it."
	case replugin:
		return "It can't be seen where the step is no larger than what is usual at the place, nor where gas or the fan may have made it."
	}
	return "It can be seen everywhere."
}

// fits says whether a kind of channel can fail so.
func (f fault) fits(k sensors.Kind) bool {
	switch f {
	case follows:
		return k == sensors.BathTemperature
	case hushed, stuck, replugin:
		return k != sensors.FanCommand
	}
	return true
}

// failing is a probe that fails from a second on.
type failing struct {
	*device
	fault fault
	from  int
	off   float64
	end   float64
	// would is what it would feel if it had not failed, wrong the farthest that it read from that.
	would, wrong float64
}

// failureOf draws how large a step is and where an end of the range lies.
func failureOf(dice *rand.Rand, d *device, f fault) failing {
	x := failing{device: d, fault: f, from: 3600 + dice.IntN(7200), off: 1 + 2*dice.Float64(), end: d.channel.Plausible.High}
	switch d.kind {
	case sensors.RelativeHumidity:
		x.off = 8 + 10*dice.Float64()
	case sensors.CarbonDioxide:
		x.off = 200 + 300*dice.Float64()
	case sensors.BathTemperature, sensors.WaterTemperature, sensors.AirTemperature:
	default:
		x.off = 0.3 * max(d.channel.Resolution, 1)
	}
	if dice.IntN(2) == 0 {
		x.off = -x.off
	}
	if dice.IntN(2) == 0 { // an end that is the probe's own
		x.end = d.channel.Plausible.Low + 0.8*(d.channel.Plausible.High-d.channel.Plausible.Low)
	}
	return x
}

// says is what the failing probe says in a second; false when nothing.
func (x *failing) says(second int) (float64, bool) {
	if second >= x.from && second < x.from+20 && x.fault == replugin {
		return 0, false
	}
	switch off := x.wander; {
	case second < x.from || x.fault == follows:
		x.said = x.shows(off)
	case x.fault == hushed:
		x.said = x.shows(0)
	case x.fault == stuck:
		x.said = x.end
	case x.fault == replugin:
		x.said = x.shows(off + x.off)
	}
	return x.said, second%x.every == 0
}

// tried is what became of one failure.
type tried struct {
	found bool
	after time.Duration
	// shows is false where the readings of this probe cannot give the failure away: its
	// noise does not show, bath and air are alike, a step is smaller than what is usual.
	shows bool
	// harm says what the failure did within that time.
	harm harm
	what string
}

// harm is what a failure did to the readings.
type harm int

const (
	none   harm = iota // they stayed within a step of what a sound probe would have said
	hidden             // they went off by less than a sound probe scatters
	off                // they went off by more
	harms
)

// harmOf says what a failure did to the readings.
func (x *failing) harmOf() harm {
	const scatters, rounding = 3, 1e-9
	switch {
	case x.wrong <= max(x.step, x.channel.Resolution)+rounding:
		return none
	case x.wrong <= scatters*x.scatter(x.would):
		return hidden
	}
	return off
}

const foundWithin = 10 * time.Minute

// beside are the sound probes that stand beside a failing one: one of the room's air and, where the
// failing one shows that air moves, or what people stir, the other signs of that.
func (x *failing) beside(t *testing.T, dice *rand.Rand, air *device) []*device {
	list := []*device{air}
	for _, p := range places() {
		if airStirred[x.kind] > 0 && airStirred[p.kind] > 0 && p.kind != x.kind && p.kind != sensors.AirTemperature {
			list = append(list, newDevice(t, dice, p))
		}
		sign := p.kind.MovesWithAir() || p.kind == sensors.FanCommand
		if x.kind.MovesWithAir() && sign && p.kind != x.kind {
			list = append(list, newDevice(t, dice, p))
		}
	}
	return list
}

// try lets a probe fail beside sound ones.
func try(t *testing.T, c course, seed uint64, p place, f fault) tried {
	dice := rand.New(rand.NewPCG(seed, 23))
	air := newDevice(t, dice, places()[5])
	air.step, air.every = min(air.step, 0.1), 1
	x := failureOf(dice, newDevice(t, dice, p), f)
	if x.channel.ID == air.channel.ID {
		air.channel.ID = "AIR2"
		air.gate = sensors.NewGate(air.channel)
	}
	d := disturbances(dice, c)
	sound, channels := x.beside(t, dice, air), []sensors.Channel{x.channel}
	for _, v := range sound {
		channels = append(channels, v.channel)
	}
	book, watch := truth.Open(channels), truth.NewWatch(channels)
	out := tried{what: fmt.Sprintf("%s at %s after %d min: %+v", f, p.id, x.from/60, x.makeOf)}
	for second := range min(c.seconds, x.from+int(foundWithin/time.Second)+1) {
		now := instant(time.Duration(second+1) * time.Second)
		for _, id := range c.acts[second] {
			watch.Done(sensors.ChannelID(id), now)
		}
		if second == x.from {
			out.shows = x.givenAway(watch, c)
		}
		is, stirred := d.is(c, p, second)
		x.wouldFeel(is, second)
		if f == follows && second >= x.from {
			is, stirred = d.is(c, air.place, second)
		}
		x.feel(is, stirred)
		doubted := false
		if v, said := x.says(second); said {
			r := x.gate.Judge(sensors.Measurement{Value: v}, now)
			doubted = r.Grade != sensors.Good
			watch.Take(r)
		}
		for _, v := range sound {
			v.feel(d.is(c, v.place, second))
			if second%v.every == 0 {
				watch.Take(v.gate.Judge(sensors.Measurement{Value: v.shows(v.wander)}, now))
			}
		}
		for _, found := range watch.Find(book, now) {
			book = book.Offered(found)
			doubted = doubted || found.Channels[0] == x.channel.ID
		}
		if doubted && second >= x.from && !out.found {
			out.found, out.after = true, time.Duration(second-x.from)*time.Second
		}
		if second >= x.from {
			x.wrong = max(x.wrong, x.astray())
		}
	}
	out.harm = x.harmOf()
	return out
}

// wouldFeel lets a second pass at the place, as if the probe had not failed.
func (x *failing) wouldFeel(is float64, second int) {
	if second == 0 {
		x.would = is
	}
	x.would += (is - x.would) * x.follow
}

// astray is by how much the failed probe reads off now, beside its noise.
func (x *failing) astray() float64 {
	noisy := *x.device
	noisy.felt = x.would
	switch x.fault {
	case hushed:
		return 0
	case follows:
		return math.Abs(x.felt - x.would)
	case replugin:
		return math.Abs(noisy.shows(x.off) - noisy.shows(0))
	}
	return math.Abs(x.said - noisy.shows(0))
}

// givenAway says whether the readings of the probe can give its failure away.
func (x *failing) givenAway(w *truth.Watch, c course) bool {
	switch x.fault {
	case follows:
		apart := c.is[x.is][x.from] - c.is["AIR"][x.from]
		return x.step <= 0.1 && (apart > 1 || apart < -1)
	case replugin:
		const clear = 5
		return x.astray() > max(2*x.step, x.channel.Resolution, clear*x.usually(c))
	}
	if x.fault == hushed && (airStirred[x.kind] > 0 || x.kind == sensors.WaterTemperature) {
		return false // people left, or the tap was shut off
	}
	after, knows := w.FlatAfter(x.channel.ID)
	return knows && after <= foundWithin && (x.fault != hushed || x.noisier(c))
}

// usually is by how much a mean of two minutes changes in some minutes, by what the place does and
// by the probe's scatter.
func (x *failing) usually(c course) float64 {
	const lag = 150
	squares, n := 0.0, 0.0
	for s := x.from - 3600; s+lag < x.from; s += 60 {
		d := (c.is[x.is][s+lag] - c.is[x.is][s]) * x.size
		squares, n = squares+d*d, n+1
	}
	kept := math.Pow(x.slow, float64(x.every))
	ofMean := x.scatter(x.would) * math.Sqrt((1+kept)/(1-kept)*float64(x.every)/120)
	return math.Sqrt(squares/n + 2*ofMean*ofMean)
}

// noisier says whether the probe's noise is well above what its place itself does: else
// nobody can see that the noise has gone.
func (x *failing) noisier(c course) bool {
	itself, n := 0.0, 0.0
	for s := x.from; s+x.every < min(c.seconds, x.from+600); s += x.every {
		d := (c.is[x.is][s+x.every] - c.is[x.is][s]) * x.size
		itself, n = itself+d*d/2, n+1
	}
	scatter := x.scatter(c.is[x.is][x.from] * x.size)
	kept := math.Pow(x.slow, float64(x.every))
	return n > 0 && itself/n < 0.1*scatter*scatter*(1-kept)
}

// cell counts the failures of a kind at a kind of channel.
type cell struct {
	all, found, shown, foundShown int
	missed, every                 [harms]int // of those not found, and of all
}

func (c *cell) add(x tried) {
	c.all++
	c.every[x.harm]++
	if x.found {
		c.found++
	} else {
		c.missed[x.harm]++
	}
	if x.shows {
		c.shown++
		if x.found {
			c.foundShown++
		}
	}
}

func (c cell) String() string {
	if c.all == 0 {
		return "-"
	}
	return fmt.Sprintf("%d/%d (%d/%d) %d %d %d", c.found, c.all, c.foundShown, c.shown, c.missed[none], c.missed[hidden], c.missed[off])
}

// The campaign: go test ./rules/truth -run Campaign -v -args -quiet-evenings 1000 -failures 100; what nobody tried yet:
// -first-evening 50000 -first-failure 50000.
func TestCampaignFailuresAreFoundAndQuietEveningsAreQuiet(t *testing.T) {
	all := courses{}
	var quiet []string
	for seed := *first; seed < *first+uint64(*evenings); seed++ {
		c := all.of(t, seed)
		found, doubted := liveQuietly(t, c, seed)
		for _, f := range found {
			quiet = append(quiet, fmt.Sprintf("evening %d: %s %s (%s)", seed, f.From.Format("15:04"), f.Text, f.Basis))
		}
		if len(doubted) > 0 {
			quiet = append(quiet, fmt.Sprintf("evening %d: readings doubted as they came: %v", seed, doubted))
		}
	}
	t.Logf("Findings in %d quiet evenings of up to %d probes: %d\n%s", *evenings, len(places())+1, len(quiet), strings.Join(quiet, "\n"))
	total, each := table(t, all)
	for _, f := range faults() {
		c := each[f]
		t.Logf("%s: %d of %d found; not found %d: %d whose readings stayed right, %d hidden in the scatter, %d misled. %s",
			f, c.found, c.all, c.all-c.found, c.missed[none], c.missed[hidden], c.missed[off], f.unseen())
	}
	t.Logf("All failures: %d of %d found within %v (%.1f of 100). Of those that the readings can give away: %d of %d (%.1f of 100). "+
		"Not found: %d whose readings stayed right, %d hidden in the scatter, %d that went off by more. "+
		"Of those that did harm, where a reading went off by more than the scatter within that time: %d of %d found (%.1f of 100).",
		total.found, total.all, foundWithin, percent(total.found, total.all), total.foundShown, total.shown,
		percent(total.foundShown, total.shown), total.missed[none], total.missed[hidden], total.missed[off],
		total.every[off]-total.missed[off], total.every[off], percent(total.every[off]-total.missed[off], total.every[off]))
	require.Empty(t, quiet, "a quiet evening is quiet")
	if total.shown == 0 {
		return // quiet evenings alone
	}
	const asked = 0.95
	chance := 2 * math.Sqrt(asked*(1-asked)/float64(total.shown)) // two standard errors of so few
	require.GreaterOrEqual(t, float64(total.foundShown)/float64(total.shown), asked-chance)
}

func percent(part, whole int) float64 { return 100 * float64(part) / float64(whole) }

// table tries every fault at every kind of channel, prints what was found and sums up.
func table(t *testing.T, all courses) (total cell, each map[fault]*cell) {
	each = map[fault]*cell{}
	for _, f := range faults() {
		each[f] = &cell{}
	}
	var missed []string
	lines := []string{fmt.Sprintf("%-18s", "kind of channel")}
	for _, f := range faults() {
		lines[0] += fmt.Sprintf(" | %-23s", f)
	}
	for number, p := range places() {
		if p.id == "STP" || p.id == "FX1" || p.id == "FX2" || p.id == "HDL" {
			continue // of the same kind as another
		}
		line := fmt.Sprintf("%-18s", p.kind)
		for kind, f := range faults() {
			var c cell
			for i := range *failures {
				if f.fits(p.kind) {
					seed := uint64(number*1000000+kind*100000+i) + *failed
					x := try(t, all.of(t, uint64(i)), seed, p, f)
					c.add(x)
					total.add(x)
					each[f].add(x)
					if !x.found && (x.shows || x.harm == off) {
						missed = append(missed, x.what)
					}
				}
			}
			line += fmt.Sprintf(" | %-23s", c)
		}
		lines = append(lines, fmt.Sprintf("%s | %v", line, truth.Methods(p.kind)))
	}
	lines[0] += " | the checks that find what no reading shows"
	t.Logf("Not found although the readings can give them away, or misled:\n%s", strings.Join(missed, "\n"))
	t.Logf("Failures found within %v, of all simulated ones; in brackets those that the readings can give away; then those not found "+
		"whose readings stayed what a sound probe would have said, went off by less than it scatters, and by more:\n%s", foundWithin,
		strings.Join(lines, "\n"))
	return total, each
}
