package access_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/rules/access"
)

func TestWhichSitesSomebodyMaySee(t *testing.T) {
	for text, want := range map[string]struct {
		kept  access.Sites
		shown []string
	}{
		"":                                {"", nil},
		" ; ":                             {"", nil},
		"all":                             {"all", []string{"Annex", "Basement", "Loft"}},
		"site Annex; all":                 {"all", []string{"Annex", "Basement", "Loft"}},
		"building  Library":               {"building Library", []string{"Annex", "Basement"}},
		"site Loft;building Library;":     {"building Library; site Loft", []string{"Annex", "Basement", "Loft"}},
		"site Loft; site Loft":            {"site Loft", []string{"Loft"}},
		"site Library; building Annex":    {"building Annex; site Library", nil},
		"building library":                {"building library", nil},
		"site Loft and more; site  Annex": {"site Annex; site Loft and more", []string{"Annex"}},
	} {
		s, err := access.ParseSites(text)
		require.NoError(t, err)
		require.Equal(t, want.kept, s)
		var shown []string
		for _, site := range [][2]string{{"Annex", "Library"}, {"Basement", "Library"}, {"Loft", ""}} {
			if s.Show(site[0], site[1]) {
				shown = append(shown, site[0])
			}
		}
		require.Equal(t, want.shown, shown, text)
	}
	for _, wrong := range []string{"Annex", "building", "rooms Annex", "ALL"} {
		_, err := access.ParseSites(wrong)
		require.ErrorContains(t, err, "names no sites", wrong)
	}
}

func TestTwoChoicesOfSitesTogetherShowWhatEitherDoes(t *testing.T) {
	require.Equal(t, access.Sites("building Library; site Loft"), access.Sites("site Loft").And("building Library"))
	require.Equal(t, access.AllSites, access.Sites("site Loft").And(access.AllSites))
	require.Equal(t, access.Sites(""), access.Sites("").And(""))
}

func TestWhereNobodySignsInEverySiteIsShown(t *testing.T) {
	require.Equal(t, access.AllSites, access.SitesOf(t.Context()))
	require.Empty(t, access.SitesOf(access.With(t.Context(), access.Person{Name: "Ida", Role: access.Keeper})), "not even a keeper")
}
