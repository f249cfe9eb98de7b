package dashboard_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/formtest"
)

// asks sends a form whose answer is a file.
func (p *pages) asks(form *formtest.Form) *httptest.ResponseRecorder {
	p.t.Helper()
	return p.get(form.Path() + "?" + form.Values().Encode())
}

func TestLabelsAreChosenOnAPageAndMadeAsPDF(t *testing.T) {
	s := stocked(t)
	s.does(ledger.ContainerNamed{Container: "Flasche Ä", Vessel: ledger.Bottle, Capacity: 2000, KeptFor: ledger.Fixer},
		ledger.BatchMixed{Batch: "FX-7", Name: "Fixer", Class: ledger.Fixer, Into: "Flasche Ä", Meant: ledger.FromUnknown, Water: 1500,
			Owner: ledger.House})
	text := s.page("/labels?label=" + url.QueryEscape("batch:FX-7"))
	for _, want := range []string{`value="batch:FX-7" checked="checked"`, `value="vessel:Flasche Ä"/>`, "A4, 8 labels of 99.1 × 67.7 mm",
		"US letter, 10 labels"} {
		require.Contains(t, text, want)
	}
	one := s.page("/shelf/label/FX-7")
	require.Contains(t, one, "/labels?label=batch%3AFX-7")
	require.Contains(t, one, "NOT A REAL BATCH", "the banner of the page is cut off with the rest of the paper")

	out := s.asks(s.opens("/labels").Form(formtest.To("/labels.pdf")).FillIn("label", "batch:FX-7", "label", "vessel:Flasche Ä", "sheet",
		"a4-8", "from", "7", "copies", "2"))
	require.Equal(t, http.StatusOK, out.Code, out.Body)
	require.Equal(t, "application/pdf", out.Header().Get("Content-Type"))
	require.True(t, strings.HasPrefix(out.Body.String(), "%PDF-"))
	require.Equal(t, 2, strings.Count(out.Body.String(), "/Type /Page\n"), "four labels from the seventh on need two sheets of eight")
}

func TestLabelsThatCannotBeMadeSayWhy(t *testing.T) {
	s := stocked(t)
	drum := func() *formtest.Form {
		return s.opens("/labels").Form(formtest.To("/labels.pdf")).FillIn("label", "vessel:drum", "sheet", "a4-8")
	}
	require.Equal(t, http.StatusOK, drum().Send().Status)
	for name, c := range map[string]struct {
		form *formtest.Form
		want string
	}{
		"nothing ticked":   {drum().Fill("label"), "tick"},
		"beyond the sheet": {drum().Fill("from", "9"), "first label from 1 to 8"},
		"no number":        {drum().Fill("from", "x"), "first label from 1 to 8"},
		"too many":         {drum().Fill("copies", "21"), "up to 20 copies"},
	} {
		page := c.form.Send()
		require.Equal(t, http.StatusBadRequest, page.Status, name)
		require.Contains(t, strings.ToLower(page.Text()), c.want, name)
	}
	for address, want := range map[string]string{"sheet=a5-1&label=vessel:drum": "choose one of",
		"sheet=a4-8&label=batch:X": "batch:X is not recorded here"} {
		require.Contains(t, s.opens("/labels.pdf?"+address).Text(), want)
	}
}
