package config_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/daemon/config"
)

// shelfFile is a file with everything of the shelf in it.
const shelfFile = `[site]
catalogue = "own.toml"
zone = "UTC"

[[person]]
name = "Ada"

[[person]]
name = "Bo"
left = 2026-05-01

[[room]]
id = "a"
volume = "30 m3"
announce = 15
pouring = ["fixer", "developer"]

[[room.bath]]
id = "developer"
role = "developer"
[room.bath.times]
source = "invented"
points = ["20C=1:45", "24C=1:10"]
parts = "1+9"
dilutions = ["1+7=1:00", "1+15=1:35"]
slowing = 0.2

[[room.bath]]
id = "stop-bath"
role = "stop bath"

[[room.bath]]
id = "fixer"
role = "fixer"
`

const ownCatalogue = `[[product]]
id = "mine"
name = "Mine"
class = "fixer"
opened_life = { value = 3, unit = "months", source = "label of the bottle", standing = "verified" }
`

func loadWith(t *testing.T, file, catalogue string) (config.Config, error) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "site.toml"), []byte(file), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "own.toml"), []byte(catalogue), 0o600))
	return config.Load(filepath.Join(dir, "site.toml"))
}

func TestThePlaceMayHaveACatalogueOfItsOwnBesideItsConfiguration(t *testing.T) {
	c, err := loadWith(t, shelfFile, ownCatalogue)
	require.NoError(t, err)
	_, known := c.Catalogue.Product("mine")
	require.True(t, known)
	require.Len(t, c.Catalogue.Products(), 1, "it takes the place of the one that the program carries")
	require.Equal(t, time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC), c.People[1].Left)
	require.True(t, c.People[0].Left.IsZero())
	room := c.Rooms[0]
	require.Equal(t, []string{"fixer", "developer", "stop-bath"}, room.Pouring, "what the order leaves out comes last, in tray order")
	require.InDelta(t, 0.15, room.Announce, 1e-12)
	require.Equal(t, chem.Parts{Concentrate: 1, Water: 9}, room.Baths[0].Nominal)
	require.Equal(t, []chem.DilutionTime{{Parts: chem.Parts{Concentrate: 1, Water: 7}, Time: time.Minute},
		{Parts: chem.Parts{Concentrate: 1, Water: 15}, Time: 95 * time.Second}}, room.Baths[0].Published)
	require.InDelta(t, 0.2, room.Baths[0].Slowing, 1e-12)
}

func TestTheCatalogueThatTheProgramCarriesIsTakenWhenNoneIsNamed(t *testing.T) {
	c, err := config.Parse("site.toml", []byte(strings.Replace(shelfFile, `catalogue = "own.toml"`, "", 1)))
	require.NoError(t, err)
	_, known := c.Catalogue.Product("print-developer")
	require.True(t, known)
}

func TestWhatIsWrongAboutTheShelfIsSaidWithItsPlace(t *testing.T) {
	for _, c := range []struct{ name, old, new, catalogue, want string }{
		{"no such file", `"own.toml"`, `"gone.toml"`, ownCatalogue, "the file can't be read"},
		{"a figure without a source", "", "", strings.Replace(ownCatalogue, `source = "label of the bottle", `, "", 1), "has no source"},
		{"a colon ratio", `parts = "1+9"`, `parts = "1:10"`, ownCatalogue, "write 1+9 or 1+10"},
		{"a bath that is not there", `["fixer", "developer"]`, `["soup"]`, ownCatalogue, `this room has no bath "soup"`},
		{"a bath named twice", `["fixer", "developer"]`, `["fixer", "fixer"]`, ownCatalogue, "named twice"},
		{"people beside accounts", "[[person]]", "[access]\nsign-in = true\n[[person]]", ownCatalogue, "remove every [[person]]"},
		{"a person named twice", `name = "Bo"`, `name = "Ada"`, ownCatalogue, `the person "Ada" is described twice`},
		{"a time that is none", `1+15=1:35`, `1+15=soon`, ownCatalogue, "site.toml:25"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := loadWith(t, strings.Replace(shelfFile, c.old, c.new, 1), c.catalogue)
			require.ErrorContains(t, err, c.want)
		})
	}
}
