package truth

import (
	"cmp"
	"math"
	"slices"
	"time"

	"wetside/sensors"
)

const (
	// blockLasts is over what time the movement of a value is summed up, and leastInBlock
	// by how many readings at least.
	blockLasts   = 3 * time.Minute
	leastInBlock = 30
	// keptBlocks are an hour, leastBlocks what has to be seen before a value may be called dead.
	keptBlocks  = 20
	leastBlocks = 5
	// quietest is the share of blocks, one in so many, that may be quieter than what counts as usual.
	quietest = 5
	// rockedQuietest is the same for a bath: it moves while its tray is rocked, and stands when that ends.
	rockedQuietest = 20
)

// liveness follows by how much the raw value of one channel moves by itself: the noise
// that shows at its resolution, and how long one value has stood. It costs a comparison
// where a value repeats, and holds an hour in twenty blocks.
type liveness struct {
	begun bool
	raw   float64
	last  sensors.Instant
	// since is the first reading of the present run, run how many equal ones followed,
	// before the value that it came from.
	since  sensors.Instant
	run    int
	before float64
	// dead is set while the present run or block is known to be that of a dead probe.
	dead bool
	// step is the smallest change seen: the resolution at which the probe speaks.
	step float64
	// turn is the highest value since the last swing where the value rises, else the lowest.
	turn   float64
	rising bool
	now    block
	ended  block // the one before it
	blocks [keptBlocks]block
	kept   int // blocks kept so far, also those that were written over
}

// block sums up some minutes of readings.
type block struct {
	begun, lasted   time.Duration // monotonic
	readings, turns int
	sum, squares    float64       // of the values, and of the squares of their differences
	longest         time.Duration // that one value stood
}

func (b block) mean() float64 { return b.sum / float64(b.readings) }

// noise is the variance of one reading, by the mean square of successive differences
// (von Neumann 1941, from memory): a slow trend does not count.
func (b block) noise() float64 { return b.squares / float64(2*b.readings) }

// swings is how many swings there were for each reading.
func (b block) swings() float64 { return float64(b.turns) / float64(b.readings) }

// take counts one reading.
func (l *liveness) take(r *sensors.Reading, silence time.Duration) {
	if l.begun && r.Raw == l.raw && r.At.Mono-l.last.Mono <= silence {
		l.run++
		l.last = r.At
		return
	}
	l.change(r, silence)
}

// change takes a reading of another value than the one before, or after a pause.
func (l *liveness) change(r *sensors.Reading, silence time.Duration) {
	if !l.begun || r.At.Since(l.last) > silence {
		l.begun, l.before, l.turn = true, r.Raw, r.Raw
		l.now = block{begun: r.At.Mono}
	} else {
		l.count(r.Raw)
	}
	l.raw, l.last, l.since, l.run = r.Raw, r.At, r.At, 0
	if r.At.Mono-l.now.begun >= blockLasts && l.now.readings >= leastInBlock {
		l.close(r.At.Mono)
	}
}

// paused says whether a reading comes after a pause that a plug makes: some seconds, and
// several times as long as usual.
func (l *liveness) paused(at sensors.Instant) bool {
	const some, several = 4 * time.Second, 4
	pause := at.Mono - l.last.Mono
	if pause < some || !l.begun || l.kept == 0 {
		return false
	}
	b := &l.blocks[(l.kept-1)%keptBlocks]
	return pause > several*b.lasted/time.Duration(b.readings)
}

// count adds the run that has ended to the block under way.
func (l *liveness) count(next float64) {
	d := math.Abs(next - l.raw)
	if l.step == 0 || d < l.step {
		l.step = d
	}
	l.now.readings += l.run + 1
	l.now.sum += l.raw * float64(l.run+1)
	l.now.squares += d * d
	l.before = l.raw
	l.now.longest = max(l.now.longest, l.last.Since(l.since))
	switch {
	case l.rising == (next > l.turn):
		l.turn = next
	case math.Abs(next-l.turn) > 1.5*l.step:
		l.turn, l.rising = next, !l.rising
		l.now.turns++
	}
}

// soFar is the block under way with the present run.
func (l *liveness) soFar() block {
	b := l.now
	b.readings, b.sum = b.readings+l.run+1, b.sum+l.raw*float64(l.run+1)
	return b
}

// close ends the block under way. One of a dead probe is no measure of a live one.
func (l *liveness) close(at time.Duration) {
	if l.now.lasted = at - l.now.begun; !l.dead {
		l.keep()
	}
	l.now, l.ended, l.dead = block{begun: at}, l.now, false
}

// keep adds the block that has ended to the usual ones.
func (l *liveness) keep() {
	l.blocks[l.kept%keptBlocks] = l.now
	l.kept++
}

// forget begins anew, where a probe came into something else.
func (l *liveness) forget() { l.kept, l.now, l.ended = 0, block{begun: l.last.Mono}, block{} }

// usual is how a live probe of this channel has moved in the last hour.
type usual struct {
	level, typical float64 // mean of the last three blocks, and the median of all
	// noise is the variance and swings the swings a reading of its quieter blocks: four of
	// five were livelier. All says the swings a reading of all blocks.
	noise, swings, all float64
	readings           int
	// longest is the longest that a value stood, turning in how many of the blocks it swung to and fro.
	longest time.Duration
	turning int
}

// usual is false while there are too few blocks to tell.
func (t *track) usual() (usual, bool) {
	l, least := &t.live, quietest
	if stepwise(t.channel) {
		least = rockedQuietest
	}
	n := min(l.kept, keptBlocks)
	if n < leastBlocks {
		return usual{}, false
	}
	var means [keptBlocks]float64
	turns, u := 0, usual{}
	for i := range n {
		b := &l.blocks[i]
		means[i] = b.mean()
		turns, u.readings = turns+b.turns, u.readings+b.readings
	}
	slices.Sort(means[:n])
	u.noise, u.swings = l.quiet(block.noise, u.readings/least), l.quiet(block.swings, u.readings/least)
	u.typical, u.all = means[n/2], float64(turns)/float64(u.readings)
	u.longest = l.now.longest
	for i := range n {
		u.longest = max(u.longest, l.blocks[i].longest)
		if l.blocks[i].turns > 0 {
			u.turning++
		}
	}
	for i := range 3 {
		u.level += l.blocks[(l.kept-1-i)%keptBlocks].mean() / 3
	}
	return u, true
}

// quiet is what so many of the readings are no livelier than, by their blocks: one in which a value
// stood for long is long.
func (l *liveness) quiet(of func(block) float64, readings int) float64 {
	blocks := l.blocks
	kept := blocks[:min(l.kept, keptBlocks)]
	slices.SortFunc(kept, func(a, b block) int { return cmp.Compare(of(a), of(b)) })
	for _, b := range kept {
		if readings -= b.readings; readings < 0 {
			return of(b)
		}
	}
	return 0
}

// leaves is the least chance with which a live probe changes its value from one reading
// to the next. Noise that swings a value by two steps and back q times a reading lies
// beyond each edge of a step with a chance of q at least, wherever between two steps the
// true value is; so a value is left with a chance of 2q at least. A probe whose noise
// stays within one step makes no such swings: then a flat line says nothing.
func (u usual) leaves() float64 { return min(2*u.swings, 0.9) }

// never is longer than any value is watched.
const never = time.Duration(math.MaxInt64)

// stands is from what time on a value has stood longer than that of a live probe: several times as long as
// ever in an hour in which it kept swinging.
func (u usual) stands() time.Duration {
	if float64(u.turning) < lively*keptBlocks || u.longest > blockLasts {
		return never // too little was seen for that
	}
	return longer * u.longest
}

// longerChance is the chance that one time more of an exponential distribution is so much longer than the
// longest of as many as there were blocks with swings (the mean of exp(-longer times the longest), a beta integral).
func (u usual) longerChance() float64 {
	chance := 1.0
	for k := 1.0; k <= longer; k++ {
		chance *= k / (float64(u.turning) + k)
	}
	return chance
}
