package ledger_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/sensors/quantity/phrase"
)

// Amounts of the guides: 1 % sodium sulfide on a washed strip (Studio Light, 1923); 10 mL of 4 to 5 % potassium
// iodide into 100 mL (The Darkroom Cookbook, p. 108); 3.75 g of silver nitrate and 62.5 mL of 28 % acetic acid
// to 500 mL, a drop, 2 minutes (Kodak, Radiography in Modern Industry, p. 139: twice as much to a litre).
func TestTheGuidesGiveAmountsSafetyAndSources(t *testing.T) {
	for kind, says := range map[ledger.TestKind][]string{
		ledger.IodideTest:     {"5 g of potassium iodide in 100 mL", "exactly 100 mL", "10 mL of the 4 to 5 %", "Plain water stays clear"},
		ledger.ClearingTest:   {"twice the clearing time", "tabular grain for three times"},
		ledger.StopColourTest: {"without an indicator", "pH 5"},
		ledger.ResidualSilver: {"1 g of sodium sulfide in 100 mL", "hydrogen sulfide", "unwashed print"},
		ledger.ResidualFixer:  {"3.75 g of silver nitrate", "62.5 mL of 28 % acetic acid", "500 mL", "exactly 2 minutes"},
		ledger.EmergenceTest:  {"temperature of the bath"},
		ledger.BlackStripTest: {"standard temperature"},
	} {
		g := ledger.GuideTo(kind)
		text := phrase.Join("\n", append(append(g.Steps, g.Cautions...), g.Rule)...).String()
		for _, part := range says {
			require.Contains(t, text, part, kind)
		}
		require.NotEmpty(t, g.Cautions, kind)
		require.NotEmpty(t, g.Source.String(), kind)
		require.NotEmpty(t, g.OnFail.String(), kind)
	}
}

func TestTheCautionsNameWhatHurtsPeople(t *testing.T) {
	for class, says := range map[ledger.Class][]string{
		ledger.StopBath:       {"Glacial acetic acid", "Acid into water", "hydrogen sulfide"},
		ledger.Fixer:          {"asthma", "hydrogen sulfide", "silver"},
		ledger.PrintDeveloper: {"allergy", "Sulfites can trouble people with asthma"},
		ledger.WashAid:        {"asthma", "silver-bearing"},
		ledger.Toner:          {"poisonous", "hydrogen sulfide"},
		ledger.UnknownClass:   {"do not smell"},
	} {
		text := phrase.Join("\n", ledger.CautionsFor(class)...).String()
		for _, part := range append(says, "eyewash", "sharps", "goggles", "safety data sheet") {
			require.Contains(t, text, part, class)
		}
	}
}
