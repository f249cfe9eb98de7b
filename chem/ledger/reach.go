package ledger

import (
	"math"
	"slices"
	"time"

	"wetside/sensors/quantity/phrase"
)

// limitKind is what a limit watches, as far as a test can say anything about it.
type limitKind uint8

const (
	lifeLimit limitKind = iota + 1 // the age of the mix
	trayLimit                      // the hours in an open tray
	areaLimit                      // the area processed
)

// hardLimit is how many times an unverified figure may be passed on the strength of a test. Beyond
// it no test counts: wetside's own rule, nothing is published.
const hardLimit = 2.0

// Reach is what a passed test of a bath can show, and for how much work after it.
type Reach struct {
	Test  TestKind
	Shows phrase.Sentence
	Not   phrase.Sentence // what the test cannot show, which stays a limit
	// Share is the part of the published capacity that may go through the bath until the test is
	// due again; 0 for the test of a finished print, which says nothing about the next one.
	Share    float64
	Source   phrase.Sentence // of what the test shows; the share is common practice
	Standing Standing

	lifts []limitKind
}

// Reaches lists the reach of every test.
func Reaches() []Reach {
	return []Reach{
		{IodideTest, phrase.Say("that the silver dissolved in the bath is below the few grams a litre at which silver iodide stays"),
			phrase.Say("that the bath fixes: plain water passes. Age, acid and the hours in an open tray stay limits"),
			0.5, phrase.Say("from memory"), Unverified, []limitKind{areaLimit}},
		{ClearingTest, phrase.Say("how fast the bath fixes now, against the same bath when fresh"),
			phrase.Say("how much silver is dissolved in the bath, which is what stays in paper, or whether the bath hardens"),
			0.5, navy(), Verified, []limitKind{lifeLimit, trayLimit, areaLimit}},
		{StopColourTest, phrase.Say("that the bath is still acid enough to stop"),
			phrase.Say("how much acid is left: a yellow bath may be spent a few sheets later"),
			0.25, phrase.Say("photographers' forum, indicator stop bath (apug.org, forum37/108655)"), Secondary, []limitKind{lifeLimit, trayLimit,
				areaLimit}},
		{ResidualSilver, phrase.Say("that this print was fixed"), phrase.Say("anything about the next print or about how much the bath " +
			"still carries"),
			0, phrase.Say("Studio Light, 1923: testing fixing baths"), Verified, nil},
		{ResidualFixer, phrase.Say("that this print was washed"), phrase.Say("anything about the next print, or about silver left in this one"),
			0, phrase.Say("Kodak, Radiography in Modern Industry, p. 139"), Verified, nil},
		{EmergenceTest, phrase.Say("how active the developer is now, against the same batch when fresh"),
			phrase.Say("whether the bath still gives full black, stains or fogs"),
			0.25, darkroomPractice(), CommonPractice, []limitKind{lifeLimit, trayLimit, areaLimit}},
		{BlackStripTest, phrase.Say("that the bath still gives full black in the standard time"),
			phrase.Say("how many more sheets the bath carries, or whether it stains"),
			0.25, darkroomPractice(), CommonPractice, []limitKind{lifeLimit, trayLimit, areaLimit}},
	}
}

// ReachOf is the reach of one test; the zero one, which lifts nothing, for a test that is not known.
func ReachOf(kind TestKind) Reach {
	for _, r := range Reaches() {
		if r.Test == kind {
			return r
		}
	}
	return Reach{Test: kind}
}

// since is the part of the capacity that went through the bath after a test.
func (r reading) since(last Result) float64 {
	now := r.c.contents()
	then := now
	then.Load, then.Row.Led, then.Row.Followed = last.before.load, last.before.led, last.before.followed
	return max(0, r.p.Wear(now).Part-r.p.Wear(then).Part)
}

// counts says whether a passed test still speaks for the bath as it is now.
func (r reading) counts(kind TestKind, last Result) bool {
	age := r.now.Sub(last.At)
	return last.Passed && age >= 0 && age < TestCounts && r.since(last) < ReachOf(kind).Share-1e-9
}

// settle lets a passed test count instead of an unverified figure that ran out, where the test can show
// what the figure limits; past the hard limit nothing does.
func (r reading) settle(limits []Limit) {
	for i, c := range limits {
		if c.doubt != ranOut || r.l.unused() {
			continue
		}
		if c.over >= hardLimit {
			limits[i] = c.beyond()
			continue
		}
		limits[i].do = r.testsOf(c.kind)
		for _, kind := range testsFor(r.l.class) {
			if r.counts(kind, r.l.tests[kind]) && slices.Contains(ReachOf(kind).lifts, c.kind) {
				limits[i] = c.despite(kind)
				break
			}
		}
	}
}

// justTested says of a bath of which no figure is known that its test was passed, or what went through since: how many
// sheets it carries nobody knows, so after the first it is tested again.
func (r reading) justTested(limits []Limit) {
	kind, last := r.lastPass()
	if !r.c.opens() || last.At.IsZero() {
		return
	}
	sheets := float64((r.l.load.Total() - last.before.load.Total()) / EightByTen)
	for i, c := range limits {
		unknown := c.doubt == noFigure || c.doubt == noPast || c.doubt == byMixing && (r.l.unknown.strength || r.l.unknown.aim)
		switch {
		case !unknown || c.Verdict != TestFirst:
		case sheets < 0.01:
			limits[i].Tested = JustTested
			limits[i].Words = phrase.Say("The %s test passed %s ago, no sheet since. %s", kind, span(r.now.Sub(last.At)), c.Words)
		default:
			limits[i].Tested = TestAgain
			limits[i].Words = phrase.Say("%.0f sheets 8x10 since the %s test passed. %s", math.Ceil(sheets-0.01), kind, c.Words)
		}
	}
}

// lastPass is the last test of the bath that was passed and counts by its age; the zero Result where there is none.
func (r reading) lastPass() (kind TestKind, last Result) {
	for _, k := range testsFor(r.l.class) {
		result, age := r.l.tests[k], r.now.Sub(r.l.tests[k].At)
		if result.Passed && age >= 0 && age < TestCounts && result.At.After(last.At) {
			kind, last = k, result
		}
	}
	return kind, last
}

// despite is a limit that ran out and condemns nothing, because a test counts instead.
func (c Limit) despite(kind TestKind) Limit {
	lifted := func(words phrase.Sentence) phrase.Sentence {
		if words.IsZero() {
			return words
		}
		return phrase.Say("%s; the limit is unverified and the passed %s test counts instead", words, kind)
	}
	c.Verdict, c.Due, c.do = Pour, time.Time{}, phrase.Sentence{}
	c.Words, c.bare = lifted(c.Words), lifted(c.bare)
	return c
}

func (c Limit) beyond() Limit {
	c.Verdict, c.doubt = Discard, 0
	c.Words = phrase.Say("%s. Past %g times the figure no test counts any more", c.Words, hardLimit)
	if !c.bare.IsZero() {
		c.bare = phrase.Say("%s. Past %g times the figure no test counts any more", c.bare, hardLimit)
	}
	c.Source, c.Standing = phrase.Say("%s; %g times the figure: wetside's own rule", c.Source, hardLimit), CommonPractice
	return c
}

// testsOf says which tests can lift a limit of this bath.
func (r reading) testsOf(of limitKind) phrase.Sentence {
	kinds := slices.DeleteFunc(testsFor(r.l.class), func(kind TestKind) bool { return !slices.Contains(ReachOf(kind).lifts, of) })
	if len(kinds) == 0 {
		return phrase.Say("No bath test can show this limit: mix fresh, or write the figure from the label into the catalogue with its source.")
	}
	return phrase.Say("Do the test for this bath and enter the result before you pour: %s.", phrase.Join(" or ", kinds...))
}

// tested are the limits of the tests of this bath: a fail condemns it; a pass
// counts for a while; a bath that was never used needs none.
func (r reading) tested() []Limit {
	kinds := testsFor(r.l.class)
	if len(kinds) == 0 {
		return nil
	}
	var last Result
	name := kinds[0]
	for _, kind := range kinds {
		result, done := r.l.tests[kind]
		if done && !result.Passed {
			return []Limit{testLimit(kind, Discard, phrase.Say("The %s test failed on %s: %s", kind, when(result.At), result.Words))}
		}
		if done && result.At.After(last.At) {
			last, name = result, kind
		}
	}
	switch {
	case !last.At.IsZero():
		return []Limit{r.passed(name, last)}
	case r.l.unused():
		return []Limit{testLimit(name, Pour, phrase.Say("Not used yet: no test is due"))}
	}
	if share, fresh := r.fresh(kinds); fresh {
		c := testLimit(name, Pour, phrase.Say("Mixed fresh: its first test is due once %.0f %% of the capacity went through", 100*share))
		c.Due = r.l.oldest.Add(TestCounts)
		return []Limit{c}
	}
	return []Limit{testLimit(name, TestFirst, phrase.Say("Used and never tested"))}
}

// stained is the limit of a fixer in which a print was fixed that still holds silver, until the bath itself shows that it fixes:
// the print says that it was not fixed, not whether the time was too short or the bath spent.
func (r reading) stained() []Limit {
	var newest Failure
	for n, f := range r.s.failures {
		doubtful := func(use int) bool { return slices.Contains(f.uses, use) }
		if n > newest.Entry && f.Test == ResidualSilver && slices.ContainsFunc(r.l.uncleared, doubtful) {
			newest = f
		}
	}
	if newest.Entry == 0 {
		return nil
	}
	c := testLimit(ResidualSilver, TestFirst, phrase.Say("A print fixed in it failed the residual silver test on %s", when(newest.At)))
	c.Name = phrase.Say("test of a print")
	if r.s.comparesClearing(r.l) {
		c.do = r.testsOf(lifeLimit) // what shows that a bath fixes speaks for its age too
	}
	return []Limit{c}
}

// fresh says whether a bath stands in the tray as it was mixed and may have as much work put through as after a passed
// test; nobody tests a bath after its first print.
func (r reading) fresh(kinds []TestKind) (share float64, ok bool) {
	for _, kind := range kinds {
		share = max(share, ReachOf(kind).Share)
	}
	age, wear := r.now.Sub(r.l.oldest), r.p.Wear(r.c.contents())
	mixed := r.c.opens() && !r.l.unknown.age && !r.l.unknown.strength && age >= 0 && age < TestCounts
	return share, mixed && wear.Known() && wear.Part < share-1e-9
}

// passed says whether the last pass still counts.
func (r reading) passed(kind TestKind, last Result) Limit {
	age := r.now.Sub(last.At)
	c := testLimit(kind, Pour, phrase.Say("The %s test passed %s ago: %s", kind, span(age), last.Words))
	if age < 0 {
		return r.unsure(c.Name, phrase.Say("The %s test was done at %s, after the time asked about", kind, when(last.At)))
	}
	if r.l.unused() {
		return c
	}
	c.Due = last.At.Add(TestCounts)
	if age >= TestCounts {
		c.Verdict, c.Tested = TestFirst, TestAgain
		c.Words = phrase.Say("%s: too long ago", c.Words)
	} else if since, share := r.since(last), ReachOf(kind).Share; since >= share-1e-9 {
		c.Verdict, c.Tested = TestFirst, TestAgain
		c.Words = phrase.Say("%s; since then %.0f %% of the capacity went through, and the test counts for %.0f %%", c.Words, 100*since,
			100*share)
	}
	return c
}

func testsFor(c Class) []TestKind {
	return slices.DeleteFunc(TestKinds(), func(kind TestKind) bool { return !kind.Suits(c) })
}

func testLimit(kind TestKind, v Verdict, words phrase.Sentence) Limit {
	guide := GuideTo(kind)
	return Limit{Name: phrase.Say("last test"), Verdict: v, Words: words, Source: guide.Source, Standing: guide.Standing}
}
