package config_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/config"
	"wetside/daemon/house"
	"wetside/rules/access"
)

// ofHouse describes an identity provider, with lines of its table before its roles.
func ofHouse(lines string) string {
	return "[access.house]\nname = \"Example College\"\nclient-id = \"wetside\"\nrole-claim = \"groups\"\n" + lines +
		"\n[access.house.roles]\nvolunteer = [\"dark\"]\nkeeper = [\"techs\", \"admins\"]"
}

const issuer = "issuer = \"https://login.example.org\""

func TestTheProviderOfTheHouseIsRead(t *testing.T) {
	secret := filepath.Join(t.TempDir(), "secret")
	require.NoError(t, os.WriteFile(secret, []byte("an invented secret\n"), 0o600))
	lines := issuer + "\nclient-secret-file = \"" + secret + "\"\nask-again = \"1m\""
	text, err := os.ReadFile(filepath.Join("..", "..", "configs", "one-room.toml"))
	require.NoError(t, err)
	site := strings.Replace(string(text), "[site]", "[site]\naddress = \"https://darkroom.example.org/\"", 1)
	c, err := config.Parse("site.toml", []byte(site+"\n[access]\nsign-in = true\n"+ofHouse(lines)))
	require.NoError(t, err)
	require.Equal(t, &house.Options{Name: "Example College", Issuer: "https://login.example.org", ClientID: "wetside",
		Secret: "an invented secret", Redirect: "https://darkroom.example.org/sign-in/house/back", Scopes: []string{"profile"},
		RoleClaim: "groups", NameClaim: "name", Every: time.Minute, Bridge: 4 * time.Hour,
		Roles: map[string]access.Role{"dark": access.Volunteer, "techs": access.Keeper, "admins": access.Keeper}}, c.Access.House)
}

func TestAProviderThatCannotBeMeantIsRefused(t *testing.T) {
	for lines, want := range map[string]string{
		"[access]\nsign-in = true\n" + ofHouse(issuer):                                                  "write address =",
		"[access]\n" + ofHouse(issuer):                                                                  "write sign-in = true",
		"[access]\nsign-in = true\n" + ofHouse("issuer = \"http://login.example.org\""):                 "begins with https://",
		"[access]\nsign-in = true\n" + ofHouse(issuer+"\nsecret = \"x\""):                               "unknown key",
		"[access]\nsign-in = true\n" + ofHouse(issuer+"\nclient-secret-file = \"/nowhere/secret\""):     "can't be read",
		"[access]\nsign-in = true\n" + ofHouse(issuer) + "\nmanager = [\"dark\"]":                       "name each group once",
		"[access]\nsign-in = true\n" + ofHouse(issuer) + "\nboss = [\"dark\"]":                          "unknown key",
		"[access]\nsign-in = true\n" + ofHouse(issuer+"\nask-again = \"1h\"\nwithout-answer = \"30m\""): "must be longer",
		"[access]\nsign-in = true\n[access.house]\nname = \"x\"\n" + issuer + "\nclient-id = \"x\"":     "nobody could sign in",
	} {
		_, err := withAccess(t, lines)
		require.ErrorContains(t, err, want, lines)
	}
}

func TestTheProviderOfACentreIsReadFromAFileOfItsOwn(t *testing.T) {
	file := filepath.Join(t.TempDir(), "house.toml")
	write := func(text string) { require.NoError(t, os.WriteFile(file, []byte(text), 0o600)) }
	table := "[house]\nname = \"Example College\"\nclient-id = \"wetside\"\nrole-claim = \"groups\"\n" + issuer +
		"\n[house.roles]\nmanager = [\"estates\"]\n[house.sites]\nall = [\"estates\"]\n\"building Library\" = [\"books\"]\n"
	write("address = \"https://centre.example.org\"\n" + table)
	h, err := config.LoadHouse(file)
	require.NoError(t, err)
	require.Equal(t, "https://centre.example.org/sign-in/house/back", h.Redirect)
	require.Equal(t, access.Manager, h.Roles["estates"])
	require.Equal(t, map[string]access.Sites{"estates": access.AllSites, "books": "building Library"}, h.Sites)
	for text, want := range map[string]string{table + "Library = [\"x\"]": "names no sites", table: "address",
		"address = \"https://centre.example.org\"": "write a table [house]",
		"[house": "expected"} {
		write(text)
		_, err := config.LoadHouse(file)
		require.ErrorContains(t, err, want)
	}
}
