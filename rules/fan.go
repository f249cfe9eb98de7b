package rules

import (
	"time"

	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// fanMemory holds the earlier runs of the fan and the changes since it last stood still.
// Their times are the wall time of the first plus what has passed on the monotonic
// clock, so that a clock set in between makes no run longer or shorter.
type fanMemory struct {
	base    sensors.Instant
	changes []ventilation.Change
	runs    []ventilation.Run
	started ventilation.Optional[time.Time]
}

// keptRuns is how many earlier runs of the fan are remembered.
const keptRuns = 40

// follow notes a change of the state of the air; a run that has ended is given back for the book.
func (f fanMemory) follow(before, now ventilation.State, at sensors.Instant) (fanMemory, *ventilation.Run) {
	if before == now {
		return f, nil
	}
	if now == ventilation.Stopped || len(f.changes) == 0 || len(f.changes) > keptRuns {
		f = f.end(at)
	}
	f.changes = append(f.changes[:len(f.changes):len(f.changes)], ventilation.Change{At: f.at(at), State: now})
	var done []ventilation.Run
	done, f.started = ventilation.Runs(f.changes)
	if len(done) == 0 {
		return f, nil
	}
	run := done[len(done)-1]
	f = f.with(run)
	f.changes = f.changes[len(f.changes)-1:]
	return f, &run
}

// end begins to tell the time anew once nothing runs.
func (f fanMemory) end(at sensors.Instant) fanMemory {
	if !f.started.IsKnown() {
		f.base, f.changes = at, nil
	}
	return f
}

func (f fanMemory) at(now sensors.Instant) time.Time { return f.base.Wall.Add(now.Since(f.base)) }

// with remembers a run that is on record.
func (f fanMemory) with(run ventilation.Run) fanMemory {
	runs := f.runs[max(0, len(f.runs)-keptRuns+1):]
	f.runs = append(runs[:len(runs):len(runs)], run)
	return f
}

// FanStop is when the fan is expected to stop by itself, from the length of its earlier runs.
type FanStop struct {
	ventilation.TimedStop
	// Sentence says it in words.
	Sentence phrase.Sentence
}

// stop predicts the end of the run under way; nil if no timer is recognised.
func (f fanMemory) stop(now sensors.Instant, zone *time.Location) *FanStop {
	started, running := f.started.Get()
	if !running {
		return nil
	}
	found, ok := ventilation.FindTimedStop(f.runs, started, f.at(now))
	if !ok {
		return nil
	}
	found.At = found.At.In(zone)
	return &FanStop{found, phrase.Say("The fan stops by itself at about %s: it stopped after %.0f min in %d of the last %d runs.",
		found.At.Format("15:04"), found.Length.Minutes(), found.Seen, found.Of)}
}
