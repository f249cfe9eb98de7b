package simroom

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func dice() *rand.Rand { return rand.New(rand.NewPCG(7, 7)) }

// A round duct of 0.15 m at a mean of 4 m/s carries 254.5 m³/h, 8.48 changes an
// hour of 30 m³: Q = v·A, computed.
func TestDuctFlowIsVelocityTimesArea(t *testing.T) {
	require.InDelta(t, 254.5, 4*ductArea*3600, 0.1)
	require.InDelta(t, 8.48, 4*ductArea*3600/roomVolume, 0.01)
}

func TestFanDuctAndGrilleBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := fan{spinning: rapid.Float64Range(0, 1).Draw(t, "spinning"), blocked: rapid.Bool().Draw(t, "blocked")}
		q := f.flow()
		require.InDelta(t, fanPush*f.spinning*f.spinning, fanAndDuct*q*q-f.roomPressure(), 1e-6)
		require.InDelta(t, q/3600, f.velocity()*ductArea, 1e-9)
		require.InDelta(t, math.Sqrt(2*f.velocityPressure()/airDensity), f.velocity(), 1e-9)
		require.LessOrEqual(t, f.roomPressure(), 0.0)
	})
}

func TestABlockedGrilleDeepensTheRoomPressureAndCostsFlow(t *testing.T) {
	open, blocked := fan{spinning: 1}, fan{spinning: 1, blocked: true}
	require.InDelta(t, 300, open.flow(), 1)
	require.InDelta(t, -5, open.roomPressure(), 0.1)
	require.InDelta(t, 184, blocked.flow(), 1)
	require.InDelta(t, -30, blocked.roomPressure(), 0.5)
}

func TestTheFanStopsByItselfWhenItsTimerHasRunOut(t *testing.T) {
	var f fan
	f.start(2 * time.Hour)
	for range 7199 {
		f.step(time.Second)
	}
	require.True(t, f.on)
	require.InDelta(t, 300, f.flow(), 1)
	f.step(time.Second)
	require.False(t, f.on)
	f.step(time.Minute)
	require.Less(t, f.flow(), 0.01)

	f.start(0)
	f.step(100 * time.Hour)
	require.True(t, f.on, "without a timer it runs on")
	f.tripped = true
	f.step(time.Minute)
	require.True(t, f.on)
	require.Less(t, f.flow(), 0.01)
}

func TestTheRoomFillsWithWhatTheFanNoLongerTakesOut(t *testing.T) {
	m := newModel(dice())
	m.people = 8
	m.Step(2 * time.Hour)
	acid, so2, co2 := m.air.acidPPM(), m.air.so2PPM(), m.air.co2.level
	require.InDelta(t, 8*personCO2/(300.0/3600+seepage), co2-corridorCO2, 5, "CO2 in its steady state, G/Q")
	require.InDelta(t, 0.1, acid, 0.09, "about what one survey of a teaching darkroom found (NIOSH HETA 85-323-1677: 0.08 ppm)")
	require.Less(t, m.air.heat.level, 24.0)

	m.fan.stop()
	m.Step(20 * time.Minute)
	require.Greater(t, m.air.acidPPM(), 2*acid)
	require.Greater(t, m.air.so2PPM(), 2*so2)
	require.Greater(t, m.air.co2.level, 2*co2)

	m.fan.start(0)
	m.each(everyTray(), func(m *model, i int) { m.trays[i].covered = true })
	m.Step(2 * time.Hour)
	require.Less(t, m.air.acidPPM(), acid/4, "a lid keeps the acid in")
	m.trays = trays{}
	m.people = 0
	m.Step(3 * time.Hour)
	require.InDelta(t, 0, m.air.acidPPM(), 1e-6)
	require.InDelta(t, corridorCO2, m.air.co2.level, 1)
	require.InDelta(t, corridor, m.air.heat.level, 0.1)
}

func TestHoursOfAnythingStayPhysical(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := newModel(dice())
		for range rapid.IntRange(1, 4).Draw(t, "acts") {
			m.people = rapid.IntRange(0, 20).Draw(t, "people")
			m.fan.blocked = rapid.Bool().Draw(t, "blocked")
			rapid.SampledFrom([]func(){m.fill, func() { m.trays = trays{} }, m.fan.stop, func() { m.fan.start(0) },
				m.trays[developer].warm}).Draw(t, "act")()
			m.Step(time.Duration(rapid.IntRange(1, 2400).Draw(t, "seconds")) * time.Second)
			for i := range m.trays {
				if m.trays[i].filled {
					require.InDelta(t, 27, m.trays[i].bath.level, 20)
				}
			}
			require.GreaterOrEqual(t, m.air.acidPPM(), 0.0)
			require.Less(t, m.air.acid.level, acidOver*fasterWhenWarmer(acidWarm, 20, 60), "never above what stands over the bath")
			require.GreaterOrEqual(t, m.air.co2.level, corridorCO2-1e-6)
			require.GreaterOrEqual(t, m.air.humidity(), 0.0)
			require.LessOrEqual(t, m.air.humidity(), 100.0)
		}
	})
}

func TestTheWashWandersAboutItsAim(t *testing.T) {
	m := newModel(dice())
	sum, squares, n := 0.0, 0.0, 4000.0
	for range int(n) {
		m.stepWash(washPace)
		sum += m.wash - washAim
		squares += (m.wash - washAim) * (m.wash - washAim)
	}
	require.InDelta(t, 0, sum/n, 0.05)
	require.InDelta(t, washWander, math.Sqrt(squares/n), 0.05)
}

func TestProbesShowStepsAndFollowWithALag(t *testing.T) {
	m := newModel(dice())
	m.people = 8
	m.Step(time.Hour)
	for _, p := range probes() {
		p.felt = p.truth(m)
		want := p.felt
		sum := 0.0
		for range 2000 {
			p.say(m.dice, faults{})
			steps := p.said / p.step
			require.InDelta(t, math.Round(steps), steps, 1e-6, p.id)
			sum += p.said
		}
		require.InDelta(t, want, sum/2000, p.step/2+p.noise/10, p.id)
	}
	p := probes()[0]
	p.felt = m.trays[developer].bath.level
	gap := p.felt - m.air.heat.level
	p.feel(m.air.heat.level, p.lag)
	require.InDelta(t, gap/math.E, p.felt-m.air.heat.level, 1e-9, "lifted, it goes over to the air by its lag")
}

// Sulfur dioxide dissolves 1.386 times as well at 20 °C as at 30 °C: arithmetic on the
// 2900 K of Sander, Henry's law constants v5.0.0 (2023). What dissolves less gives off more.
func TestAWarmerFixerGivesOffWhatItNoLongerDissolves(t *testing.T) {
	require.InDelta(t, 1.386, fasterWhenWarmer(so2Warm, 20, 30), 0.005)
}
