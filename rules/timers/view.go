package timers

import (
	"slices"
	"time"

	"wetside/chem"
)

// View is what may be shown of the timers of a room. It is never changed once made.
type View struct {
	// Revision counts the presses; a page sends back the one that it shows.
	Revision int
	Timers   []Timer
	// Undoable is set while the last press, of the kind Last, can be taken back.
	Undoable bool
	Last     Act
	// Paper is that of the sheets that are started from now on; none while nobody has chosen.
	Paper chem.Paper
	Wash  []Wash
}

// Wash is what may be shown of the prints on one paper that are in the wash.
type Wash struct {
	Paper  chem.Paper
	Sheets int
	chem.TimerView
}

// Timer is one timer as it may be shown.
type Timer struct {
	Number int // 1 to [Most]
	Bath   string
	// Slept is how much the wall clock went ahead of the monotonic time while the timer
	// ran: the computer slept, or its clock was set. By so much it may show too much.
	Slept time.Duration
	// Paper and Stage say where the sheet is; the times are those in this stage.
	Paper chem.Paper
	Stage chem.Stage
	chem.TimerView
}

// Doubt marks the timers that run, since the wall clock went ahead by so much.
func (s Set) Doubt(ahead time.Duration) Set {
	s.entries = slices.Clone(s.entries)
	for i := range s.entries {
		if s.entries[i].timer.View().State == chem.TimerRunning || s.entries[i].at.stage.Stage != chem.Developing {
			s.entries[i].slept += ahead
		}
	}
	return s
}

// Advance brings every timer to a monotonic time with the temperature of its bath;
// an unknown temperature is that of a silent probe. A timer long past its end goes.
func (s Set) Advance(now time.Duration, temperature func(bath string) chem.BathTemperature) Set {
	if len(s.entries) == 0 && s.away == nil {
		return s
	}
	s.entries = slices.Clone(s.entries)
	for i, e := range s.entries {
		s.entries[i].timer = e.timer.Advance(now, temperature(e.bath))
	}
	s.entries = slices.DeleteFunc(s.entries, func(e entry) bool {
		if e.at.stage.Stage != chem.Developing {
			return now-e.at.since > keptUp
		}
		v := e.timer.View()
		return v.Over > keptOver || v.Following == chem.CountingUp && v.Ran > keptUp
	})
	if s.away != nil {
		away := *s.away
		away.timer = away.timer.Advance(now, temperature(away.bath))
		s.away = &away
		if !s.undoable(now) {
			s.away = nil
		}
	}
	return s
}

// View is what the timers show at a monotonic time.
func (s Set) View(now time.Duration) View {
	v := View{Revision: s.revision, Undoable: s.undoable(now), Last: s.last.Act, Paper: s.paper}
	for _, e := range s.entries {
		c := Timer{Number: e.number, Bath: e.bath, Slept: e.slept, Paper: e.paper, Stage: e.at.stage.Stage, TimerView: e.timer.View()}
		if c.Stage != chem.Developing {
			c.TimerView = e.at.view(now)
		}
		v.Timers = append(v.Timers, c)
	}
	for _, w := range s.wash {
		v.Wash = append(v.Wash, Wash{w.paper, w.sheets, w.view(now)})
	}
	return v
}
