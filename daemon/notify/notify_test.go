package notify_test

import (
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/notify"
)

func ada() notify.Person {
	return notify.Person{Name: "Ada", Mail: "ada@example.org", About: notify.Kinds(), After: 10 * time.Minute}
}

func phone() notify.Person {
	return notify.Person{Name: "phone", Push: notify.Push{URL: "here", Token: "token"}, About: []notify.Kind{notify.Alarms},
		After: 10 * time.Minute}
}

func (s *telling) alarm(key string) notify.Matter {
	return notify.Matter{Kind: notify.Alarms, Key: key, Since: s.clock.Now().Wall,
		Text: "Darkroom: No air moves. Nobody has acknowledged this alarm.", Do: "Turn the fan on."}
}

func (s *telling) duty() notify.Matter {
	return notify.Matter{Kind: notify.Duties, Key: "duty eyewash 1", Since: s.clock.Now().Wall,
		Text: "Eyewash is overdue. Owner: Technician.", Do: "Record it."}
}

func TestEachPersonIsToldOnceOfWhatTheyWantWithTheCheckpoint(t *testing.T) {
	s := newTelling(t, ada(), phone())
	s.has(s.alarm("a"), s.duty())
	s.turn(0)
	letters, pushes := s.post.got()
	require.Len(t, letters, 1, "a duty at once, an alarm when it has been unanswered for a while")
	require.Contains(t, letters[0], "Subject: Darkroom: Eyewash is overdue.")
	require.Empty(t, pushes)

	for range 30 {
		s.turn(time.Minute)
	}
	letters, pushes = s.post.got()
	require.Len(t, letters, 2)
	require.Len(t, pushes, 1)
	for _, text := range []string{letters[1], pushes[0]} {
		flat := strings.Join(strings.Fields(strings.ReplaceAll(text, "=\r\n", "")), " ")
		for _, want := range []string{"No air moves.", "What to do: Turn the fan on.", "Since Wed 14 Oct 2026 17:00",
			"812:" + strings.Repeat("5f", 32)} {
			require.Contains(t, flat, want)
		}
		require.NotContains(t, text, "Eyewash")
		require.NotContains(t, text, "secret")
	}
	s.has()
	s.turn(time.Minute)
	s.has(s.alarm("b"))
	s.turn(time.Hour)
	letters, _ = s.post.got()
	require.Len(t, letters, 3, "the next alarm is another matter")
	require.Zero(t, s.teller.Standing().Waiting)
	require.NoError(t, s.teller.Standing().Problem)
}

func TestAServerThatIsDownLosesNothingOverARestart(t *testing.T) {
	s := newTelling(t, ada(), phone())
	s.post.set(true, false)
	s.has(s.alarm("a"))
	for range 60 {
		s.turn(time.Minute)
	}
	require.Equal(t, 2, s.teller.Standing().Waiting)
	require.Error(t, s.teller.Standing().Problem)
	s.has() // the alarm is over: it was unanswered all the same
	s.start()
	require.Equal(t, 2, s.teller.Standing().Waiting)
	s.post.set(false, false)
	s.turn(time.Minute)
	letters, pushes := s.post.got()
	require.Len(t, letters, 1)
	require.Len(t, pushes, 1)
	require.Contains(t, letters[0], "Date: Wed, 14 Oct 2026 17:10:00 +0000", "the message says when it was written")
	s.start()
	s.turn(time.Hour)
	letters, _ = s.post.got()
	require.Len(t, letters, 1, "nor is anything told twice")
}

func TestAnAddressThatIsRefusedHoldsNothingUp(t *testing.T) {
	s := newTelling(t, ada())
	s.post.set(false, true)
	s.has(s.duty())
	s.turn(0)
	require.ErrorContains(t, s.teller.Standing().Problem, "refuses a message to ada@example.org")
	require.Zero(t, s.teller.Standing().Waiting)
	s.post.set(false, false)
	s.has(s.alarm("a"))
	s.turn(time.Hour)
	letters, _ := s.post.got()
	require.Len(t, letters, 1)
	require.NoError(t, s.teller.Standing().Problem)
}

func TestAServerThatCannotProveWhoItIsGetsNothing(t *testing.T) {
	s := newTelling(t, ada())
	s.options.Server.Roots = nil // the system does not know this server's certificate
	s.start()
	s.has(s.duty())
	s.turn(0)
	require.ErrorContains(t, s.teller.Standing().Problem, "certificate")
	require.Equal(t, 1, s.teller.Standing().Waiting)
}

func TestMessagesComeAtTheHoursOfThePersonAndOneDigestADay(t *testing.T) {
	person, eight := ada(), 8*time.Hour
	person.Hours = notify.Hours{From: 7 * time.Hour, To: 16 * time.Hour}
	person.Digest = &eight
	s := newTelling(t, person)
	s.turn(0)
	letters, _ := s.post.got()
	require.Len(t, letters, 1, "the digest of the day on which the program began")
	require.Contains(t, letters[0], "nothing needs anybody")
	s.has(s.alarm("a"), s.duty())
	s.turn(13 * time.Hour)
	letters, _ = s.post.got()
	require.Len(t, letters, 1, "it is six in the morning")
	s.turn(time.Hour)
	letters, _ = s.post.got()
	require.Len(t, letters, 2)
	require.Contains(t, letters[1], "2 things need somebody")
	for range 16 {
		s.turn(time.Hour)
	}
	letters, _ = s.post.got()
	require.Len(t, letters, 3, "what still stands at eight is in the digest, and told no further")
}

func TestHoursMayGoOverMidnight(t *testing.T) {
	night := notify.Hours{From: 22 * time.Hour, To: 6 * time.Hour}
	for hour, want := range map[int]bool{21: false, 22: true, 23: true, 0: true, 5: true, 6: false, 12: false} {
		at := time.Date(2026, 10, 14, hour, 0, 0, 0, time.UTC)
		require.Equal(t, want, night.Has(at), hour)
		require.True(t, notify.Hours{}.Has(at), "equal hours are the whole day")
	}
}

func TestAnAlarmThatComesAndGoesIsNoFlood(t *testing.T) {
	s := newTelling(t, ada())
	for i := range 60 {
		a := s.alarm(strings.Repeat("x", i+1))
		a.Since = a.Since.Add(-11 * time.Minute)
		s.has(a)
		s.turn(time.Minute)
	}
	letters, _ := s.post.got()
	require.LessOrEqual(t, len(letters), 6)
}

func TestADamagedFileSaysWhatToDo(t *testing.T) {
	s := newTelling(t, ada())
	require.NoError(t, os.WriteFile(s.options.File, []byte("soup"), 0o600))
	_, err := notify.New(s.options)
	require.ErrorContains(t, err, "delete ")
}
