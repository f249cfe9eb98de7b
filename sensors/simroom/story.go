package simroom

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
)

// day is after how long the events of a room begin again.
const day = 24 * time.Hour

// Event is something that happens to the room at a time after its start, and
// again every 24 hours.
type Event struct {
	At      time.Duration
	Trouble Trouble
}

// ParseSchedule reads events such as "2m pull trays 30s; 5m stop fan" and gives
// them in the order in which they happen. Times lie within one day.
func ParseSchedule(text string) ([]Event, error) {
	var events []Event
	for part := range strings.SplitSeq(text, ";") {
		words := strings.Fields(part)
		if len(words) == 0 {
			continue
		}
		at, err := time.ParseDuration(words[0])
		if err != nil || at < 0 || at >= day {
			return nil, fmt.Errorf("%q: begin with a time after the start, within a day: \"2m pull trays 30s\"", strings.TrimSpace(part))
		}
		t, err := ParseTrouble(strings.Join(words[1:], " "))
		if err != nil {
			return nil, err
		}
		events = append(events, Event{at, t})
	}
	inOrder(events)
	return events, nil
}

func inOrder(events []Event) {
	slices.SortStableFunc(events, func(a, b Event) int { return cmp.Compare(a.At, b.At) })
}

// evening is a class as it may go, invented: three hours of printing under a fan
// timer of two, which nobody minds until it has run out. Somebody lays a lid on the left end of the hood. A probe is lifted out by tongs
// for some minutes, so that there is something to find in its readings.
const evening = `
	0s fill trays; 0s start fan 2h; 0s people 1;
	10m people 8;
	45m jacket DEV;
	65m lift FX2 4m;
	75m people 11;
	95m block hood-left 20m;
	2h12m start fan 2h;
	2h30m people 5;
	2h50m jacket DEV;
	3h15m people 2; 3h20m cover trays;
	3h40m empty trays; 3h50m people 0`

// Evening is a believable evening for a demonstration, repeated every day.
func Evening() ([]Event, error) { return ParseSchedule(evening) }

// beforeClass is the time before a class, invented: the fan runs, the trays stand empty, and
// people come and go.
const beforeClass = `
	0s empty trays; 0s start fan; 0s people 1;
	40m people 8;
	90m people 11;
	3h people 5;
	4h people 0`

// BeforeClass is an evening on which the trays are filled by whoever tries the demonstration.
func BeforeClass() ([]Event, error) { return ParseSchedule(beforeClass) }

// Play lets a room live for a time without any wire and hands on what its probes say
// with each second, by their names: for whatever follows from readings alone. The
// clock and the folder of the options are not needed.
func Play(o Options, lasts time.Duration, each func(elapsed time.Duration, says map[string]float64)) {
	live(o, lasts, func(s *state) { each(s.elapsed, s.values()) })
}

// Course lets a room live for a time without any wire and hands on, with each second, what
// is true in the place of every probe, by their names: for whoever tries probes of another make.
func Course(o Options, lasts time.Duration, each func(elapsed time.Duration, is map[string]float64)) {
	live(o, lasts, func(s *state) {
		is := make(map[string]float64, len(s.probes))
		for _, p := range s.probes {
			is[p.id] = s.truthAt(p)
		}
		each(s.elapsed, is)
	})
}

func live(o Options, lasts time.Duration, second func(*state)) {
	s := newState(o)
	s.happen()
	for s.elapsed < lasts {
		s.pass()
		second(s)
	}
}
