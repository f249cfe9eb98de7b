package ledger

import (
	"time"

	"wetside/sensors/quantity/phrase"
)

// Verdict is the answer to "may I pour this?".
type Verdict string

// What a passport says of a batch.
const (
	Pour      Verdict = "pour"
	TestFirst Verdict = "test first"
	Discard   Verdict = "discard"
)

func (v Verdict) rank() int {
	return map[Verdict]int{Pour: 1, TestFirst: 2, Discard: 3}[v]
}

// Limit is one bound on the use of a liquid: its age, its hours in the open, the area processed, a test.
type Limit struct {
	Name     phrase.Sentence
	Verdict  Verdict
	Words    phrase.Sentence // how far it has run
	Due      time.Time       // when it runs out; zero when that is not a matter of the calendar
	Source   phrase.Sentence // of the limit
	Standing Standing        // empty where there is no figure
	Tested   Tested          // where the verdict is TestFirst
	Binds    bool            // it is the one on which the verdict rests

	doubt doubt
	kind  limitKind
	over  float64         // how many times the figure was passed
	do    phrase.Sentence // what to do, where the limit knows better than its verdict
	bare  phrase.Sentence // the words without the name, where they have it in them
}

// BesideName says how far the limit has run where its name stands beside.
func (c Limit) BesideName() phrase.Sentence {
	if c.bare.IsZero() {
		return c.Words
	}
	return c.bare
}

// Tested says how a bath that is to be tested first stands to the tests that it has passed.
type Tested uint8

// The zero Tested is a bath without a passed test.
const (
	JustTested Tested = iota + 1 // and nothing went through since: more than a test nobody can do
	TestAgain                    // its test counts no more
	NoTest                       // no test of such a bath is published
)

// OfMix says whether the limit is about how the bath was mixed.
func (c Limit) OfMix() bool { return c.doubt == byMixing }

// doubt is why a limit says to test first, when a test or a figure can settle it.
type doubt uint8

const (
	ranOut   doubt = iota + 1 // an unverified limit has run out: a passed test counts instead
	noFigure                  // the catalogue has no figure
	byMixing                  // the strength is not as meant, or not known
	noPast                    // nobody knows when it was mixed and what it has done
)

// Answer is the passport of a container at a time.
type Answer struct {
	Verdict Verdict
	Because Limit   // the limit that binds
	Limits  []Limit // all of them
	Do      phrase.Sentence
}

// Furthest is the limit of which most is used up, with the share of it: 1 is all. It is false
// where no limit is known that runs.
func (a Answer) Furthest() (c Limit, share float64, known bool) {
	for _, one := range a.Limits {
		if one.over > share {
			c, share, known = one, one.over, true
		}
	}
	return c, share, known
}

// Sentence is the verdict with the binding limit and its source.
func (a Answer) Sentence() phrase.Sentence { return phrase.Say("%s: %s", a.Verdict, a.Why()) }

// Why is the binding limit with its source.
func (a Answer) Why() phrase.Sentence {
	if a.Because.Standing == "" {
		return phrase.Say("%s [%s]", a.Because.Words, a.Because.Source)
	}
	return phrase.Say("%s [%s, %s]", a.Because.Words, a.Because.Source, a.Because.Standing)
}

// MayPour says whether what is in a container may be used at that time.
// Whatever is not known leads to "test first", never to "pour". A limit that is
// unverified and has run out leads to "test first" as well; other limits
// condemn the liquid. A bath test that passed counts more than an unverified
// limit as far as its [Reach] goes, and never past [hardLimit].
func (l *Ledger) MayPour(id string, now time.Time) Answer {
	c, ok := l.now.containers[id]
	switch {
	case !ok:
		return unanswerable(phrase.Say("Nothing is known of %s", id))
	case c.Liquid == nil:
		return unanswerable(phrase.Say("%s is empty according to the record", id))
	case c.Vessel == WasteContainer:
		waste := Limit{Name: phrase.Say("waste"), Verdict: Discard, Binds: true, Words: phrase.Say("%s holds waste", id),
			Source: phrase.Say("record book"), Standing: Verified}
		return Answer{Discard, waste, []Limit{waste}, phrase.Say("Leave it for collection.")}
	}
	at := c.clone()
	at.airOut(now)
	r := reading{l.now, at, *at.Liquid, l.product(at.Liquid.product), now}
	answer := Answer{Limits: r.limits()}
	bound := binding(answer.Limits)
	if bound.Binds = true; at.Liquid.class != UnknownClass && len(testsFor(at.Liquid.class)) == 0 {
		bound.Tested = NoTest
	}
	answer.Because, answer.Verdict = *bound, bound.Verdict
	answer.Do = r.advice(answer.Because)
	return answer
}

func unanswerable(words phrase.Sentence) Answer {
	limit := Limit{Name: phrase.Say("record"), Verdict: TestFirst, Binds: true, Words: words, Source: phrase.Say("record book"),
		Standing: Verified}
	return Answer{Verdict: TestFirst, Because: limit, Limits: []Limit{limit},
		Do: phrase.Say("Record what this is, late if need be; treat it as silver-bearing until then")}
}

// binding is the limit with the gravest verdict; among those that allow to pour, the one that runs out first.
func binding(limits []Limit) *Limit {
	b := &limits[0]
	for i := range limits {
		c := &limits[i]
		sooner := c.Verdict == Pour && !c.Due.IsZero() && (b.Due.IsZero() || c.Due.Before(b.Due))
		if c.Verdict.rank() > b.Verdict.rank() || (c.Verdict == b.Verdict && sooner) {
			b = c
		}
	}
	return b
}

// advice is what to do about the binding limit, and whom to ask before.
func (r reading) advice(c Limit) phrase.Sentence {
	do := r.todo(c)
	if r.l.owner.private() && (r.l.class != UnknownClass || c.Verdict != TestFirst) {
		return phrase.Say("%s This is %s: ask its owner first.", do, r.l.owner)
	}
	return do
}

func (r reading) todo(c Limit) phrase.Sentence {
	switch {
	case !c.do.IsZero():
		return c.do
	case c.Verdict == Pour:
		return phrase.Say("Pour it and enter the volume.")
	case c.Verdict == Discard:
		return disposal(r.l.stream())
	case r.l.class == UnknownClass:
		return phrase.Say("Ask who filled it. If nobody knows: %s", disposal(SilverStream))
	case c.doubt == noFigure:
		return phrase.Say("Write the figure from its label into the catalogue, with its source, or make it fresh.")
	case c.doubt == byMixing:
		return phrase.Say("Compare it with a fresh mix before you pour, or mix a fresh bath.")
	}
	return phrase.Say("Do the test for this bath and enter it before you pour: %s.", testsWords(r.l.class))
}

func testsWords(c Class) phrase.Sentence {
	return joined(" or ", testsFor(c), phrase.Say("no bath test is published for it, so make it fresh or ask the person in charge"))
}
