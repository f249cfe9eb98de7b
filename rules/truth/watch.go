package truth

import (
	"slices"
	"time"

	"wetside/sensors"
)

const (
	// slotWidth is the time over which readings are averaged to look for steps.
	slotWidth = 10 * time.Second
	// keptSlots is how much of the past is looked at: an hour.
	keptSlots = 360
)

// Watch follows the readings of a room and finds what they give away. It belongs to
// the loop of its room; make one with [NewWatch].
type Watch struct {
	tracks map[sensors.ChannelID]*track
	order  []sensors.ChannelID
	slot   int64 // that is being filled
	acts   []doing
	wrong  []misplaced
	// suspicions are steps that wait for what explains them, one a channel.
	suspicions map[sensors.ChannelID]suspicion
}

// track is the recent past of one channel.
type track struct {
	channel sensors.Channel
	slots   [keptSlots]slot
	live    liveness
	// plugged is the slot in which readings came back after a pause that a plug makes, zero
	// for none that is still to be looked at; unplugged is that of the last reading before.
	plugged, unplugged int64
	// empty says that by the book nothing stands in its tray.
	empty bool
}

// slot is the mean of ten seconds of good readings.
type slot struct {
	number int64
	sum    float64
	n      int
}

// doing is something done to the bath of a channel, such as filling its tray.
type doing struct {
	channel sensors.ChannelID
	slot    int64
}

// NewWatch begins to follow the channels of a room.
func NewWatch(channels []sensors.Channel) *Watch {
	w := &Watch{tracks: make(map[sensors.ChannelID]*track, len(channels)), suspicions: map[sensors.ChannelID]suspicion{}}
	for _, c := range channels {
		w.tracks[c.ID] = &track{channel: c}
		w.order = append(w.order, c.ID)
	}
	return w
}

// Take notes a reading, with its value as corrected, also while the channel is suspected.
func (w *Watch) Take(r sensors.Reading) {
	t, known := w.tracks[r.Channel]
	if !known || r.Grade == sensors.Missing {
		return
	}
	if r.Reason == sensors.UnitMismatch || r.Reason == sensors.PowerOn || r.Reason == sensors.OutOfService {
		return // these say nothing of the probe's place
	}
	n := int64(r.At.Mono / slotWidth)
	if t.live.paused(r.At) {
		t.plugged, t.unplugged = n, int64(t.live.last.Mono/slotWidth)
	}
	t.live.take(&r, t.channel.Silence)
	if r.Grade != sensors.Good {
		return
	}
	s := &t.slots[n%keptSlots]
	if s.number != n {
		*s = slot{number: n}
	}
	s.sum, s.n = s.sum+r.Value, s.n+1
}

// stepwise says whether a channel is looked at for steps: a bath has a mass that
// keeps it from moving at once, which running water and air have not.
func stepwise(c sensors.Channel) bool { return c.Kind == sensors.BathTemperature }

// Done notes that something was done to the bath of a channel, by an entry: a step
// that follows from it is no finding.
func (w *Watch) Done(channel sensors.ChannelID, now sensors.Instant) {
	t, known := w.tracks[channel]
	if !known {
		return
	}
	n := int64(now.Mono / slotWidth)
	w.acts = append(w.acts, doing{channel, n})
	t.live.forget() // another liquid, or air: its noise is learnt anew
	w.acts = slices.DeleteFunc(w.acts, func(a doing) bool { return a.slot < n-keptSlots })
}

// Empty notes whether the tray of a channel was emptied by an entry and not filled since: its probe
// lies in the air then, and goes where the air goes.
func (w *Watch) Empty(channel sensors.ChannelID, is bool) {
	if t, known := w.tracks[channel]; known {
		t.empty = is
	}
}

// acted says whether something was done to the bath of a channel between two slots.
func (w *Watch) acted(channel sensors.ChannelID, from, to int64) bool {
	for _, a := range w.acts {
		if a.channel == channel && a.slot >= from && a.slot <= to {
			return true
		}
	}
	return false
}

// Find gives what the readings have given away and what the book does not have yet.
// It looks every ten seconds, however often it is asked.
func (w *Watch) Find(b Book, now sensors.Instant) []Finding {
	n := int64(now.Mono / slotWidth)
	if n == w.slot {
		return nil
	}
	w.slot = n
	var found []Finding
	found = append(found, w.exchanged(now)...)
	for _, id := range w.order {
		t := w.tracks[id]
		if b.Out(id) {
			continue
		}
		if f, ok := w.dead(t, now); ok {
			found = append(found, f)
		}
		if f, ok := w.contradicted(t, now); ok {
			found = append(found, f)
		}
		if f, ok := w.replugged(t, now); ok {
			found = append(found, f)
		}
		if stepwise(t.channel) {
			found = append(found, w.suspect(t, now)...)
		}
		life, _ := b.Life(id)
		if f, ok := DriftOf(life); ok {
			found = append(found, f)
		}
	}
	return b.fresh(found)
}

// wallAt is the wall time of a slot.
func wallAt(n int64, now sensors.Instant) time.Time {
	return now.Wall.Add(time.Duration(n)*slotWidth - now.Mono)
}
