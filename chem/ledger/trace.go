package ledger

import (
	"maps"
	"slices"

	"wetside/sensors/quantity/phrase"
)

// Trace is everything that is bound up with a lot, a batch or a session.
type Trace struct {
	Lots       []string
	Batches    []string
	Containers []string // that hold some of it now, or held it while it was used
	Sessions   []string
	People     []string
}

// Forward follows a lot or a batch to everything that was made from it, to the
// containers that hold it, and to the sessions and people that used it.
func (l *Ledger) Forward(id string) (Trace, error) {
	if !l.now.nameTaken(id) {
		return Trace{}, Problem{ErrUnknown, phrase.Say("No lot or batch is called %q", id), phrase.Say("Check the name")}
	}
	family := l.now.descendants(id)
	var t Trace
	t.Lots, t.Batches = l.now.kinds(family)
	var uses []AffectedUse
	for _, u := range l.now.uses.all() {
		if u.sharesAny(family) {
			uses = append(uses, AffectedUse{Use: u})
			t.Containers = append(t.Containers, u.Container)
		}
	}
	for _, c := range l.now.containers {
		if c.Liquid != nil && slices.ContainsFunc(c.Liquid.origins(), func(o string) bool { return family[o] }) {
			t.Containers = append(t.Containers, c.ID)
		}
	}
	return t.with(l.now.sessionsOf(uses)), nil
}

// Back follows a session to the batches and lots that its prints went through,
// and to the people who were there.
func (l *Ledger) Back(session string) (Trace, error) {
	if _, ok := l.now.sessions.get(session); !ok {
		return Trace{}, Problem{ErrUnknown, phrase.Say("No session is called %q", session), phrase.Say("Check the name")}
	}
	var t Trace
	family := map[string]bool{}
	var uses []AffectedUse
	for _, u := range l.now.uses.all() {
		if u.Session != session {
			continue
		}
		uses = append(uses, AffectedUse{Use: u})
		t.Containers = append(t.Containers, u.Container)
		for id := range u.Shares {
			maps.Copy(family, l.now.ancestors(id))
		}
	}
	t.Lots, t.Batches = l.now.kinds(family)
	return t.with(l.now.sessionsOf(uses)), nil
}

// Siblings lists the batches that share a parent with this one, however far up.
func (l *Ledger) Siblings(batch string) ([]string, error) {
	if _, ok := l.now.batches.get(batch); !ok {
		return nil, Problem{ErrUnknown, phrase.Say("No batch is called %q", batch), phrase.Say("Check the name")}
	}
	family := map[string]bool{}
	for id := range l.now.ancestors(batch) {
		if id != batch {
			maps.Copy(family, l.now.descendants(id))
		}
	}
	_, batches := l.now.kinds(family)
	return slices.DeleteFunc(batches, func(id string) bool { return id == batch }), nil
}

func (t Trace) with(sessions []AffectedSession, people []string) Trace {
	for _, s := range sessions {
		if s.ID != "" {
			t.Sessions = append(t.Sessions, s.ID)
		}
	}
	t.People = people
	slices.Sort(t.Containers)
	t.Containers = slices.Compact(t.Containers)
	return t
}

// descendants is the batch or lot with everything that was made from it.
func (s *state) descendants(id string) map[string]bool {
	family := map[string]bool{id: true}
	for grown := true; grown; {
		grown = false
		for child, b := range s.batches.all() {
			if !family[child] && slices.ContainsFunc(b.Parents, func(p string) bool { return family[p] }) {
				family[child], grown = true, true
			}
		}
	}
	return family
}

// ancestors is the batch or lot with everything that it was made from.
func (s *state) ancestors(id string) map[string]bool {
	family := map[string]bool{id: true}
	for todo := []string{id}; len(todo) > 0; todo = todo[1:] {
		b, _ := s.batches.get(todo[0])
		for _, parent := range b.Parents {
			if !family[parent] {
				family[parent] = true
				todo = append(todo, parent)
			}
		}
	}
	return family
}

func (s *state) kinds(family map[string]bool) (lots, batches []string) {
	for _, id := range sortedKeys(family) {
		if _, ok := s.batches.get(id); ok {
			batches = append(batches, id)
		} else {
			lots = append(lots, id)
		}
	}
	return lots, batches
}
