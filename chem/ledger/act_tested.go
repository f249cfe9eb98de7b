package ledger

import (
	"errors"
	"slices"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// TestDone is a test with what was seen or measured; the verdict follows from
// the rule. A test of a finished print names the session that it came from in
// its [Entry] and no container.
type TestDone struct {
	Test       TestKind `json:"test"`
	Container  string   `json:"container,omitempty"`
	Film       string   `json:"film,omitempty"` // which film was cleared
	Seconds    float64  `json:"seconds,omitempty"`
	Baseline   bool     `json:"baseline,omitempty"` // taken on the fresh bath
	Seen       Seen     `json:"seen,omitempty"`
	WhiteLight bool     `json:"white_light,omitempty"`
	// Temperature of the bath, for the emergence time: entries from before it was asked for have none.
	Temperature *quantity.Celsius `json:"bath_c,omitempty"`
}

func (TestDone) Kind() string { return "test done" }

func (a TestDone) about() []string { return named(a.Container) }

func (a TestDone) Sentence() phrase.Sentence {
	of := phrase.Plain(a.Container)
	if a.Container == "" {
		of = phrase.Say("finished prints")
	}
	return phrase.Say("%s test of %s: %s", a.Test, of, a.result())
}

func (a TestDone) validate() error {
	err := first(oneOf(phrase.Say("test"), a.Test, TestKinds()...), maybeName(phrase.Say("vessel"), a.Container),
		maybeName(phrase.Say("film"), a.Film), needTemperature(phrase.Say("A bath temperature"), a.Temperature))
	switch {
	case err != nil:
		return err
	case a.Test.onPrint() != (a.Container == ""):
		return Problem{ErrForm, phrase.Say("A bath is tested in a container, a finished print belongs to a session"),
			phrase.Say("Name the container, or the session of the print")}
	case a.Test.timed() && !seconds(a.Seconds):
		return badSeconds(a.Seconds)
	case a.Test == ClearingTest && a.Film == "":
		return Problem{ErrForm, phrase.Say("It is not said which film was cleared"),
			phrase.Say("Name the film: only the same film can be compared")}
	case a.Baseline && !a.Test.compared():
		return Problem{ErrForm, phrase.Say("The %s test has no baseline", a.Test), phrase.Say("Record it as an ordinary test")}
	case a.Test == StopColourTest && !a.WhiteLight:
		return Problem{ErrForm, phrase.Say("The colour of a stop bath cannot be read by red light"), phrase.Say("Look at it in white light")}
	case a.Test.timed() || a.Baseline:
		return nil
	}
	return oneOf(phrase.Say("result of this test"), a.Seen, a.Test.Seen()...)
}

func (a TestDone) result() phrase.Sentence {
	switch {
	case a.Baseline && a.Seconds > 0:
		return phrase.Say("%s on the fresh bath", inSecondsOf(a.Seconds))
	case a.Baseline:
		return phrase.Say("first strip of this batch")
	case a.Seconds > 0:
		return inSecondsOf(a.Seconds)
	}
	return a.Seen.Said()
}

func (a TestDone) touches() []string { return nil } // adds to a bath and contradicts nobody

func (a TestDone) check(s *state, e Entry) error {
	session, err := s.sessionOf(e)
	if err != nil {
		return err
	}
	if a.Test.onPrint() {
		if session == "" {
			return Problem{ErrSession, phrase.Say("It is not said from which session the print is"), phrase.Say("Name the session")}
		}
		return nil
	}
	c, err := s.holding(a.Container)
	switch {
	case err != nil:
		return err
	case !a.Test.Suits(c.Liquid.class):
		return Problem{ErrMismatch, phrase.Say("The %s test says nothing about %s", a.Test, c.Liquid.class),
			phrase.Say("Choose the test for this bath")}
	case a.Baseline && !c.Liquid.unused():
		return Problem{ErrBaseline, phrase.Say("%s has been used already", a.Container),
			phrase.Say("Take a baseline on the fresh bath only; record this as an ordinary test")}
	}
	if _, err = a.judge(s.baseline(*c.Liquid, a)); errors.Is(err, ErrBaseline) && c.Liquid.unused() {
		return Problem{ErrBaseline, phrase.Say("There is no baseline for the %s yet, and nothing has gone through %s", a.Test, a.Container),
			phrase.Say("Record this as measured on the fresh bath: it is the baseline")}
	}
	return err
}

func (a TestDone) apply(s *state, e Entry) {
	if a.Test.onPrint() {
		s.printTested(a, e)
		return
	}
	c := s.containers[a.Container]
	l := c.Liquid.scaled(1, c.Liquid.volume)
	fresh := s.baseline(l, a)
	judged, err := a.judge(fresh)
	if err != nil {
		return // check has refused it
	}
	if a.Baseline {
		s.keepBaseline(l, a)
	}
	result := Result{At: e.At, Passed: judged.Passed, Words: judged.Words, before: done{l.load, l.row.Led, l.row.Followed}}
	switch {
	case a.Test != ClearingTest:
	case a.Baseline:
		result.Seconds, result.FreshSeconds = a.Seconds, a.Seconds
	default:
		result.Seconds, result.FreshSeconds = a.Seconds, fresh.Seconds
	}
	if l.tests == nil {
		l.tests = map[TestKind]Result{}
	}
	l.tests[a.Test] = result
	if a.Test == IodideTest || a.Test == ClearingTest {
		s.fixingTested(&l, e, a)
	}
	c.Liquid = &l
}

// fixingTested closes the books on the prints so far after a pass, and names them after a fail.
func (s *state) fixingTested(l *Liquid, e Entry, a TestDone) {
	if l.tests[a.Test].Passed {
		l.lastPass, l.passLoad, l.uses = e.At, l.load.Total(), nil
		if a.Test == ClearingTest || !s.comparesClearing(*l) {
			l.uncleared = nil
		}
		s.passes.add(pass{e.At, l.origins()})
		return
	}
	s.failures[e.Number] = Failure{Entry: e.Number, At: e.At, Test: a.Test, Container: a.Container,
		LastPass: l.lastPass, uses: slices.Clone(l.uses), passDensity: float64(l.passLoad) / (float64(l.volume) / 1000), failDensity: l.density()}
}

// baseline is the smallest one known for the batches in the liquid, which is
// the strictest; 0 seconds when there is none.
func (s *state) baseline(l Liquid, a TestDone) Timed {
	var least Timed
	for _, id := range l.origins() {
		if b := s.baselines[baselineKey{id, a.Film, a.Test}]; b.Seconds > 0 && (least.Seconds == 0 || b.Seconds < least.Seconds) {
			least = b
		}
	}
	return least
}

// comparesClearing says whether a clearing time of the liquid can be judged: one was measured when it was fresh.
func (s *state) comparesClearing(l Liquid) bool {
	origins := l.origins()
	for key := range s.baselines {
		if key.kind == ClearingTest && slices.Contains(origins, key.origin) {
			return true
		}
	}
	return false
}

func (s *state) keepBaseline(l Liquid, a TestDone) {
	value := Timed{a.Seconds, a.Temperature}
	if !a.Test.timed() {
		value.Seconds = 1
	}
	for id := range l.shares {
		s.baselines[baselineKey{id, a.Film, a.Test}] = value
	}
}
