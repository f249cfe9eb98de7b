package web

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/record"
)

// TestARouteThatLacksSomethingStopsTheStart declares routes that nobody could rely on.
func TestARouteThatLacksSomethingStopsTheStart(t *testing.T) {
	kinds, err := record.NewRegistry(rules.Kinds()...)
	require.NoError(t, err)
	volunteer, at := From(access.Volunteer), Entry{Under: UnderAir, At: 1, Name: "air", Text: "Air"}
	seen := Act{Name: "seen", Kind: rules.AcknowledgeAlarm{}.Kind()}
	for wrong, routes := range map[string][]Route{
		`nobody has decided who may use "POST /rooms/{room}/invented": ` +
			`say so with For where the route is declared`: {{Pattern: "POST /rooms/{room}/invented"}},
		`the pages "air" and "draught" have the same place in the menu: give one of them another, such as At: 4`: {
			{Pattern: "GET /air", For: volunteer, Menu: at},
			{Pattern: "GET /far", For: volunteer, Menu: Entry{Under: UnderAir, At: 3, Name: "far", Text: "Far"}},
			{Pattern: "GET /draught", For: volunteer, Menu: Entry{Under: UnderAir, At: 1, Name: "draught", Text: "Draught"}}},
		`the menu has no word for the page "draught"`: {{Pattern: "GET /draught", For: volunteer, Menu: Entry{Under: UnderAir, At: 2,
			Name: "draught"}}},
		`nobody may send the act "wind up" of a form`: {{Pattern: "POST /air",
			For: volunteer, Acts: []Act{{Name: "wind up", Kind: "invented"}}}},
		`the act "seen" of a form becomes a record of the kind`: {{Pattern: "POST /air",
			For: volunteer, Acts: []Act{seen, {Name: "seen", Kind: rules.ShelveAlarm{}.Kind()}}}},
	} {
		_, err := register(routes, kinds)
		require.ErrorContains(t, err, wrong)
	}
	g, err := register([]Route{{Pattern: "GET /air", For: volunteer, Menu: at}, {Pattern: "POST /air", For: volunteer,
		Acts: []Act{seen}}}, kinds)
	require.NoError(t, err)
	require.Len(t, g.menu, 1)
	least, known := g.leastOf("seen")
	require.True(t, known)
	require.Equal(t, access.Volunteer, least)
}
