package ledger

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Failure is a failed test of fixing or washing, with the prints it throws doubt on.
type Failure struct {
	Entry     uint64
	At        time.Time
	Test      TestKind
	Container string    // empty for a test of a print
	LastPass  time.Time // zero when the bath never passed

	uses                     []int
	passDensity, failDensity float64
}

// AffectedUse is a use with how likely it is that its prints suffered.
type AffectedUse struct {
	Use
	// Weight runs from 0, the bath was as good as at the last pass, to 1, it
	// was as used up as at the fail.
	Weight float64
}

// AffectedSession is a session with its weight, the greatest of its uses.
type AffectedSession struct {
	Session
	Weight float64
	Sheets int
}

// Affected is the answer to "which prints are affected?".
type Affected struct {
	Failure
	Uses        []AffectedUse
	Sessions    []AffectedSession // most likely first
	Tell        []string          // people, by name
	Instruction phrase.Sentence
}

// Failures lists the failed tests of fixing and washing in the order of their entries.
func (l *Ledger) Failures() []Failure {
	var all []Failure
	for _, n := range slices.Sorted(maps.Keys(l.now.failures)) {
		all = append(all, l.now.failures[n])
	}
	return all
}

// Affected names the prints that a failed test throws doubt on: all that went
// through the liquid since it last passed, wherever it was poured in between.
func (l *Ledger) Affected(entry uint64) (Affected, error) {
	f, ok := l.now.failures[entry]
	if !ok {
		return Affected{}, Problem{ErrUnknown, phrase.Say("Entry %d is not a failed test of fixing or washing", entry),
			phrase.Say("Choose the entry of the failed test")}
	}
	a := Affected{Failure: f, Instruction: instruction(f)}
	for _, at := range f.uses {
		u := l.now.uses.at(at)
		a.Uses = append(a.Uses, AffectedUse{cloneUse(u), f.weight(u)})
	}
	a.Sessions, a.Tell = l.now.sessionsOf(a.Uses)
	return a, nil
}

// weight is how far the bath had gone, at that use, from the last pass to the fail.
func (f Failure) weight(u Use) float64 {
	if f.failDensity <= f.passDensity { // as of a print, which has neither
		return 1
	}
	return min(1, max(0, (u.Density-f.passDensity)/(f.failDensity-f.passDensity)))
}

func instruction(f Failure) phrase.Sentence {
	if f.Test == ResidualFixer {
		return phrase.Say("Wash the prints again, with wash aid if it is used, for the full time. Then test one print of each session " +
			"before the rest is put away.")
	}
	return phrase.Say("Soak the prints, fix them again in fresh fixer for the full time (two baths if possible), and wash them again. " +
		"Then test one print of each session before the rest is put away.")
}

// sessionsOf sums the uses up by session, and collects the people to tell: who
// is named with the use, otherwise everybody of the session, and where nobody is known who entered it.
func (s *state) sessionsOf(uses []AffectedUse) ([]AffectedSession, []string) {
	found := map[string]AffectedSession{}
	var people []string
	var last uint64 // what went through several baths is one entry, and its uses stand together
	for _, u := range uses {
		session := found[u.Session]
		known, _ := s.sessions.get(u.Session)
		session.Session, session.Weight = known.clone(), max(session.Weight, u.Weight)
		if u.Entry != last {
			session.Sheets, last = session.Sheets+u.Count, u.Entry
		}
		found[u.Session] = session
		named := u.People
		if len(named) == 0 {
			named = slices.DeleteFunc(append(slices.Clone(session.People), session.Lead), func(name string) bool { return name == "" })
		}
		if len(named) == 0 {
			named = []string{u.By}
		}
		people = append(people, named...)
	}
	slices.Sort(people)
	people = slices.Compact(people)
	return slices.SortedFunc(maps.Values(found), func(a, b AffectedSession) int {
		return cmp.Or(cmp.Compare(b.Weight, a.Weight), cmp.Compare(a.ID, b.ID))
	}), people
}

// printTested gathers, after a fail of a finished print, the uses of the same fixer since its last pass, and
// of that session.
func (s *state) printTested(a TestDone, e Entry) {
	if judged, _ := a.judge(Timed{}); judged.Passed { // what was seen can always be judged
		return
	}
	session := s.session(e)
	f := Failure{Entry: e.Number, At: e.At, Test: a.Test}
	began, shared := s.fixedIn(session)
	if a.Test == ResidualSilver {
		f.LastPass = s.lastPass(began, shared)
	}
	for i, u := range s.uses.all() {
		mine := u.Session == session
		related := a.Test == ResidualSilver && u.sharesAny(shared) && !u.At.Before(f.LastPass)
		if u.Class == Fixer && (mine || related) {
			f.uses = append(f.uses, i)
		}
	}
	s.failures[e.Number] = f
}

func (s *state) fixedIn(session string) (began time.Time, batches map[string]bool) {
	batches = map[string]bool{}
	for _, u := range s.uses.all() {
		if u.Session != session || u.Class != Fixer {
			continue
		}
		began = earlier(began, u.At)
		for id := range u.Shares {
			batches[id] = true
		}
	}
	return began, batches
}

// lastPass is the last passed fixing test of one of the batches before a time.
func (s *state) lastPass(before time.Time, batches map[string]bool) time.Time {
	var last time.Time
	for _, p := range s.passes.all() { // in the order in which things happened
		if p.at.Before(before) && slices.ContainsFunc(p.origins, func(id string) bool { return batches[id] }) {
			last = p.at
		}
	}
	return last
}

func (u Use) sharesAny(batches map[string]bool) bool {
	for id := range u.Shares {
		if batches[id] {
			return true
		}
	}
	return false
}
