package record

import (
	"context"
	"encoding/json"
	"slices"

	"wetside/rules/access"
	"wetside/sensors/quantity/phrase"
)

// Registry is every kind of record that the program knows, each declared once.
type Registry struct {
	kinds []Kind
	place map[string]int
}

// NewRegistry puts the kinds together. A kind that is declared twice or in part is
// an error that names it: nobody would know how to read it or who may enter it.
func NewRegistry(kinds ...Kind) (Registry, error) {
	r := Registry{kinds: slices.Clone(kinds), place: make(map[string]int, len(kinds))}
	for i, k := range kinds {
		if err := k.check(); err != nil {
			return Registry{}, err
		}
		if _, twice := r.place[k.Name]; twice {
			return Registry{}, phrase.Errorf("the kind of record %q is declared twice: keep one of the two", k.Name)
		}
		r.place[k.Name] = i
	}
	return r, nil
}

func (k Kind) check() error {
	var missing phrase.Sentence
	switch {
	case k.Name == "":
		return phrase.Errorf("a kind of record has no name: give the word under which the book keeps it")
	case k.Decode == nil:
		missing = phrase.Say("how its content is read (Decode)")
	case k.Recalled == 0:
		missing = phrase.Say("whether a room that starts again needs it (Recalled)")
	case k.Least == "":
		missing = phrase.Say("the lowest role that may enter it (Least)")
	case k.Judges == "":
		missing = phrase.Say("what it changes the judgement of (Judges)")
	case k.Least != Program && !access.Keeper.Covers(k.Least):
		return phrase.Errorf("the kind of record %q asks for the role %q, which nobody can have: use one of package access", k.Name, k.Least)
	default:
		return nil
	}
	return phrase.Errorf("the kind of record %q does not say %s: declare it beside its type", k.Name, missing)
}

// Find gives the kind of a name.
func (r Registry) Find(name string) (Kind, bool) {
	i, known := r.place[name]
	if !known {
		return Kind{}, false
	}
	return r.kinds[i], true
}

// Decode reads the content of a record of a kind.
func (r Registry) Decode(kind string, content json.RawMessage) (any, error) {
	k, known := r.Find(kind)
	if !known {
		return nil, phrase.Errorf("unknown kind of record %q", kind)
	}
	return k.Decode(content)
}

// Least is the lowest role that may enter a record of the kind; a kind that is not
// known is for nobody.
func (r Registry) Least(kind string) access.Role {
	if k, known := r.Find(kind); known {
		return k.Least
	}
	return Program
}

// Admits says whether whoever asks may enter a record of a kind. A registry without
// kinds, as for a history that is read by itself, admits every kind.
func (r Registry) Admits(ctx context.Context, kind string) error {
	if r.place == nil {
		return nil
	}
	k, known := r.Find(kind)
	if !known {
		return phrase.Errorf("nobody has declared records of the kind %q", kind)
	}
	return access.Allow(ctx, k.Least)
}

// Names gives the names of the kinds that are wanted, in the order of their declaration.
func (r Registry) Names(wanted func(Kind) bool) []string { return Names(r.kinds, wanted) }

// Names gives the names of those kinds that are wanted, in their order.
func Names(kinds []Kind, wanted func(Kind) bool) []string {
	var names []string
	for _, k := range kinds {
		if wanted(k) {
			names = append(names, k.Name)
		}
	}
	return names
}

// Judging wants the kinds that change the judgement of any of the subjects.
func Judging(subjects ...Subject) func(Kind) bool {
	return func(k Kind) bool { return slices.Contains(subjects, k.Judges) }
}

// RecalledAs wants the kinds that are read so far back.
func RecalledAs(recalled Recalled) func(Kind) bool {
	return func(k Kind) bool { return k.Recalled == recalled }
}
