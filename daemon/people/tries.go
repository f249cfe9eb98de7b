package people

import (
	"net/netip"
	"time"
)

const (
	// freeTries may fail before anybody has to wait.
	freeTries   = 5
	longestWait = 15 * time.Minute
	// forgottenAfter is when tries that failed no longer count.
	forgottenAfter = time.Hour
	// mostTried bounds how many accounts and addresses are remembered.
	mostTried = 10000
)

// tries counts the tries to sign in that failed, by account and by address. From
// the sixth on each one doubles the wait before the next.
type tries struct {
	counts map[string]tried
}

type tried struct {
	failed int
	last   time.Duration // monotonic
}

func newTries() *tries { return &tries{map[string]tried{}} }

func (t tried) wait(now time.Duration) time.Duration {
	if t.failed < freeTries {
		return 0
	}
	wait := longestWait
	if doublings := t.failed - freeTries; doublings < 10 {
		wait = min(wait, time.Second<<doublings)
	}
	return max(0, t.last+wait-now)
}

// wait is how long until the next try is let through.
func (t *tries) wait(now time.Duration, keys ...string) time.Duration {
	var longest time.Duration
	for _, k := range keys {
		longest = max(longest, t.counts[k].wait(now))
	}
	return longest
}

// failed counts a try. It is counted before the password is looked at, so that many
// tries at once are no way around the wait.
func (t *tries) failed(now time.Duration, keys ...string) {
	t.forgetOld(now)
	for _, k := range keys {
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

// forgetOld makes room. Where nothing is old enough the oldest goes.
func (t *tries) forgetOld(now time.Duration) {
	if len(t.counts) < mostTried {
		return
	}
	oldest, first := "", now
	for k, c := range t.counts {
		if now-c.last > forgottenAfter {
			delete(t.counts, k)
		} else if c.last <= first {
			oldest, first = k, c.last
		}
	}
	if len(t.counts) >= mostTried {
		delete(t.counts, oldest)
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
