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
	failures = flag.Int("failures", 4, "how many failures of each kind are simulated at each kind of channel")
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
	// shows is false where the readings of this probe cannot give the failure away, as
	// the program says itself before it: its noise does not show, or bath and air are alike.
	shows bool
	what  string
}

const foundWithin = 10 * time.Minute

// try lets a probe fail beside a sound one of the room's air.
func try(t *testing.T, c course, seed uint64, p place, f fault) tried {
	dice := rand.New(rand.NewPCG(seed, 23))
	air := newDevice(t, dice, places()[5])
	air.step, air.every = min(air.step, 0.1), 1
	x := failureOf(dice, newDevice(t, dice, p), f)
	if x.channel.ID == air.channel.ID {
		air.channel.ID = "AIR2"
		air.gate = sensors.NewGate(air.channel)
	}
	channels := []sensors.Channel{x.channel, air.channel}
	book, watch, d := truth.Open(channels), truth.NewWatch(channels), disturbances(dice, len(c.is))
	out := tried{what: fmt.Sprintf("%s at %s after %d min: %+v", f, p.id, x.from/60, x.makeOf)}
	for second := range min(len(c.is), x.from+int(foundWithin/time.Second)+1) {
		now := instant(time.Duration(second+1) * time.Second)
		for _, id := range c.acts[second] {
			watch.Done(sensors.ChannelID(id), now)
		}
		if second == x.from {
			out.shows = x.givenAway(watch, c)
		}
		is, stirred := d.is(c, p, second)
		if f == follows && second >= x.from {
			is, stirred = d.is(c, air.place, second)
		}
		x.feel(is, stirred)
		air.feel(d.is(c, air.place, second))
		doubted := false
		if v, said := x.says(second); said {
			r := x.gate.Judge(sensors.Measurement{Value: v}, now)
			doubted = r.Grade != sensors.Good
			watch.Take(r)
		}
		watch.Take(air.gate.Judge(sensors.Measurement{Value: air.shows(air.wander)}, now))
		for _, found := range watch.Find(book, now) {
			book = book.Offered(found)
			doubted = doubted || found.Channels[0] == x.channel.ID
		}
		if doubted && second >= x.from && !out.found {
			out.found, out.after = true, time.Duration(second-x.from)*time.Second
		}
	}
	return out
}

// givenAway says whether the readings of the probe can give its failure away.
func (x *failing) givenAway(w *truth.Watch, c course) bool {
	switch x.fault {
	case follows:
		now := c.is[x.from]
		apart := now[x.is] - now["AIR"]
		return x.step <= 0.1 && (apart > 1 || apart < -1)
	case replugin:
		return x.kind.IsSlow() && x.step <= 0.1
	}
	after, knows := w.FlatAfter(x.channel.ID)
	return knows && after <= foundWithin && (x.fault != hushed || x.noisier(c))
}

// noisier says whether the probe's noise is well above what its place itself does: else
// nobody can see that the noise has gone.
func (x *failing) noisier(c course) bool {
	itself, n := 0.0, 0.0
	for s := x.from; s+x.every < min(len(c.is), x.from+600); s += x.every {
		d := (c.is[s+x.every][x.is] - c.is[s][x.is]) * x.size
		itself, n = itself+d*d/2, n+1
	}
	scatter := math.Hypot(x.noise, x.part*c.is[x.from][x.is]*x.size)
	kept := math.Pow(x.slow, float64(x.every))
	return n > 0 && itself/n < 0.1*scatter*scatter*(1-kept)
}

// cell counts the failures of a kind at a kind of channel.
type cell struct{ all, found, shown, foundShown int }

func (c *cell) add(x tried) {
	c.all++
	if x.found {
		c.found++
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
	return fmt.Sprintf("%d/%d (%d/%d)", c.found, c.all, c.foundShown, c.shown)
}

// The campaign: go test ./rules/truth -run Campaign -v -args -quiet-evenings 1000 -failures 100
func TestCampaignFailuresAreFoundAndQuietEveningsAreQuiet(t *testing.T) {
	all := courses(t, min(24, 2+*evenings/8))
	var quiet []string
	for seed := range uint64(*evenings) {
		c := all[seed%uint64(len(all))]
		found, doubted := liveQuietly(t, c, seed)
		for _, f := range found {
			quiet = append(quiet, fmt.Sprintf("evening %d: %s %s (%s)", seed, f.From.Format("15:04"), f.Text, f.Basis))
		}
		if len(doubted) > 0 {
			quiet = append(quiet, fmt.Sprintf("evening %d: readings doubted as they came: %v", seed, doubted))
		}
	}
	t.Logf("Findings in %d quiet evenings of %d probes: %d\n%s", *evenings, len(places()), len(quiet), strings.Join(quiet, "\n"))
	total := table(t, all)
	t.Logf("All failures: %d of %d found within %v (%.1f of 100). Of those that the readings can give away: %d of %d (%.1f of 100).",
		total.found, total.all, foundWithin, 100*float64(total.found)/float64(total.all), total.foundShown, total.shown,
		100*float64(total.foundShown)/float64(total.shown))
	require.Empty(t, quiet, "a quiet evening is quiet")
	const asked = 0.95
	chance := 2 * math.Sqrt(asked*(1-asked)/float64(total.shown)) // two standard errors of so few
	require.GreaterOrEqual(t, float64(total.foundShown)/float64(total.shown), asked-chance)
}

// table tries every fault at every kind of channel, prints what was found and sums up.
func table(t *testing.T, all []course) cell {
	var total cell
	var missed []string
	lines := []string{fmt.Sprintf("%-20s", "kind of channel")}
	for _, f := range faults() {
		lines[0] += fmt.Sprintf(" | %-22s", f)
	}
	for number, p := range places() {
		if p.id == "STP" || p.id == "FX1" || p.id == "FX2" || p.id == "HDL" {
			continue // of the same kind as another
		}
		line := fmt.Sprintf("%-20s", p.kind)
		for kind, f := range faults() {
			var c cell
			for i := range *failures {
				if f.fits(p.kind) {
					seed := uint64(number*1000000 + kind*100000 + i)
					x := try(t, all[i%len(all)], seed, p, f)
					c.add(x)
					total.add(x)
					if x.shows && !x.found {
						missed = append(missed, x.what)
					}
				}
			}
			line += fmt.Sprintf(" | %-22s", c)
		}
		lines = append(lines, line)
	}
	t.Logf("Not found although the readings can give them away:\n%s", strings.Join(missed, "\n"))
	t.Logf("Failures found within %v, of all simulated ones; in brackets those that the readings can give away:\n%s", foundWithin,
		strings.Join(lines, "\n"))
	return total
}
