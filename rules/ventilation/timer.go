package ventilation

import (
	"time"

	"wetside/sensors/quantity/phrase"
)

// Change is a moment at which the state of the air became another.
type Change struct {
	At    time.Time
	State State
}

// Run is a time during which a fan moved air, from its start to its stop.
type Run struct {
	Start, Stop time.Time
}

// Length is how long the run took.
func (r Run) Length() time.Duration { return r.Stop.Sub(r.Start) }

// Runs finds the complete runs in changes given oldest first, and the start of
// the one under way. A run counts only if its start and its stop were both seen:
// not proven on either side, or in between, makes its length unknown.
func Runs(changes []Change) (done []Run, current Optional[time.Time]) {
	var started Optional[time.Time]
	stopped := false
	for _, c := range changes {
		start, running := started.Get()
		switch c.State {
		case Moving, Uneven, Low:
			if !running && stopped {
				started = Known(c.At)
			}
		case Stopped:
			if running && c.At.After(start) {
				done = append(done, Run{start, c.At})
			}
			started = Optional[time.Time]{}
		default:
			started = Optional[time.Time]{}
		}
		stopped = c.State == Stopped
	}
	return done, started
}

// TimedStop is the moment at which a fan is expected to stop by itself.
type TimedStop struct {
	At     time.Time
	Length time.Duration // of the runs it is drawn from
	Seen   int           // how many earlier runs stopped after that length
	Of     int           // of how many looked at
}

// What makes a timer: at least three of the last twenty runs as long as each
// other within 90 s or 1 %, and longer runs fewer than those (common practice:
// nobody switches off by hand that evenly).
const (
	timerRuns     = 3
	timerLookBack = 20
	timerSlack    = 90 * time.Second
)

// FindTimedStop recognises a fan timer from earlier runs (oldest first) and says
// when the run under way will end. The answer is false if no length repeats, or
// if this run has already outlasted it.
func FindTimedStop(earlier []Run, started, now time.Time) (TimedStop, bool) {
	recent := earlier[max(0, len(earlier)-timerLookBack):]
	best := TimedStop{Of: len(recent)}
	for _, candidate := range recent {
		length, seen, longer := alike(recent, candidate.Length())
		if seen >= timerRuns && longer < seen && seen > best.Seen {
			best.Length, best.Seen = length, seen
		}
	}
	best.At = started.Add(best.Length)
	return best, best.Seen > 0 && !now.Before(started) && now.Before(best.At.Add(slack(best.Length)))
}

// alike counts the runs about as long as the length of one of them, and gives their mean.
func alike(runs []Run, length time.Duration) (mean time.Duration, seen, longer int) {
	var sum time.Duration
	for _, r := range runs {
		switch d := r.Length() - length; {
		case d.Abs() <= slack(length):
			sum += r.Length()
			seen++
		case d > 0:
			longer++
		}
	}
	return sum / time.Duration(seen), seen, longer
}

func slack(length time.Duration) time.Duration { return max(timerSlack, length/100) }

// Warning gives the sentence for a session that outlasts the timer, in the time
// zone of its end; false if the fan outlasts the session.
func (s TimedStop) Warning(end time.Time) (phrase.Sentence, bool) {
	if !s.At.Before(end) {
		return phrase.Sentence{}, false
	}
	return phrase.Say("The fan stops by itself at about %s, the session ends at %s: it stopped after %.0f min in %d of the last %d runs. "+
		"Start its timer again before then.",
		s.At.In(end.Location()).Format("15:04"), end.Format("15:04"), s.Length.Minutes(), s.Seen, s.Of), true
}
