package ledger

import (
	"wetside/sensors/quantity/phrase"
)

// tested are the clocks of the tests of this bath: a fail condemns it; a pass
// counts for a while; a bath that was never used needs none.
func (r reading) tested() []Clock {
	kinds := testsFor(r.l.class)
	if len(kinds) == 0 {
		return nil
	}
	var last Result
	name := kinds[0]
	for _, kind := range kinds {
		result, done := r.l.tests[kind]
		if done && !result.Passed {
			return []Clock{testClock(kind, Discard, phrase.Say("The %s test failed on %s: %s", kind, when(result.At), result.Words))}
		}
		if done && result.At.After(last.At) {
			last, name = result, kind
		}
	}
	switch {
	case !last.At.IsZero():
		return []Clock{r.passed(name, last)}
	case r.l.unused():
		return []Clock{testClock(name, Pour, phrase.Say("Not used yet: no test is due"))}
	}
	return []Clock{testClock(name, TestFirst, phrase.Say("Used and never tested"))}
}

// passed says whether the last pass still counts.
func (r reading) passed(kind TestKind, last Result) Clock {
	age := r.now.Sub(last.At)
	c := testClock(kind, Pour, phrase.Say("The %s test passed %s ago: %s", kind, span(age), last.Words))
	if age < 0 {
		return r.unsure(c.Name, phrase.Say("The %s test was done at %s, after the time asked about", kind, when(last.At)))
	}
	if r.l.unused() {
		return c
	}
	c.Due = last.At.Add(TestCounts)
	if age >= TestCounts {
		c.Verdict = TestFirst
		c.Words = phrase.Say("%s: too long ago", c.Words)
	} else if since, share := r.since(last), ReachOf(kind).Share; since >= share-1e-9 {
		c.Verdict = TestFirst
		c.Words = phrase.Say("%s; since then %.0f %% of the capacity went through, and the test counts for %.0f %%", c.Words, 100*since,
			100*share)
	}
	return c
}

// testsFor lists the tests of a bath of the class.
func testsFor(c Class) []TestKind {
	var kinds []TestKind
	for _, kind := range TestKinds() {
		if kind.Suits(c) {
			kinds = append(kinds, kind)
		}
	}
	return kinds
}

func testClock(kind TestKind, v Verdict, words phrase.Sentence) Clock {
	guide := GuideTo(kind)
	return Clock{Name: phrase.Say("last test"), Verdict: v, Words: words, Source: guide.Source, Standing: guide.Standing}
}
