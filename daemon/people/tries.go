package people

import (
	"maps"
	"net/netip"
	"time"

	"wetside/dashboard/people"
)

const (
	// So many tries may fail before anybody has to wait: for an account from one address,
	// for an account from all of them (NIST SP 800-63B, section 5.2.2, allows 100), and from
	// an address for all accounts, since behind it may sit a whole house.
	freeOfPair    = 5
	freeOfAccount = 100
	freeOfAddress = 20
	longestWait   = 15 * time.Minute
	// forgottenAfter is when tries that failed no longer count.
	forgottenAfter = time.Hour
	// mostTried bounds how many accounts and addresses are remembered.
	mostTried = 10000
)

// triedKeys are those under which a try counts.
type triedKeys struct{ account, pair, address string }

// keysOf are the keys of a try at an account. The lab computer is a place of its own, also
// where a proxy runs on it: who guesses from afar must not lock out whoever stands there.
func keysOf(account string, try people.SignIn) triedKeys {
	address := "the lab computer"
	if !try.Here {
		address = addressKey(try.From)
	}
	return triedKeys{account, account + " from " + address, address}
}

// tries counts the tries to sign in that failed. Once the free ones are used up, each
// further one doubles the wait before the next.
type tries struct {
	counts  map[string]tried
	cleaned time.Duration // when old ones were forgotten last, monotonic
}

type tried struct {
	failed int
	last   time.Duration // monotonic
}

func newTries() *tries { return &tries{counts: map[string]tried{}} }

func (t tried) wait(now time.Duration, free int) time.Duration {
	if t.failed < free {
		return 0
	}
	wait := longestWait
	if doublings := t.failed - free; doublings < 10 {
		wait = min(wait, time.Second<<doublings)
	}
	return max(0, t.last+wait-now)
}

// wait is how long until the next try is let through.
func (t *tries) wait(now time.Duration, k triedKeys) time.Duration {
	return max(t.counts[k.account].wait(now, freeOfAccount), t.counts[k.pair].wait(now, freeOfPair), t.counts[k.address].wait(now,
		freeOfAddress))
}

// failed counts a try. It is counted before the password is looked at, so that many
// tries at once are no way around the wait.
func (t *tries) failed(now time.Duration, keys triedKeys) {
	for _, k := range []string{keys.account, keys.pair, keys.address} {
		t.forgetOld(now)
		c := t.counts[k]
		if now-c.last > forgottenAfter {
			c.failed = 0
		}
		t.counts[k] = tried{c.failed + 1, now}
	}
}

// forget lets an account begin anew, and takes the try that was right off its address.
func (t *tries) forget(k triedKeys) {
	delete(t.counts, k.account)
	delete(t.counts, k.pair)
	if c, counted := t.counts[k.address]; counted {
		c.failed--
		t.counts[k.address] = c
	}
}

// forgetOld makes room. Where nothing is old enough any other one goes.
func (t *tries) forgetOld(now time.Duration) {
	if len(t.counts) < mostTried {
		return
	}
	if now-t.cleaned > time.Minute {
		t.cleaned = now
		maps.DeleteFunc(t.counts, func(_ string, c tried) bool { return now-c.last > forgottenAfter })
	}
	for k := range t.counts {
		if len(t.counts) < mostTried {
			return
		}
		delete(t.counts, k)
	}
}

// addressKey stands for whoever sits behind an address: in IPv6 a household has a
// whole network of 64 bits to itself.
func addressKey(a netip.Addr) string {
	a = a.Unmap()
	if a.Is6() && !a.IsLoopback() {
		if p, err := a.WithZone("").Prefix(64); err == nil {
			return "address " + p.String()
		}
	}
	return "address " + a.String()
}
