package intervals_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/campaign"
)

// truths are how many are simulated for each interval.
const truths = 1000

// stated is an interval that the program states, with a simulation: whether the interval
// that follows from drawn readings holds the drawn truth.
type stated struct {
	what string
	// bound is set for an interval that physics or the range of a sensor gives: no truth lies outside.
	bound bool
	holds func(*testing.T, *rand.Rand) bool
}

// least and most are how many of the truths an interval must hold: one of 95 % that holds
// 80 or 100 of 100 is wrong.
func (s stated) least() int {
	if s.bound {
		return truths
	}
	return truths * 92 / 100
}

func (s stated) most() int {
	if s.bound {
		return truths
	}
	return truths * 98 / 100
}

// evenly is anywhere within plus or minus a limit.
func evenly(r *rand.Rand, limit float64) float64 { return limit * (2*r.Float64() - 1) }

func TestEveryStatedIntervalHoldsSimulatedTruths(t *testing.T) {
	all := append(chemistry(), air()...)
	p := campaign.Picture{Width: 1040, Height: 20*len(all) + 70}
	p.Words(10, 20, fmt.Sprintf("How many of %d simulated truths each stated interval holds", truths), true)
	p.Words(10, 38, "Green: a 95 % interval must hold 920 to 980 of them. A bound must hold all.", false)
	p.Box(across(920), 48, across(980)-across(920), 20*len(all)+10, "#d8f0d8")
	p.Box(across(950), 48, 1, 20*len(all)+10, "#507050")
	for i, s := range all {
		r, inside := rand.New(rand.NewPCG(1, 95)), 0
		for range truths {
			if s.holds(t, r) {
				inside++
			}
		}
		t.Logf("%-70s %4d of %d", s.what, inside, truths)
		if inside < s.least() || inside > s.most() {
			t.Errorf("%s holds %d of %d truths: expected %d to %d", s.what, inside, truths, s.least(), s.most())
		}
		y := 66 + 20*i
		p.Words(10, y, s.what, false)
		p.Words(460, y, fmt.Sprint(inside), true)
		p.Box(across(inside)-4, y-9, 9, 9, map[bool]string{false: "#20508c", true: "#787878"}[s.bound])
	}
	require.GreaterOrEqual(t, len(all), 15)
	p.InStep(t, "intervals.svg")
}

// across is where a count lies on the scale of the picture.
func across(inside int) int { return 520 + max(inside-880, 0)*4 }
