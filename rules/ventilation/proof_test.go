package ventilation_test

import (
	"cmp"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/daemon/campaign"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity/phrase"
)

// room is what a room of the truth table has: each column a sign, empty where none is fitted,
// "-" where it is missing, "?" where it is suspected.
type room struct{ flow, second, fan, left, middle, right, pressure, co2 string }

func (r room) columns() []string {
	return []string{r.flow, r.second, r.fan, r.left, r.middle, r.right, r.pressure, r.co2}
}

// hood is what the hood reads from left to right, with a dot where it has no probe.
func (r room) hood() string {
	if r.left+r.middle+r.right == "" {
		return ""
	}
	return strings.Join([]string{cmp.Or(r.left, "·"), cmp.Or(r.middle, "·"), cmp.Or(r.right, "·")}, " ")
}

func (r room) signs(t testing.TB) (all ventilation.Signs) {
	t.Helper()
	kinds := []ventilation.SignKind{ventilation.FlowSign, ventilation.FlowSign, ventilation.FanContact, ventilation.HoodLeft,
		ventilation.HoodMiddle,
		ventilation.HoodRight, ventilation.PressureSign, ventilation.CarbonDioxideOf}
	names := []string{"Exhaust duct", "Velocity pressure", "Fan switch", "Hood, left end", "Hood, middle", "Hood, right end",
		"Room pressure", "Carbon dioxide"}
	for i, text := range r.columns() {
		switch text {
		case "":
		case "-":
			all = append(all, ventilation.NoSign(kinds[i], names[i], phrase.Say("missing (%s)", "silent")))
		case "?":
			all = append(all, ventilation.NoSign(kinds[i], names[i], phrase.Say("suspect (%s)", "stuck")))
		default:
			var v float64
			_, err := fmt.Sscanf(strings.NewReplacer("on", "1", "off", "0").Replace(text), "%g", &v)
			require.NoError(t, err)
			all = append(all, ventilation.GoodSign(kinds[i], names[i], v))
		}
	}
	return all
}

// truth is one row of the truth table of proof: a room that was commissioned at 300 m³/h
// and -5 Pa, in which the people at work could raise the CO2 to 1800 ppm.
type truth struct {
	what string
	room
	state ventilation.State
	says  string // a part of the sentence or of the basis
}

func truthTable() []truth {
	const moving, uneven, low, stopped, unknown, disputed = ventilation.Moving, ventilation.Uneven, ventilation.Low, ventilation.Stopped,
		ventilation.NotProven, ventilation.Disputed
	return []truth{
		{"one flow probe", room{flow: "290"}, moving, "Only one reading, of Exhaust duct, shows this: no other confirms that air moves."},
		{"fan switch shows power alone", room{flow: "290", fan: "on"}, moving, "Only one reading, of Exhaust duct"},
		{"all agree", room{"290", "285", "on", "0.4", "0.5", "0.4", "-5", "700"}, moving,
			"confirmed by Velocity pressure, the hood and Room pressure."},
		{"all at rest", room{"0", "0", "off", "0", "0", "0", "0", "500"}, stopped, "No air moves"},
		{"flow stuck, fan off", room{flow: "290", fan: "off"}, disputed, "Exhaust duct reads 290 m³/h, but Fan switch is off"},
		{"flow stuck, hood still", room{flow: "290", left: "0.02", middle: "0.01"}, disputed,
			"Exhaust duct reads 290 m³/h, but the hood draws 0.02 m/s at most"},
		{"flow stuck, second flow none", room{flow: "290", second: "0"}, disputed, "but Velocity pressure reads 0 m³/h"},
		{"flow stuck, all else at rest", room{"290", "0", "off", "0", "0", "0", "0", "500"}, disputed,
			"but Velocity pressure reads 0 m³/h, Fan switch is off and the hood draws 0.00 m/s at most"},
		{"second flow stuck", room{flow: "0", second: "290", fan: "off"}, disputed,
			"Exhaust duct reads 0 m³/h, but Velocity pressure reads 290 m³/h"},
		{"flow dead, hood draws", room{flow: "0", fan: "on", middle: "0.5"}, disputed,
			"Exhaust duct reads 0 m³/h, but the hood draws 0.50 m/s at most"},
		{"flows differ by a third", room{flow: "300", second: "200"}, disputed, "but Velocity pressure reads 200 m³/h"},
		{"flows differ a little", room{flow: "300", second: "240"}, moving, "confirmed by Velocity pressure"},
		{"both flows too little", room{flow: "200", second: "110"}, low, "Too little air: 200 m³/h"},
		{"fan switch off, hood draws", room{flow: "290", fan: "off", middle: "0.5"}, moving, "Measured by Exhaust duct, confirmed by the hood."},
		{"fan switch off, room drawn down", room{flow: "290", fan: "off", pressure: "-5"}, moving, "confirmed by Room pressure"},
		{"fan on, nothing moves", room{flow: "0", fan: "on"}, stopped, "No air moves"},
		{"left end covered", room{flow: "290", left: "0.08", middle: "0.5", right: "0.4"}, uneven,
			"The hood draws up to 0.50 m/s, but 0.08 m/s at its left end"},
		{"middle covered", room{flow: "290", left: "0.4", middle: "0.1", right: "0.4"}, uneven, "0.10 m/s in its middle"},
		{"an end covered, too little air", room{flow: "200", left: "0.05", middle: "0.3"}, low, "Too little air"},
		{"door open, room not drawn down", room{flow: "290", fan: "on", pressure: "0"}, moving, "Only one reading"},
		{"more CO2 than the people give", room{flow: "290", fan: "on", co2: "2400"}, disputed, "but Carbon dioxide reads 2400 ppm"},
		{"flow suspected", room{flow: "?", fan: "on"}, unknown, "Airflow unknown: Exhaust duct is suspect (stuck). The fan is switched on, " +
			"which does not prove a flow."},
		{"flow suspected, second good", room{flow: "?", second: "285", fan: "on"}, moving, "Only one reading, of Velocity pressure"},
		{"flow missing", room{flow: "-", middle: "0.5", pressure: "-5"}, unknown, "Airflow unknown: Exhaust duct is missing (silent)."},
		{"suspected signs contradict nothing", room{"290", "?", "-", "?", "?", "-", "-", "?"}, moving, "Only one reading"},
		{"no flow probe", room{fan: "on", pressure: "-5"}, unknown, "no flow probe is configured"},
	}
}

// The picture in the guide, proof.svg, shows the same table; WETSIDE_DRAW=1 draws it anew.
func TestTheTruthTableOfProof(t *testing.T) {
	table := truthTable()
	picture := campaign.Picture{Width: 2000, Height: 20*len(table) + 70}
	picture.Words(10, 20, "Truth table of proof: commissioned at 300 m³/h, low below 240, usual room pressure -5 Pa, the people at work "+
		"could raise the CO2 to 1800 ppm.", true)
	picture.Words(10, 38, "Flows in m³/h, hood in m/s (left, middle, right), room pressure in Pa, CO2 in ppm. An empty cell: not fitted; "+
		"-: missing; ?: suspected.", false)
	row(&picture, 60, true, "case", "flow", "second", "fan", "hood", "pressure", "CO2", "verdict")
	for i, c := range table {
		p := ventilation.Prove(ventilation.Evidence{Limits: limits(t), Signs: c.signs(t), UsualPressure: pressureOf(-5),
			MostCO2: ventilation.Known(1800.0)})
		require.Equal(t, c.state, p.State, c.what)
		require.Contains(t, p.Sentence.String()+" "+p.Basis.String(), c.says, c.what)
		_, known := p.Flow.Get()
		require.Equal(t, p.State.Known(), known, "%s: no number without a flow that is known", c.what)
		require.Equal(t, p.State.Drawn(), !p.Basis.IsZero(), c.what)
		y := 80 + 20*i
		picture.Box(595, y-14, 1400, 19, colourOf(p.State))
		row(&picture, y, false, c.what, c.flow, c.second, c.fan, c.hood(), c.pressure, c.co2,
			fmt.Sprintf("%s: %s %s", p.State.Verdict(), p.Sentence, p.Basis))
	}
	picture.InStep(t, "proof.svg")
}

// row writes the cells of a row of the picture.
func row(p *campaign.Picture, y int, bold bool, cells ...string) {
	for i, cell := range cells {
		p.Words([]int{10, 240, 290, 345, 385, 480, 550, 600}[i], y, cell, bold)
	}
}

// colourOf is green for proven air, yellow for a measured flow that is too little or uneven, red for the rest.
func colourOf(s ventilation.State) string {
	switch {
	case s.Proven():
		return "#d8f0d8"
	case s.Known():
		return "#fff0c0"
	}
	return "#f8d8d8"
}

func TestWhileTheFanRunsDownSignsMayDiffer(t *testing.T) {
	e := ventilation.Evidence{Limits: limits(t), Signs: room{flow: "290", fan: "off"}.signs(t), Settling: true}
	require.Equal(t, ventilation.Moving, ventilation.Prove(e).State)
	e.Settling = false
	require.True(t, ventilation.Prove(e).MayStand)
}

// Whatever the readings, a flow that is proven was measured, is enough, and no good
// reading of another probe denies it.
func TestNothingIsProvenThatAReadingContradicts(t *testing.T) {
	l := limits(t)
	rapid.Check(t, func(r *rapid.T) {
		draw := func(name string, values ...string) string { return rapid.SampledFrom(values).Draw(r, name) }
		in := room{draw("flow", "", "-", "?", "0", "100", "250", "290"), draw("second", "", "-", "?", "0", "100", "250", "290"),
			draw("fan", "", "-", "on", "off"),
			draw("left", "", "-", "0", "0.08", "0.5"), draw("middle", "", "?", "0", "0.5"), draw("right", "", "0", "0.5"),
			draw("pressure", "", "0", "-5", "-20"), draw("co2", "", "500", "2500")}
		p := ventilation.Prove(ventilation.Evidence{Limits: l, Signs: in.signs(t), UsualPressure: pressureOf(-5),
			MostCO2: ventilation.Known(1800.0),
			Before:  rapid.SampledFrom(append(ventilation.States(), "")).Draw(r, "before")})
		if !p.State.Proven() {
			return
		}
		require.NotContains(r, []string{in.flow, in.second}, "0", "a probe that reads no flow")
		require.True(r, in.flow == "250" || in.flow == "290" || in.second == "250" || in.second == "290", "enough was measured")
		require.NotEqual(r, "2500", in.co2)
		for _, place := range []string{in.left, in.middle, in.right} {
			require.NotContains(r, []string{"0", "0.08"}, place, "a place of the hood that draws nothing")
		}
		if in.fan == "off" {
			require.True(r, strings.Contains(p.Basis.String(), "confirmed by"), "another sign than the contact shows that air moves")
		}
	})
}

func TestAHoodIsEvenAgainOnlyFromSixtyPercent(t *testing.T) {
	at := func(left string, before ventilation.State) ventilation.State {
		return ventilation.Prove(ventilation.Evidence{Limits: limits(t), Before: before, Signs: room{flow: "290", left: left,
			middle: "0.5"}.signs(t)}).State
	}
	require.Equal(t, ventilation.Moving, at("0.26", ventilation.Moving))
	require.Equal(t, ventilation.Uneven, at("0.24", ventilation.Moving))
	require.Equal(t, ventilation.Uneven, at("0.29", ventilation.Uneven))
	require.Equal(t, ventilation.Moving, at("0.31", ventilation.Uneven))
}

// A flow probe that stands still while the fan is off.
func ExampleProve() {
	limits, _ := ventilation.DeriveLimits(300, ventilation.CommonShares())
	p := ventilation.Prove(ventilation.Evidence{
		Signs: ventilation.Signs{ventilation.GoodSign(ventilation.FlowSign, "Exhaust duct", 290),
			ventilation.GoodSign(ventilation.FanContact, "Fan switch", 0)},
		Limits: limits,
	})
	fmt.Println(p.State.Verdict())
	fmt.Println(p.Sentence)
	// Output:
	// not proven
	// Airflow not proven, the readings disagree: Exhaust duct reads 290 m³/h, but Fan switch is off.
}
