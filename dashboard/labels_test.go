package dashboard_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
)

func TestLabelsAreChosenOnAPageAndMadeAsPDF(t *testing.T) {
	s := stocked(t)
	s.does(ledger.ContainerNamed{Container: "Flasche Ä", Vessel: ledger.Bottle, Capacity: 2000, KeptFor: ledger.Fixer},
		ledger.BatchMixed{Batch: "FX-7", Name: "Fixer", Class: ledger.Fixer, Into: "Flasche Ä", Meant: ledger.FromUnknown, Water: 1500, Owner: ledger.House})
	text := s.page("/labels?label=" + url.QueryEscape("batch:FX-7"))
	for _, want := range []string{`value="batch:FX-7" checked="checked"`, `value="vessel:Flasche Ä"/>`, "A4, 8 labels of 99.1 x 67.7 mm", "US letter, 10 labels"} {
		require.Contains(t, text, want)
	}
	require.Contains(t, s.page("/shelf/label/FX-7"), "/labels?label=batch%3AFX-7")

	out := s.get("/labels.pdf?" + url.Values{"label": {"batch:FX-7", "vessel:Flasche Ä"}, "sheet": {"a4-8"}, "from": {"7"}, "copies": {"2"}}.Encode())
	require.Equal(t, http.StatusOK, out.Code, out.Body)
	require.Equal(t, "application/pdf", out.Header().Get("Content-Type"))
	require.True(t, strings.HasPrefix(out.Body.String(), "%PDF-"))
	require.Equal(t, 2, strings.Count(out.Body.String(), "/Type /Page\n"), "four labels from the seventh on need two sheets of eight")
}

func TestLabelsThatCannotBeMadeSayWhy(t *testing.T) {
	s := stocked(t)
	good := url.Values{"label": {"vessel:drum"}, "sheet": {"a4-8"}}
	require.Equal(t, http.StatusOK, s.get("/labels.pdf?"+good.Encode()).Code)
	for name, c := range map[string]struct {
		field, value, want string
		status             int
	}{
		"no sheet":         {"sheet", "a5-1", "Choose one of", http.StatusBadRequest},
		"nothing ticked":   {"label", "", "is not recorded here", http.StatusNotFound},
		"gone":             {"label", "batch:X", "batch:X is not recorded here", http.StatusNotFound},
		"beyond the sheet": {"from", "9", "first label from 1 to 8", http.StatusBadRequest},
		"no number":        {"from", "x", "first label from 1 to 8", http.StatusBadRequest},
		"too many":         {"copies", "21", "up to 20 copies", http.StatusBadRequest},
	} {
		q := url.Values{"label": {"vessel:drum"}, "sheet": {"a4-8"}}
		q.Set(c.field, c.value)
		out := s.get("/labels.pdf?" + q.Encode())
		require.Equal(t, c.status, out.Code, name)
		require.Contains(t, strings.ToLower(out.Body.String()), strings.ToLower(c.want), name)
	}
	require.Equal(t, http.StatusBadRequest, s.get("/labels.pdf?sheet=a4-8").Code)
}
