package agreement_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/rules/breathing"
)

// fills enters a bath that is in a tray.
func (e *evening) fills(bath string) {
	class := "fixer"
	if bath == "developer" {
		class = "print developer"
	}
	e.shelf("bath-found", entry{"container": e.tray(bath), "class": class, "name": "invented bath", "aim": "1+9", "volume_ml": "2000",
		"fresh": "on"})
}

// opens begins a session by the form of the page of the air.
func (e *evening) opens() {
	e.enters(e.here()+"/air", entry{"act": "begin"}, entry{"title": "Invented class"})
}

// answers has a person acknowledge an alarm on its page.
func (e *evening) answers(alarm string) {
	e.enters(e.here()+"/alarms", entry{"act": "acknowledge", "alarm": alarm}, entry{"done": "looked at the fan"})
}

// corrects enters a correction of a probe on its page.
func (e *evening) corrects(channel string, by float64) {
	e.enters(e.here()+"/probe/"+e.mark+channel, entry{"act": "correct"},
		entry{"slope": "1", "offset": fmt.Sprint(by), "why": "invented comparison"})
}

func TestAQuietEveningIsToldTheSameEverywhere(t *testing.T) {
	play(t, func(e *evening) {
		e.live(time.Minute)
		e.fills("developer")
		e.opens()
		e.live(9 * time.Minute)
		e.agree(temperatures(), times(), airStates(), airChanges(), alarmsUp(), alarmsStanding(), alarmsRaised(), wait(), gasNow(), gasTold())
	})
}

// A sensor at the end of its range says "at least": 8 minutes of 20 ppm and 7 of 1 ppm may
// average anything from 11.1 ppm, against a limit of 15 ppm over 15 minutes.
func TestAGasAtTheEndOfItsSensorsRangeIsJudgedTheSame(t *testing.T) {
	play(t, func(e *evening) {
		e.live(time.Minute)
		e.fills("developer")
		e.opens()
		e.live(time.Minute)
		e.probes.value["HAC"], e.probes.still["HAC"] = 20, true
		e.live(8 * time.Minute)
		e.probes.value["HAC"], e.probes.still["HAC"] = 1, false
		e.live(11 * time.Minute)
		e.agree(gasNow(), gasWorst())
	})
}

// What a person enters about a probe counts for a past moment as it counted then.
func TestACorrectionOfAProbeCountsForAPastMoment(t *testing.T) {
	play(t, func(e *evening) {
		e.live(time.Minute)
		e.fills("developer")
		e.corrects("developer-tray", 0.8)
		e.live(4 * time.Minute)
		warm, known := e.snapshot().Baths[0].Temperature()
		require.True(t, known)
		require.InDelta(t, 20.8, float64(warm), 0.05)
		e.agree(temperatures(), times())
		m := e.moment()
		e.live(5 * time.Minute)
		e.agree(m.questions()...)
	})
}

// The counts of a session are recorded every ten minutes: in between, pages that read
// the record know less than the board.
func TestTheCountsOfARunningSessionAreTheSameOrSayAsOfWhen(t *testing.T) {
	play(t, func(e *evening) {
		e.fills("developer")
		e.opens()
		e.live(12 * time.Minute)
		e.probes.value["VEL"], e.probes.still["VEL"] = 0, true
		e.live(time.Minute)
		e.agree(uncovered())
	})
}

// A probe that falls silent right before the counts are recorded says nothing of the time since
// its last sample: the counts of that record end with the sample.
func TestTheRecordedCountsEndWithTheLastSampleOfTheFlow(t *testing.T) {
	play(t, func(e *evening) {
		e.fills("developer")
		e.opens()
		e.live(9*time.Minute + 50*time.Second)
		e.probes.silent["duct"] = true
		e.live(70 * time.Second)
		e.agree(uncovered())
	})
}

// A session that was set up and never opened is one in the report: it is one wherever sessions are counted.
func TestASessionThatWasOnlySetUpIsCountedTheSame(t *testing.T) {
	play(t, func(e *evening) {
		e.enters(e.here()+"/air", entry{"act": "begin"}, entry{"title": "Invented class", "phase": "set-up"})
		e.live(2 * time.Minute)
		e.enters(e.here()+"/air", entry{"act": "end"}, entry{"phase": "closed"})
		e.live(time.Minute)
		e.agree(sessionsHeld())
	})
}

func TestAnAlarmThatComesBackBeforeAnybodyAnsweredIsCountedTheSame(t *testing.T) {
	play(t, func(e *evening) {
		e.fills("developer")
		e.opens()
		e.live(2 * time.Minute)
		for range 2 {
			e.probes.value["VEL"], e.probes.still["VEL"] = 0, true
			e.live(2 * time.Minute)
			e.probes.value["VEL"], e.probes.still["VEL"] = 4.72, false
			e.live(4 * time.Minute)
		}
		e.answers("air")
		e.agree(alarmsRaised(), wait(), alarmsUp())
	})
}

func TestASecondStopThatStillStandsIsInTheReport(t *testing.T) {
	play(t, func(e *evening) {
		e.fills("developer")
		e.opens()
		e.live(2 * time.Minute)
		e.probes.value["VEL"], e.probes.still["VEL"] = 0, true
		e.live(2 * time.Minute)
		e.probes.value["VEL"], e.probes.still["VEL"] = 4.72, false
		e.live(4 * time.Minute)
		e.probes.value["VEL"], e.probes.still["VEL"] = 0, true
		e.live(2 * time.Minute)
		require.Equal(t, "air", e.snapshot().Alarms[0].ID)
		e.agree(alarmsUp(), alarmsStanding())
	})
}

func TestTheTimeWithoutAKnownFlowIsTheSameInSessionsCoverageAndGaps(t *testing.T) {
	play(t, func(e *evening) {
		e.fills("developer")
		e.opens()
		e.live(5 * time.Minute)
		e.probes.silent["duct"] = true
		e.live(10 * time.Minute)
		e.probes.silent["duct"] = false
		e.live(5*time.Minute + 5*time.Second)
		e.agree(unknownFlow())
	})
}

// A pitot tube's flow depends on the density of the air, and its zero wanders: what it
// reads is a flow for the board, the report and the chart alike, or for none of them.
func TestTheFlowOfAVelocityPressureIsTheSameOnTheBoardInTheReportAndInHistory(t *testing.T) {
	playAt(t, byPressure(), func(e *evening) {
		e.probes.value["AIR"] = 38
		e.live(time.Minute)
		e.fills("developer")
		e.opens()
		e.live(5 * time.Minute)
		e.probes.value["PRE"] = -0.3
		e.live(5 * time.Minute)
		e.agree(minutesOfFlow())
	})
}

func TestTheFlowOfAVelocityIsTheSameOnTheBoardInTheReportAndInHistory(t *testing.T) {
	play(t, func(e *evening) {
		e.live(time.Minute)
		e.fills("developer")
		e.opens()
		e.live(3 * time.Minute)
		e.probes.value["VEL"] = 3
		e.live(3 * time.Minute)
		e.agree(minutesOfFlow())
	})
}

// The flow rests on the most direct probe that is good at the moment: while the velocity is
// suspected, on the velocity pressure.
func TestTheFlowOfTwoProbesRestsOnTheSameProbeOnTheBoardInTheReportAndInHistory(t *testing.T) {
	playAt(t, twoProbes(), func(e *evening) {
		e.probes.value["PRE"] = 13.8
		e.live(time.Minute)
		e.fills("developer")
		e.opens()
		e.live(2 * time.Minute)
		require.EqualValues(t, flowChannel, e.snapshot().Air.Probe)
		e.probes.value["VEL"] = 500 // beyond what is plausible
		e.live(3 * time.Minute)
		require.EqualValues(t, "duct-pressure", e.snapshot().Air.Probe)
		require.NotNil(t, e.snapshot().Air.Flow)
		e.probes.value["VEL"] = 4.72
		e.live(2 * time.Minute)
		e.agree(minutesOfFlow())
		minutes := e.report().Minutes
		require.NotNil(t, minutes[len(minutes)/2].Mean, "the minutes in which the velocity is suspected have a flow")
	})
}

// The first of two fixing baths takes most of the silver: when it is spent, the second moves
// up and goes on (two-bath fixing as the calculator cites it: 50 sheets 8 x 10 in a litre).
func TestTheSecondOfTwoFixingBathsGoesOnWhenTheFirstIsSpent(t *testing.T) {
	play(t, func(e *evening) {
		e.mixesFixers()
		e.agree(mayPour(), fixersSpent(0, 0))
		e.fixes(90)
		e.agree(mayPour(), fixersSpent(90, 0))
		e.fixes(30)
		e.agree(mayPour(), fixersSpent(120, 0))
		e.shelf("discarded", entry{"container": e.tray("fixer-1"), "volume_ml": "2000 mL", "emptied": "on",
			"reason": "spent", "route": "silver recovery (invented)"})
		e.shelf("promoted", entry{"from": e.tray("fixer-2"), "to": e.tray("fixer-1")})
		e.shelf("batch-mixed", entry{"product": "two-bath-fixer", "meant": "concentrate", "from": e.mark + "FX bottle", "aim": "1+4",
			"parent_ml": "200 mL", "water_ml": "800 mL", "into": e.tray("fixer-2"), "batch": "FX-3", "name": "Fixer"})
		e.agree(mayPour(), fixersSpent(120, 1))
	})
}

// An alarm whose cause is over is still shown until somebody answers: at a past moment too.
func TestAnAlarmThatWaitsForAnAnswerStandsAtAPastMomentAsOnTheBoard(t *testing.T) {
	play(t, func(e *evening) {
		e.fills("developer")
		e.live(2 * time.Minute)
		e.probes.value["VEL"], e.probes.still["VEL"] = 0, true
		e.live(2 * time.Minute)
		e.probes.value["VEL"], e.probes.still["VEL"] = 4.72, false
		e.live(4 * time.Minute)
		require.Len(t, e.snapshot().Alarms, 1)
		m := e.moment()
		e.live(2 * time.Minute)
		e.agree(m.questions()...)
	})
}

// The book counts ages by the wall clock: a bath that was mixed at a time to come, by a clock
// that was set back since, has no age that anybody knows, until that time.
func TestABathMixedBeforeTheClockWasSetBackIsJudgedTheSame(t *testing.T) {
	play(t, func(e *evening) {
		e.live(5 * time.Minute)
		e.mixesFixers()
		e.steps(-3 * time.Minute)
		e.live(time.Minute)
		e.agree(mayPour())
		e.live(3 * time.Minute)
		e.agree(mayPour())
	})
}

func TestAMachineReadsWithABathWhetherItMayBeUsed(t *testing.T) {
	play(t, func(e *evening) {
		e.live(time.Minute)
		require.Nil(t, e.api().Baths[1].Content)
		e.mixesFixers()
		e.live(time.Minute)
		for _, bath := range e.api().Baths[1:] {
			require.NotNil(t, bath.Content)
			require.NotNil(t, bath.Content.Verdict, bath.ID)
			require.Equal(t, 1.0, e.metricOf("bath_verdict", bath.ID, *bath.Content.Verdict), bath.ID)
			require.Equal(t, 1.0, e.metricOf("bath_range", bath.ID, "in"), bath.ID)
		}
		e.agree(mayPour())
		e.fixes(2000)
		e.live(time.Minute)
		require.Equal(t, string(ledger.Discard), *e.api().Baths[1].Content.Verdict)
		e.agree(mayPour())
	})
}

// The averages of a gas go on after a restart by the readings that are kept: what was read
// before may bind the verdict.
func TestTheMinutesOfAGasFromBeforeARestartCountOnTheBoardAsInTheReport(t *testing.T) {
	play(t, func(e *evening) {
		e.fills("developer")
		e.opens()
		e.live(time.Minute)
		e.probes.value["HAC"] = 18
		e.live(14 * time.Minute)
		require.Equal(t, breathing.Over, e.shortTerm())
		e.probes.value["HAC"] = 1
		e.restart(10 * time.Second)
		e.live(15 * time.Second)
		require.Equal(t, breathing.Over, e.shortTerm(), "more than 13 of 15 minutes at 18 ppm, the limit is 15 ppm")
		e.live(3 * time.Minute)
		e.agree(gasNow(), gasWorst())
	})
}

// shortTerm is the board's verdict on the one short-term limit.
func (e *evening) shortTerm() breathing.Verdict {
	found := e.snapshot().Breathing[0].Findings
	at := slices.IndexFunc(found, func(f breathing.Finding) bool { return f.Limit.Kind == breathing.ShortTerm })
	require.GreaterOrEqual(e, at, 0)
	return found[at].Verdict
}

// A limit that is in force stands in the report also where its probe said nothing all evening.
func TestALimitOfWhichNothingWasMeasuredIsInTheReport(t *testing.T) {
	play(t, func(e *evening) {
		e.probes.silent["air"] = true
		e.live(time.Minute)
		e.fills("developer")
		e.opens()
		e.live(17 * time.Minute)
		require.NotEmpty(t, e.worst.verdicts)
		e.agree(gasWorst())
	})
}
