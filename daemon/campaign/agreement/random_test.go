package agreement_test

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/daemon/campaign"
)

// deed is one thing that happens in an evening, some time after the one before.
type deed struct {
	after time.Duration
	what  string
	pick  int // one of a few, where there is something to choose
	room  int // where it happens, when there are several
}

func (d deed) String() string {
	return fmt.Sprintf("after %s %s %d in room %d", d.after, d.what, d.pick, d.room)
}

// evenings draws what happens in an evening of about an hour.
func evenings() *rapid.Generator[[]deed] {
	one := rapid.Custom(func(t *rapid.T) deed {
		after := time.Duration(rapid.IntRange(1, 48).Draw(t, "pauses")) * pace
		return deed{after, rapid.SampledFrom(names()).Draw(t, "deed"), rapid.IntRange(0, 5).Draw(t, "pick"), rapid.IntRange(0, 1).Draw(t, "room")}
	})
	return rapid.SliceOfN(one, 5, 30)
}

// TestEveryReaderGivesTheSameAnswer plays evenings at random. The short form plays the same
// ones every time; a campaign plays others, and rapid keeps those that fail. With -v it says
// on the way how far it has come, and the seed with which -rapid.seed plays the same again.
func TestEveryReaderGivesTheSameAnswer(t *testing.T) {
	const short = 4
	n := campaign.Size(t, short)
	set(t, "rapid.checks", strconv.Itoa(n))
	switch {
	case n == short:
		set(t, "rapid.seed", "8")
	case flag.Lookup("rapid.seed").Value.String() == "0":
		set(t, "rapid.seed", strconv.FormatUint(1+rand.Uint64N(1<<32), 10))
	}
	seed, played, asked := flag.Lookup("rapid.seed").Value, 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		place := rapid.SampledFrom([]string{placeFile, twoRooms()}).Draw(rt, "place")
		plan := evenings().Draw(rt, "evening")
		var found []string
		playAt(t, place, func(e *evening) {
			found = e.lives(plan)
			asked += e.asked
		})
		if played++; n > short && (played == 1 || played%10 == 0) {
			t.Logf("%d evenings of seed %s played, %d answers compared", played, seed, asked)
		}
		if len(found) > 0 {
			rt.Fatalf("%d answers differ:\n%s", len(found), strings.Join(found, "\n"))
		}
	})
	t.Logf("%d evenings, %d answers compared", n, asked)
}

// set sets a flag of the test binary until the test ends.
func set(t *testing.T, name, value string) {
	before := flag.Lookup(name).Value.String()
	require.NoError(t, flag.Set(name, value))
	t.Cleanup(func() { require.NoError(t, flag.Set(name, before)) })
}

// lives plays a planned evening and gives what readers disagree on.
func (e *evening) lives(plan []deed) (found []string) {
	deeds := deeds()
	var moments []moment
	for _, d := range plan {
		e.live(d.after)
		e.goes(e.rooms[d.room%len(e.rooms)])
		if d.what == look {
			e.untilFullMinute()
			found = append(found, e.compare(now()...)...)
			moments = append(moments, e.moment())
			continue
		}
		deeds[d.what](e, d.pick)
	}
	_, latest := e.shown() // what is dated later than now is in no period that ends now
	e.live(latest.Sub(e.clock.Now().Wall) + time.Minute)
	e.untilFullMinute()
	e.everywhere(func() { found = append(found, e.compare(append(now(), record()...)...)...) })
	for _, m := range moments {
		if e.unclear(m.at) {
			continue
		}
		e.goes(m.inRoom)
		found = append(found, e.compare(m.questions()...)...)
	}
	return found
}

func (e *evening) untilFullMinute() {
	for e.clock.Now().Wall.Truncate(time.Minute) != e.clock.Now().Wall {
		e.live(time.Second)
	}
}

// now are the questions about the present.
func now() []asking {
	return []asking{temperatures(), times(), airStates(), airChanges(), alarmsUp(), alarmsStanding(), gasNow(), gasTold(), mayPour(),
		inTrays(), sheetsThrough()}
}

// record are the questions about the whole evening.
func record() []asking {
	return []asking{uncovered(), sessionsHeld(), alarmsRaised(), gasWorst(), minutesOfFlow()}
}
