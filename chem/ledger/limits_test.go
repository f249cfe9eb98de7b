package ledger_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// US Navy, Photography (Basic), NAVEDTRA 14209: exhausted when the clearing
// time has doubled; film is fixed for twice the clearing time.
func TestClearingTime(t *testing.T) {
	for now, passes := range map[float64]bool{30: true, 59: true, 60: false, 61: false} {
		j, err := ledger.JudgeClearing(30, now)
		require.NoError(t, err)
		require.Equal(t, passes, j.Passed, "%g s: %s", now, j.Words)
	}
	require.Equal(t, 60.0, ledger.FilmFixingSeconds(30))
	j, err := ledger.JudgeClearing(30, 40)
	require.NoError(t, err)
	require.Equal(t, "clears in 40 s, 30 s when fresh, exhausted at 60 s; fix film for at least 80 s, with tabular grain 120 s",
		j.Words.String())
	j, err = ledger.JudgeClearing(30, 61)
	require.NoError(t, err)
	require.Equal(t, "clears in 61 s, 30 s when fresh, exhausted at 60 s", j.Words.String())
	_, err = ledger.JudgeClearing(0, 40)
	require.ErrorIs(t, err, ledger.ErrBaseline, "without a baseline there is no verdict")
	_, err = ledger.JudgeClearing(30, -1)
	require.ErrorIs(t, err, ledger.ErrForm)
}

// The ratio of 1.5 is common practice: only the arithmetic and the refusal are checked.
func TestEmergenceNeedsABaseline(t *testing.T) {
	_, err := ledger.JudgeEmergence(ledger.Timed{}, ledger.Timed{Seconds: 12})
	require.ErrorIs(t, err, ledger.ErrBaseline)
	_, err = ledger.JudgeEmergence(ledger.Timed{Seconds: 10}, ledger.Timed{Seconds: -1})
	require.ErrorIs(t, err, ledger.ErrForm)
	for now, passes := range map[float64]bool{10: true, 14.9: true, 15: false} {
		for _, at := range []*quantity.Celsius{nil, warm(20)} {
			j, err := ledger.JudgeEmergence(ledger.Timed{Seconds: 10, Temperature: at}, ledger.Timed{Seconds: now, Temperature: at})
			require.NoError(t, err)
			require.Equal(t, passes, j.Passed)
		}
	}
}

// Published tables change by 3.95 to 12.25 % per kelvin (the spread of the general rule): 10 s at 20 °C
// become 11.7 to 16.3 s at 16 °C, so a bath there is tired from 17.6 s at the earliest, from 24.5 s for sure.
func TestAColdDeveloperIsNotCalledTiredForBeingCold(t *testing.T) {
	fresh := ledger.Timed{Seconds: 10, Temperature: warm(20)}
	for now, passes := range map[float64]bool{16: true, 17.5: true, 24.6: false, 30: false} {
		j, err := ledger.JudgeEmergence(fresh, ledger.Timed{Seconds: now, Temperature: warm(16)})
		require.NoError(t, err, "%g s", now)
		require.Equal(t, passes, j.Passed, "%g s", now)
	}
	for _, between := range []float64{17.6, 20, 24.4} {
		_, err := ledger.JudgeEmergence(fresh, ledger.Timed{Seconds: between, Temperature: warm(16)})
		require.ErrorIs(t, err, ledger.ErrBaseline)
		require.ErrorContains(t, err, "Bring the bath to the temperature of the first timing")
	}
	j, err := ledger.JudgeEmergence(ledger.Timed{Seconds: 10, Temperature: warm(20.5)}, ledger.Timed{Seconds: 11, Temperature: warm(20.5)})
	require.NoError(t, err)
	require.Equal(t, "first tone after 11 s at 20.5 °C, 10 s at 20.5 °C when fresh, tired from 15 s at this temperature", j.Words.String())
	// A warm bath that is as slow as the fresh cool one was is tired: 10 s at 16 °C are 8.5 s at most at 20 °C.
	j, err = ledger.JudgeEmergence(ledger.Timed{Seconds: 10, Temperature: warm(16)}, ledger.Timed{Seconds: 13, Temperature: warm(20)})
	require.NoError(t, err)
	require.False(t, j.Passed)
}

func TestANewEmergenceTimeNeedsTheTemperatureAndAnOldOneIsStillRead(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), developer("dev", "tray-dev", 2000))
	bare := ledger.TestDone{Test: ledger.EmergenceTest, Container: "tray-dev", Seconds: 10, Baseline: true}
	require.Contains(t, b.refuse(b.entry(at("12:01"), bare), ledger.ErrForm), "temperature of the developer is missing")
	dated := bare
	dated.Temperature = warm(20)
	taken := b.write(at("12:01"), dated)
	for act, ok := range map[ledger.Act]bool{ledger.Correction{Of: taken, Reason: "r", Instead: bare}: false,
		ledger.Correction{Of: taken, Reason: "r", Instead: dated}: true, ledger.Correction{Of: taken, Reason: "r"}: true} {
		require.Equal(t, ok, b.l.Check(b.entry(at("12:01"), act)) == nil, "%+v", act)
	}
	require.NoError(t, b.l.Apply(b.entry(at("12:01"), bare)), "an entry from before it was asked for")
	act, err := ledger.DecodeAct("test done", []byte(`{"test":"emergence time","container":"tray-dev","seconds":14}`))
	require.NoError(t, err)
	require.NoError(t, b.l.Apply(b.entry(at("12:02"), act)))
	held, _ := b.l.Contents("tray-dev", at("12:03"))
	require.True(t, held.Tests[ledger.EmergenceTest].Passed)
}

// 40 CFR 261.24: hazardous when equal to or greater than 5.0 mg/L (D011).
func TestHazardousSilver(t *testing.T) {
	require.False(t, ledger.HazardousSilver(4.9))
	require.True(t, ledger.HazardousSilver(5.0))
	require.True(t, ledger.HazardousSilver(5.1))
}

// A laboratory page that cites ISO 18917:1999 (secondary): 1.4 µg/cm² is 0.014
// g/m², and the test must come within 14 days.
func TestResidualThiosulfate(t *testing.T) {
	require.InDelta(t, 0.014, float64(ledger.MicrogramPerSquareCentimetre(1.4)), 1e-15)
	within, valid := ledger.JudgeThiosulfate(ledger.MicrogramPerSquareCentimetre(1.4), 14)
	require.True(t, within && valid)
	within, valid = ledger.JudgeThiosulfate(0.0141, 3)
	require.True(t, valid && !within)
	within, valid = ledger.JudgeThiosulfate(0, 0)
	require.True(t, within && valid)
	for _, bad := range [][2]float64{{0.001, -1}, {-0.001, 3}, {0.001, 14.1}} {
		within, valid = ledger.JudgeThiosulfate(quantity.GramPerSquareMetre(bad[0]), bad[1])
		require.False(t, valid || within)
	}
	within, valid = ledger.JudgeThiosulfate(0.001, 15)
	require.False(t, valid || within)
}

// Derived in the reference from a forum post on coating weights (secondary):
// 40 sheets 8 x 10 at 1.615 g/m², 70 % dissolved, in 2 L is 1.167 g/L.
func TestSilverLoad(t *testing.T) {
	require.InDelta(t, 0.051613, float64(ledger.EightByTen), 5e-7)
	in := ledger.SilverInputs{Coating: 1.615, Dissolved: 0.7}
	load, ok := in.SilverLoad(40*ledger.EightByTen, 2000)
	require.True(t, ok)
	require.InDelta(t, 1.167, float64(load), 0.0005)
	load, ok = in.SilverLoad(0.001, 0.5)
	require.True(t, ok, "half a millilitre is a volume")
	require.InDelta(t, 0.001*1.615*0.7/0.0005, float64(load), 1e-9)
	_, ok = in.SilverLoad(1, 0)
	require.False(t, ok)
	_, ok = in.SilverLoad(-1, 1000)
	require.False(t, ok)
	_, ok = ledger.SilverInputs{Coating: 1, Dissolved: -0.1}.SilverLoad(1, 1000)
	require.False(t, ok)
	_, ok = ledger.SilverInputs{Coating: -1, Dissolved: 1}.SilverLoad(1, 1000)
	require.False(t, ok)
	_, ok = ledger.SilverInputs{Coating: 1, Dissolved: 1.1}.SilverLoad(1, 1000)
	require.False(t, ok)
	// 50, 150 and 300 mg a square foot are 27.8, 83.3 and 166.7 mg a sheet (derived there).
	for perSquareFoot, perSheet := range map[float64]float64{50: 27.8, 150: 83.3, 300: 166.7} {
		in := ledger.SilverInputs{Coating: quantity.GramPerSquareMetre(perSquareFoot / 1000 / 0.09290304), Dissolved: 1}
		require.InDelta(t, perSheet, 1000*in.SilverMass(ledger.EightByTen), 0.05)
	}
}

func TestSilverIsLinearInTheArea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := ledger.SilverInputs{Coating: quantity.GramPerSquareMetre(rapid.Float64Range(0, 10).Draw(t, "coating")),
			Dissolved: rapid.Float64Range(0, 1).Draw(t, "dissolved")}
		a := quantity.SquareMetre(rapid.Float64Range(0, 100).Draw(t, "area"))
		one, ok := in.SilverLoad(a, 1000)
		require.True(t, ok)
		two, ok := in.SilverLoad(2*a, 2000)
		require.True(t, ok)
		require.InDelta(t, float64(one), float64(two), 1e-9)
	})
}
