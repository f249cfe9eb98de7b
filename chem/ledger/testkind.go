package ledger

import (
	"wetside/chem"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// TestKind is a test of a bath or of a finished print.
type TestKind string

// The tests of baths and of finished prints.
const (
	IodideTest     TestKind = "iodide precipitate"
	ClearingTest   TestKind = "clearing time"
	StopColourTest TestKind = "stop bath colour"
	ResidualSilver TestKind = "residual silver"
	ResidualFixer  TestKind = "residual fixer"
	EmergenceTest  TestKind = "emergence time"
	BlackStripTest TestKind = "standard black strip"
)

func navy() phrase.Sentence { return phrase.Say("US Navy, Photography (Basic), NAVEDTRA 14209") }

func darkroomPractice() phrase.Sentence { return phrase.Say("common practice") }

// TestKinds lists every test.
func TestKinds() []TestKind {
	return []TestKind{IodideTest, ClearingTest, StopColourTest, ResidualSilver, ResidualFixer, EmergenceTest, BlackStripTest}
}

// onPrint says whether the test is done on a finished print instead of a bath.
func (k TestKind) onPrint() bool { return k == ResidualSilver || k == ResidualFixer }

// timed says whether the result is a number of seconds against a baseline.
func (k TestKind) timed() bool { return k == ClearingTest || k == EmergenceTest }

// compared says whether the test means nothing without a baseline of the fresh bath.
func (k TestKind) compared() bool { return k.timed() || k == BlackStripTest }

// Suits says whether the test can be done on a class of bath.
func (k TestKind) Suits(c Class) bool {
	switch k {
	case IodideTest, ClearingTest:
		return c == Fixer
	case StopColourTest:
		return c == StopBath
	}
	return c.Developer() && !k.onPrint()
}

// Seen is what a person saw in a test that is not timed.
type Seen string

// Seen lists what a person can have seen, the good one first; nothing for a test that is timed.
func (k TestKind) Seen() []Seen {
	switch k {
	case IodideTest:
		return []Seen{"clear", "cloudy"}
	case StopColourTest:
		return []Seen{"yellow", "orange", "purple", "dark"}
	case ResidualSilver:
		return []Seen{"no stain", "stain"}
	case ResidualFixer:
		return []Seen{"no darker than the comparison", "darker than the comparison"}
	case BlackStripTest:
		return []Seen{"as black as the first strip", "weaker than the first strip"}
	}
	return nil
}

// Judgement is the verdict of one test.
type Judgement struct {
	Passed bool
	Words  phrase.Sentence
}

// JudgeClearing compares a clearing time with that of the fresh bath, both in
// seconds and for the same film: the bath is exhausted when the time has
// doubled (US Navy, Photography (Basic), NAVEDTRA 14209). Without a baseline
// there is no verdict.
func JudgeClearing(fresh, now float64) (Judgement, error) {
	if !seconds(fresh) {
		return Judgement{}, noBaseline(ClearingTest)
	}
	if !seconds(now) {
		return Judgement{}, badSeconds(now)
	}
	if now < 2*fresh {
		return Judgement{true,
			phrase.Say("clears in %.0f s, %.0f s when fresh, exhausted at %.0f s; fix film for at least %.0f s, with tabular grain %.0f s",
				now, fresh, 2*fresh, FilmFixingSeconds(now), tabularFixingSeconds(now))}, nil
	}
	return Judgement{false, phrase.Say("clears in %.0f s, %.0f s when fresh, exhausted at %.0f s", now, fresh, 2*fresh)}, nil
}

// FilmFixingSeconds is the fixing time of film for the clearing time measured
// now: twice as long (US Navy, Photography (Basic), NAVEDTRA 14209).
func FilmFixingSeconds(clearing float64) float64 { return 2 * clearing }

// tabularFixingSeconds is the same of film with tabular grain: three times as long (a
// photographers' forum that cites a handbook: secondary).
func tabularFixingSeconds(clearing float64) float64 { return 3 * clearing }

// emergenceLimit is the ratio of emergence times from which a developer is
// called tired; common practice, not published.
const emergenceLimit = 1.5

// Timed is a time that was taken of a bath, in seconds, with the temperature of the bath where it is known.
type Timed struct {
	Seconds     float64
	Temperature *quantity.Celsius
}

func (t Timed) words() phrase.Sentence {
	if t.Temperature == nil {
		return phrase.Say("%.0f s", t.Seconds)
	}
	return phrase.Say("%.0f s at %s", t.Seconds, t.Temperature.To(0.1))
}

// JudgeEmergence compares the time of first appearance with that of the same batch
// when fresh, at the temperature of the bath now. The limit of 1.5 times is common practice.
// Where the temperatures differ, the fresh time is taken to the bath's by the flattest and by
// the steepest of the published tables, and there is no verdict between the two.
func JudgeEmergence(fresh, now Timed) (Judgement, error) {
	switch {
	case !seconds(fresh.Seconds):
		return Judgement{}, noBaseline(EmergenceTest)
	case !seconds(now.Seconds):
		return Judgement{}, badSeconds(now.Seconds)
	}
	sure, unsure := emergenceLimit*fresh.Seconds, emergenceLimit*fresh.Seconds
	if fresh.Temperature != nil && now.Temperature != nil {
		least, most := chem.ByTemperature(*fresh.Temperature, *now.Temperature)
		sure, unsure = sure*least, unsure*most
	}
	switch {
	case now.Seconds < sure:
		return Judgement{true, phrase.Say("first tone after %s, %s when fresh, tired from %.0f s at this temperature", now.words(), fresh.words(),
			sure)}, nil
	case now.Seconds >= unsure:
		return Judgement{false, phrase.Say("first tone after %s, %s when fresh, tired from %.0f s at this temperature", now.words(),
			fresh.words(), unsure)}, nil
	}
	return Judgement{}, Problem{ErrBaseline,
		phrase.Say("No verdict: first tone after %s, %s when fresh, and at this temperature the bath counts as tired from %.0f to %.0f s",
			now.words(), fresh.words(), sure, unsure), phrase.Say("Bring the bath to the temperature of the first timing and time it again")}
}

// Failed says whether what was seen is a failure, whatever the bath was like when it was fresh.
func (a TestDone) Failed() bool { return !a.Baseline && !a.Test.timed() && a.Seen != a.Test.Seen()[0] }

// judge gives the verdict of a test; fresh is the baseline, of 0 seconds when there is none.
func (a TestDone) judge(fresh Timed) (Judgement, error) {
	switch {
	case a.Baseline && a.Test.timed():
		return Judgement{true, phrase.Say("baseline of the fresh bath, %s", Timed{a.Seconds, a.Temperature}.words())}, nil
	case a.Baseline:
		return Judgement{true, phrase.Say("baseline of the fresh bath")}, nil
	case a.Test == ClearingTest:
		return JudgeClearing(fresh.Seconds, a.Seconds)
	case a.Test == EmergenceTest:
		return JudgeEmergence(fresh, Timed{a.Seconds, a.Temperature})
	case a.Test == BlackStripTest && fresh.Seconds == 0:
		return Judgement{}, noBaseline(a.Test)
	}
	return Judgement{!a.Failed(), a.Seen.Said()}, nil
}

func seconds(s float64) bool { return s > 0 && s <= 36000 }

func badSeconds(s float64) error {
	return Problem{ErrForm, phrase.Say("%g s is not a possible time", s),
		phrase.Say("Write the seconds, more than 0 and at most 10 hours")}
}

func noBaseline(k TestKind) error {
	return Problem{ErrBaseline, phrase.Say("There is no baseline for the %s: none was measured when the bath was fresh", k),
		phrase.Say("No verdict can be given; use another test, or measure the baseline on the next fresh bath")}
}
