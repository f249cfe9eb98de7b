package access

import (
	"context"
	"slices"
	"strings"

	"wetside/sensors/quantity/phrase"
)

// Sites says which sites of a centre somebody may see: all, those of some buildings, some by
// name. Empty shows none. It is kept as text in one order, so that the same choice is the same value.
type Sites string

// AllSites shows every site.
const AllSites Sites = "all"

const (
	ofBuilding = "building "
	ofSite     = "site "
)

// ParseSites reads "all", nothing, or a list such as "building Library; site Annex".
func ParseSites(text string) (Sites, error) {
	var list []string
	for part := range strings.SplitSeq(text, ";") {
		part = strings.Join(strings.Fields(part), " ")
		switch {
		case part == "":
		case part == string(AllSites):
			return AllSites, nil
		case strings.HasPrefix(part, ofBuilding), strings.HasPrefix(part, ofSite):
			list = append(list, part)
		default:
			return "", phrase.Errorf("%q names no sites: write all, or a list such as building Library; site Annex", part)
		}
	}
	slices.Sort(list)
	return Sites(strings.Join(slices.Compact(list), "; ")), nil
}

// And shows what either shows.
func (s Sites) And(other Sites) Sites {
	if s == AllSites || other == AllSites {
		return AllSites
	}
	both, err := ParseSites(string(s) + ";" + string(other))
	if err != nil { // one of them was never read by ParseSites
		return ""
	}
	return both
}

// Show says whether a site may be seen.
func (s Sites) Show(name, building string) bool {
	tidy := func(text string) string { return strings.Join(strings.Fields(text), " ") }
	return s == AllSites || slices.ContainsFunc(strings.Split(string(s), "; "), func(part string) bool {
		return part == ofSite+tidy(name) || building != "" && part == ofBuilding+tidy(building)
	})
}

// SitesOf are the sites that whoever asks may see. Where nobody signs in, everybody on this
// computer sees all.
func SitesOf(ctx context.Context) Sites {
	if who, signedIn := From(ctx); signedIn {
		return who.Sites
	}
	return AllSites
}
