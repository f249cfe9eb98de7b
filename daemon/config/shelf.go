package config

import (
	"slices"
	"strings"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/rules"
)

// readPeople reads who may write into the book of the shelf, where nobody signs in:
// otherwise that is whoever has an account, and nobody is listed twice.
func readPeople(root section, zone *time.Location, signIn bool) []ledger.Person {
	var people []ledger.Person
	names := seen{}
	for _, s := range root.tables("person") {
		p := ledger.Person{Name: s.text("name", true), Left: s.date("left", zone)}
		names.once(s, "name", "person", p.Name)
		people = append(people, p)
	}
	if signIn && len(people) > 0 {
		root.complain("person", "with sign-in = true under [access] everybody with an account may write: remove every [[person]], invite "+
			"people with wetside people invite, and revoke the accounts of those who left")
	}
	return people
}

// readPouring reads the order in which baths are filled; those that it leaves out
// come after it in tray order.
func readPouring(s section, baths []rules.Bath) []string {
	ids := make([]string, len(baths))
	for i, b := range baths {
		ids[i] = b.ID
	}
	order := s.texts("pouring")
	for i, id := range order {
		switch {
		case !slices.Contains(ids, id):
			s.complain("pouring", "this room has no bath %q: expected some of %s", id, strings.Join(ids, ", "))
			return ids
		case slices.Contains(order[:i], id):
			s.complain("pouring", "the bath %q is named twice", id)
			return ids
		}
	}
	for _, id := range ids {
		if !slices.Contains(order, id) {
			order = append(order, id)
		}
	}
	return order
}

// readDilutions reads for which dilution the times are published, and times at
// other dilutions, written such as "1+14=2:30".
func readDilutions(s section, b *rules.Bath) {
	if text := s.text("parts", false); text != "" {
		parts, err := chem.ParseParts(text)
		if err != nil {
			s.complain("parts", "%s", err)
		}
		b.Nominal = parts
	}
	for _, text := range s.texts("dilutions") {
		left, right, _ := strings.Cut(text, "=")
		parts, err := chem.ParseParts(left)
		if err != nil {
			s.complain("dilutions", "%s", err)
			continue
		}
		t, err := chem.ParseTime(right)
		if err != nil {
			s.complain("dilutions", "%s", err)
			continue
		}
		b.Published = append(b.Published, chem.DilutionTime{Parts: parts, Time: t})
	}
	b.Slowing = s.number("slowing", 0, 0, 10)
}
