package uplink

import (
	"hash/maphash"
	"maps"
	"slices"

	"wetside/daemon/centre/wire"
)

// known is what the sender knows of the centre. All of it is learnt from answers.
type known struct {
	// place says that last is what the centre said, and nothing was sent since.
	place bool
	last  wire.Place
	// messages is how many messages the centre had taken; unsure counts those since of which
	// nobody knows whether it did.
	messages, unsure uint64
	// table is what was sent of the small tables.
	table uint64
	// sent are the days that the book does not attest yet, as far as they were sent.
	sent map[int64]sentDay
	// wanted are the days that the centre asks for; given up are those that it did not take
	// whole: asking again would not change that.
	wanted  []int64
	givenUp map[int64]bool
}

type sentDay struct {
	changes int64
	blocks  map[int64]uint64
}

func nothing() known { return known{sent: map[int64]sentDay{}, givenUp: map[int64]bool{}} }

// learn takes an answer to a message; reset says that the centre is not as it was left.
func (k *known) learn(m message, a wire.Answer) (reset bool) {
	first := k.messages == 0
	if more := a.Messages - k.messages; !first && (more < 1 || more > 1+k.unsure) || a.Last.Number < k.last.Number {
		*k, reset = nothing(), true
	} else {
		k.table = m.table
		for key, d := range m.sent {
			k.sent[key] = d
		}
	}
	k.place, k.last, k.messages, k.unsure, k.wanted = true, a.Last, a.Messages, 0, a.Wanted
	for _, d := range m.push.Days {
		refused := slices.ContainsFunc(a.Refused, func(r wire.Refused) bool { return r.Key == d.Key })
		if !refused && !slices.Contains(a.Wanted, d.Key) {
			continue
		}
		delete(k.sent, d.Key)
		if refused || !d.Part {
			k.givenUp[d.Key] = true
		}
	}
	k.forget(m)
	return reset
}

// forget drops what was sent of days that the book attests by now, and asks again for days to
// which something was added.
func (k *known) forget(m message) {
	for key := range m.waiting {
		delete(k.givenUp, key)
	}
	maps.DeleteFunc(k.sent, func(key int64, _ sentDay) bool { return !m.waiting[key] && !slices.Contains(k.wanted, key) })
}

// sums are of this run, and compared with each other alone.
type sums struct{ seed maphash.Seed }

func (s sums) of(b []byte) uint64 { return maphash.Bytes(s.seed, b) }
