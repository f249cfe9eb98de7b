package dashboard_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/sensors/quantity/phrase"
)

func TestEveryTestStandsOnAPageStepByStepAndThoseThatAreDueAreNamed(t *testing.T) {
	s := stocked(t)
	mix := mixed("F1", "Fixer tray", 200, 1800)
	mix.Product = ""
	s.does(mix)
	for _, path := range []string{"/shelf/tests", "/shelf/tests?look=red"} {
		text := s.page(path)
		for _, kind := range ledger.TestKinds() {
			g := ledger.GuideTo(kind)
			require.Contains(t, text, phrase.Capital(string(kind)))
			for _, part := range slices.Concat([]phrase.Sentence{g.Due, g.Rule, g.Source, g.OnFail}, g.Steps, g.Cautions) {
				require.Contains(t, text, part.String())
			}
		}
		require.Contains(t, text, "Iodide precipitate of Fixer tray")
	}
}
