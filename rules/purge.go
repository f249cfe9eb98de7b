package rules

import (
	"math"
	"time"

	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Airing says how much of the old air is to be gone before trays are uncovered and
// after they are covered again. The zero Airing asks for nothing.
type Airing struct {
	Remove quantity.Percent // above 0, below 100
	Mixing float64          // 1 perfect to 10 very poor
}

// PurgeView is a purge under way or done, counted on the measured flow.
type PurgeView struct {
	// After is false for the purge before trays are uncovered, true for the one
	// after they are covered.
	After bool
	// Removed is the share of the old air that has gone so far.
	Removed quantity.Percent
	// Remaining is the time left at the flow read now; nil while no flow is measured.
	Remaining *time.Duration
	Done      bool
	Sentence  phrase.Sentence
}

// purgeMemory is the countdown under way. Its times are monotonic.
type purgeMemory struct {
	running bool
	after   bool
	count   ventilation.Countdown
	used    bool // a tray has been uncovered since
	moved   time.Duration
}

const (
	// purgeGap is the longest pause between two looks at the flow over which air is counted.
	purgeGap = time.Minute
	// purgeStale is how long the air may stand still before a purge begins anew.
	purgeStale = 30 * time.Minute
)

// purge counts the air moved while no tray is uncovered. Uncovering one ends it;
// covering the last begins the next.
func purge(room Room, before purgeMemory, s *Snapshot) (purgeMemory, *PurgeView) {
	m, now := before, s.At.Mono
	moves := s.Air.Flow != nil && s.Air.State.Drawn()
	switch {
	case room.Airing.Remove <= 0:
		return m, nil
	case s.uncovered() > 0:
		return purgeMemory{used: true}, nil
	case m.used:
		m = purgeMemory{after: true, running: true, moved: now}
		m.begin(room)
	case moves && (!m.running || now-m.moved > purgeStale):
		m = purgeMemory{running: true, moved: now}
		m.begin(room)
	case !m.running || !m.after && now-m.moved > purgeStale:
		return purgeMemory{}, nil
	}
	if moves {
		m.moved = now
	}
	flow := ventilation.Optional[quantity.CubicMetrePerHour]{}
	if s.Air.Flow != nil {
		flow = ventilation.Known(*s.Air.Flow)
	}
	m.count = m.count.Observe(onPurgeClock(s.At), flow)
	return m, m.view()
}

// begin starts the countdown; a configuration with unusable figures is refused
// before it gets here, and would count nothing.
func (m *purgeMemory) begin(room Room) {
	count, err := ventilation.Purge{Volume: room.Volume, Remove: room.Airing.Remove, Mixing: room.Airing.Mixing, LongestGap: purgeGap}.Start()
	m.count, m.running = count, err == nil
}

// onPurgeClock lays monotonic time on a date of no meaning: only differences count.
func onPurgeClock(now sensors.Instant) time.Time { return time.Unix(0, 0).Add(now.Mono) }

func (m purgeMemory) view() *PurgeView {
	if !m.running {
		return nil
	}
	v := &PurgeView{After: m.after, Removed: m.count.Removed(), Done: m.count.Done()}
	if left, known := m.count.Remaining(); known {
		v.Remaining = &left
	}
	what, end := phrase.Say("Airing before the trays are uncovered"), phrase.Say("the trays may be uncovered.")
	if m.after {
		what, end = phrase.Say("Airing after the trays were covered"), phrase.Say("the fan may be switched off.")
	}
	share := min(math.Floor(float64(v.Removed)), 99) // some of the old air always stays
	switch {
	case v.Done:
		v.Sentence = phrase.Say("%s: done, at least %.0f %% of the old air has gone; %s", what, share, end)
	case v.Remaining == nil:
		v.Sentence = phrase.Say("%s: held up at %.0f %%, no air is moving: switch the fan on.", what, share)
	default:
		v.Sentence = phrase.Say("%s: %.0f %% of the old air has gone, about %.0f min left.", what, share,
			max(1, v.Remaining.Minutes()))
	}
	return v
}
