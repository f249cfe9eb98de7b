package ledger

import (
	"fmt"
	"strings"
	"time"
)

// Verdict is the answer to "may I pour this?".
type Verdict string

// The verdicts.
const (
	Pour      Verdict = "pour"
	TestFirst Verdict = "test first"
	Discard   Verdict = "discard"
)

func (v Verdict) rank() int {
	return map[Verdict]int{Pour: 1, TestFirst: 2, Discard: 3}[v]
}

// Clock is one limit on a liquid.
type Clock struct {
	Name     string
	Verdict  Verdict
	Words    string    // how far it has run, in one sentence
	Due      time.Time // when it runs out; zero when that is not a matter of the calendar
	Source   string    // of the limit
	Standing Standing

	doubt doubt
}

// doubt is why a clock says to test first, when a test or a figure can settle it.
type doubt uint8

const (
	ranOut   doubt = iota + 1 // an unverified limit has run out: a passed test counts instead
	noFigure                  // the catalogue has no figure
)

// Answer is the passport of a container at a time.
type Answer struct {
	Container     string
	At            time.Time
	Verdict       Verdict
	Because       Clock   // the clock that binds
	Clocks        []Clock // all of them
	Do            string
	SilverBearing bool
	Owner         Owner // empty when nobody knows
}

// Sentence is the verdict with the binding clock and its source.
func (a Answer) Sentence() string {
	return fmt.Sprintf("%s: %s [%s, %s]", a.Verdict, a.Because.Words, a.Because.Source, a.Because.Standing)
}

// MayPour says whether what is in a container may be used at that time.
// Whatever is not known leads to "test first", never to "pour". A limit that is
// unverified and has run out leads to "test first" as well; other limits
// condemn the liquid. A bath test that passed lately counts more than an
// unverified limit.
func (l *Ledger) MayPour(id string, now time.Time) Answer {
	c, ok := l.now.containers[id]
	switch {
	case !ok:
		return l.unanswerable(id, now, "Nothing is known of "+id)
	case c.Liquid == nil:
		return l.unanswerable(id, now, id+" is empty as far as the book knows")
	case c.Vessel == WasteContainer:
		waste := Clock{Name: "waste", Verdict: Discard, Words: id + " holds waste", Source: "record book", Standing: Verified}
		return Answer{id, now, Discard, waste, []Clock{waste}, "Leave it for collection.", c.Stream == SilverStream, House}
	}
	at := c.clone()
	at.airOut(now)
	p := l.product(at.Liquid.product)
	r := reading{l.now, l.settings, at, *at.Liquid, p, now}
	answer := Answer{Container: id, At: now, Clocks: r.clocks(), Owner: at.Liquid.owner, SilverBearing: at.Liquid.class.Stream() == SilverStream}
	answer.Because = binding(answer.Clocks)
	answer.Verdict = answer.Because.Verdict
	answer.Do = r.advice(answer.Because)
	return answer
}

func (l *Ledger) unanswerable(id string, now time.Time, words string) Answer {
	clock := Clock{Name: "record", Verdict: TestFirst, Words: words, Source: "record book", Standing: Verified}
	return Answer{Container: id, At: now, Verdict: TestFirst, Because: clock, Clocks: []Clock{clock}, SilverBearing: true,
		Do: "Enter what it is, late if need be; treat it as silver-bearing until then"}
}

// binding is the clock with the gravest verdict; among those that allow to pour, the one that runs out first.
func binding(clocks []Clock) Clock {
	b := clocks[0]
	for _, c := range clocks[1:] {
		sooner := c.Verdict == Pour && !c.Due.IsZero() && (b.Due.IsZero() || c.Due.Before(b.Due))
		if c.Verdict.rank() > b.Verdict.rank() || (c.Verdict == b.Verdict && sooner) {
			b = c
		}
	}
	return b
}

// advice is what to do about the binding clock.
func (r reading) advice(c Clock) string {
	private := ""
	if r.l.owner.Private() {
		private = " This is " + string(r.l.owner) + ": ask its owner first."
	}
	switch {
	case c.Verdict == Pour:
		return "Pour it and enter the volume." + private
	case c.Verdict == Discard:
		return disposal(r.l.class) + private
	case r.l.class == UnknownClass:
		return "Ask who filled it. If nobody knows: " + disposal(UnknownClass)
	case c.doubt == noFigure:
		return "Write the figure from its label into the catalogue, with its source, or make it fresh." + private
	case c.Name == "strength":
		return "Compare it with a fresh mix before you pour, or mix anew." + private
	}
	return "Do the test for this bath and enter it before you pour: " + testsWords(r.l.class) + "." + private
}

// testsWords names the tests for a class.
func testsWords(c Class) string {
	var words []string
	for _, kind := range testsFor(c) {
		words = append(words, string(kind))
	}
	if len(words) == 0 {
		return "no bath test is published for it, so make it fresh or ask the person in charge"
	}
	return strings.Join(words, " or ")
}
