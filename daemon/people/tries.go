package people

import (
	"maps"
	"net/netip"
	"time"
)

const (
	// So many tries may fail before anybody has to wait. Behind one address may sit a
	// whole house.
	freeOfAccount = 5
	freeOfAddress = 20
	longestWait   = 15 * time.Minute
	// forgottenAfter is when tries that failed no longer count.
	forgottenAfter = time.Hour
	// mostTried bounds how many accounts and addresses are remembered.
	mostTried = 10000
)

// tries counts the tries to sign in that failed, by account and by address. Once
// the free ones are used up, each further one doubles the wait before the next.
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
func (t *tries) wait(now time.Duration, account, address string) time.Duration {
	return max(t.counts[account].wait(now, freeOfAccount), t.counts[address].wait(now, freeOfAddress))
}

// failed counts a try. It is counted before the password is looked at, so that many
// tries at once are no way around the wait.
func (t *tries) failed(now time.Duration, keys ...string) {
	for _, k := range keys {
		t.forgetOld(now)
		c := t.counts[k]
		if now-c.last > forgottenAfter {
			c.failed = 0
		}
		t.counts[k] = tried{c.failed + 1, now}
	}
}

// forget lets an account begin anew, and takes the try that was right off its address.
func (t *tries) forget(account, address string) {
	delete(t.counts, account)
	if c, counted := t.counts[address]; counted {
		c.failed--
		t.counts[address] = c
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
