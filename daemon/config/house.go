package config

import (
	"cmp"
	"fmt"
	"net/url"
	"os"
	"slices"
	"strings"
	"time"

	"wetside/daemon/house"
	"wetside/rules/access"
)

// houseBack is the page that the provider of a house leads back to.
const houseBack = "/sign-in/house/back"

// readHouse reads by which identity provider people sign in too; nil where by none. Address is
// where the pages are found.
func readHouse(s section, address string) *house.Options {
	h := &house.Options{Name: s.text("name", true), Issuer: s.text("issuer", true), ClientID: s.text("client-id", true),
		Redirect: address + houseBack, Scopes: s.texts("scopes"), RoleClaim: s.text("role-claim", true), NameClaim: s.text("name-claim", false),
		Roles: readHouseRoles(s), Roots: readRoots(s, "authority"),
		Every:  s.duration("ask-again", 5*time.Minute, 30*time.Second, time.Hour),
		Bridge: s.duration("without-answer", 4*time.Hour, time.Minute, 24*time.Hour)}
	if len(h.Scopes) == 0 {
		h.Scopes = []string{"profile"}
	}
	h.NameClaim = cmp.Or(h.NameClaim, "name")
	if err := checkIssuer(h.Issuer); err != nil {
		s.complain("issuer", "%s", err)
	}
	if address == "" {
		s.complain("issuer", "the provider sends people back to these pages: write address = \"https://...\" under [site]")
	}
	h.Secret = readSecretLine(s, "client-secret-file")
	h.Sites = below(s, "sites", readHouseSites)
	if h.Every >= h.Bridge {
		s.complain("without-answer", "must be longer than ask-again")
	}
	return h
}

// checkIssuer refuses a provider that anybody on the way could pretend to be.
func checkIssuer(text string) error {
	u, err := url.Parse(text)
	local := err == nil && u.Scheme == "http" && slices.Contains([]string{"127.0.0.1", "::1", "localhost"}, u.Hostname())
	if text == "" || err == nil && u.Host != "" && u.RawQuery == "" && (u.Scheme == "https" || local) {
		return nil
	}
	return fmt.Errorf("%q is not an issuer: expected an address that begins with https://, exactly as the provider writes it", text)
}

func readHouseRoles(above section) map[string]access.Role {
	s, _ := above.table("roles")
	roles := map[string]access.Role{}
	for _, role := range access.Roles() {
		for _, group := range s.texts(string(role)) {
			if group = strings.TrimSpace(group); group == "" || roles[group] != "" {
				s.complain(string(role), "%q already has a role, or is empty: name each group once", group)
			}
			roles[group] = role
		}
	}
	if len(roles) == 0 {
		above.complain("roles", "nobody could sign in: write which groups have a role, such as volunteer = [\"darkroom\"]")
	}
	return roles
}

// readHouseSites reads which groups see which sites of a centre.
func readHouseSites(s section) map[string]access.Sites {
	sites := map[string]access.Sites{}
	for key := range s.values {
		shown, err := access.ParseSites(key)
		if err != nil {
			s.complain(key, "%s", err)
		}
		for _, group := range s.texts(key) {
			sites[group] = sites[group].And(shown)
		}
	}
	return sites
}

// LoadHouse reads a file that describes the identity provider of a centre: the table [house],
// with the address of the pages before it.
func LoadHouse(file string) (*house.Options, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("the file of the identity provider can't be read: %w", err)
	}
	d, err := parse(file, data)
	if err != nil {
		return nil, err
	}
	root := d.root()
	address := strings.TrimRight(readWebAddress(root, "address", true), "/")
	h := below(root, "house", func(s section) *house.Options { return readHouse(s, address) })
	if h == nil {
		root.complain("house", "is missing: write a table [house] with name =, issuer = and client-id =")
	}
	return h, d.found()
}
