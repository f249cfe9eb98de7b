package sensors

import (
	"slices"
	"time"

	"wetside/sensors/quantity/phrase"
)

// LineID names a line within a site, as its configuration does.
type LineID string

// LineState says where a line stands. A line that went away passes through
// waiting before it is live again: what it said earlier proves nothing.
type LineState string

// The states of a line.
const (
	StateOpening LineState = "opening" // not tried yet
	StateWaiting LineState = "waiting" // open, no good frame yet
	StateLive    LineState = "live"    // good frames arrive
	StateSilent  LineState = "silent"  // open, but no good frame for longer than the line's silence
	StateGone    LineState = "gone"    // can't be opened or went away; tried again and again
)

// Said is the state in a word; itself it is a key of records and metrics.
func (s LineState) Said() phrase.Sentence { return phrase.Plain(string(s)) }

// LineStates lists every state in a fixed order.
func LineStates() []LineState {
	return []LineState{StateOpening, StateWaiting, StateLive, StateSilent, StateGone}
}

// FrameCounts counts frames by what became of them, in the order of [FrameResults].
type FrameCounts [8]uint64

// Count gives the number of frames with a result; zero for an unknown result.
func (f FrameCounts) Count(r FrameResult) uint64 {
	if at := slices.Index(FrameResults(), r); at >= 0 {
		return f[at]
	}
	return 0
}

// add counts one frame; a result that no dialect should give counts as garbled.
func (f *FrameCounts) add(r FrameResult) {
	at := slices.Index(FrameResults(), r)
	if at < 0 {
		at = slices.Index(FrameResults(), FrameGarbled)
	}
	f[at]++
}

// LineStatus is what a keeper needs to know of a line: a value that never
// changes once delivered. Counts run from the start of the daemon.
type LineStatus struct {
	ID      LineID
	Path    string
	Dialect string
	State   LineState
	// Since is when the line came into its state.
	Since Instant
	// LastGood is when the last good frame came; it means nothing unless EverGood.
	LastGood Instant
	EverGood bool
	// LastText is the last good frame as text, LastBadText the last one that was
	// neither good nor ignored; both empty if there was none.
	LastText    string
	LastBadText string
	Frames      FrameCounts
	// Readings counts the readings of every grade that were delivered.
	Readings uint64
	// Unknown counts measurements from addresses that no channel is configured for;
	// LastUnknown is the latest such address.
	Unknown     uint64
	LastUnknown string
	// Opens counts successful openings: reopenings are one less.
	Opens uint64
	// Bytes counts what arrived, Dropped what of it had waited too long to be dated.
	Bytes   uint64
	Dropped uint64
	// LastError says why the line could last not be opened or went away; it stays after its return.
	LastError phrase.Sentence
	// RatePerMinute is good frames a minute over the last minute.
	RatePerMinute float64
}

// Lost is why the line is gone; nothing while it is open, whatever ended it before.
func (s LineStatus) Lost() phrase.Sentence {
	if s.State != StateGone {
		return phrase.Sentence{}
	}
	return s.LastError
}

// Update is what a [Watch] delivers: the line's status and the readings of one
// chunk of bytes, if it held any. The slice is the watch's own: a receiver that
// keeps readings beyond its return copies them.
type Update struct {
	Status   LineStatus
	Readings []Reading
}

// minuteRate counts events over the last minute in buckets of a second. The
// zero value is ready for a clock that starts at zero.
type minuteRate struct {
	buckets [60]uint64
	sum     uint64
	first   int64 // the second of the first event
	last    int64 // the second up to which the buckets are current
	begun   bool
}

// add counts n events at a moment.
func (r *minuteRate) add(at Instant, n uint64) {
	r.turn(at)
	if !r.begun {
		r.begun, r.first = true, r.last
	}
	r.buckets[r.last%60] += n
	r.sum += n
}

// perMinute is the rate at a moment; in the first minute it is taken from the
// seconds that have passed.
func (r *minuteRate) perMinute(at Instant) float64 {
	r.turn(at)
	if !r.begun {
		return 0
	}
	return float64(r.sum) * 60 / float64(min(r.last-r.first+1, 60))
}

// turn empties the buckets of the seconds that have gone by.
func (r *minuteRate) turn(at Instant) {
	now := int64(at.Mono / time.Second)
	for s := max(r.last+1, now-59); s <= now; s++ {
		r.sum -= r.buckets[s%60]
		r.buckets[s%60] = 0
	}
	r.last = max(r.last, now)
}
