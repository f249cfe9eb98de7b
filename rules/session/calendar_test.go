package session_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/session"
)

func vienna(t testing.TB) *time.Location {
	z, err := time.LoadLocation("Europe/Vienna")
	require.NoError(t, err)
	return z
}

func calendar(t testing.TB) session.Calendar {
	return session.Calendar{Zone: vienna(t), Weekly: []session.Weekly{
		{Title: "Beginners", Weekday: time.Wednesday, From: 18 * 60, To: 21 * 60},
		{Title: "Open night", Weekday: time.Saturday, From: 22 * 60, To: 3 * 60},
	}, Breaks: []session.Break{{First: day(2026, 12, 21), Last: day(2027, 1, 10)}}}
}

func day(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }

func TestTheNextBookingIsTheOneUnderWayOrTheOneToCome(t *testing.T) {
	c := calendar(t)
	at := func(text string) time.Time {
		v, err := time.ParseInLocation("2006-01-02 15:04", text, c.Zone)
		require.NoError(t, err)
		return v
	}
	for _, k := range []struct{ now, title, from, to string }{
		{"2026-10-14 17:00", "Beginners", "2026-10-14 18:00", "2026-10-14 21:00"},
		{"2026-10-14 20:59", "Beginners", "2026-10-14 18:00", "2026-10-14 21:00"},
		{"2026-10-14 21:00", "Open night", "2026-10-17 22:00", "2026-10-18 03:00"},
		{"2026-10-18 02:30", "Open night", "2026-10-17 22:00", "2026-10-18 03:00"},
		{"2026-12-19 12:00", "Open night", "2026-12-19 22:00", "2026-12-20 03:00"},
		{"2026-12-21 00:00", "Beginners", "2027-01-13 18:00", "2027-01-13 21:00"},
	} {
		b, ok := c.Next(at(k.now))
		require.True(t, ok)
		require.Equal(t, k.title, b.Title, k.now)
		require.True(t, b.From.Equal(at(k.from)), "%s: %s", k.now, b.From)
		require.True(t, b.To.Equal(at(k.to)), "%s: %s", k.now, b.To)
	}
}

// The clocks of Vienna went back at 03:00 on 25 October 2026, by the rule of the EU
// (last Sunday of October): the night from 22 to 3 h is an hour longer.
func TestANightOfAClockChangeIsAsLongAsTheClockMakesIt(t *testing.T) {
	c := calendar(t)
	b, ok := c.Next(time.Date(2026, 10, 24, 12, 0, 0, 0, c.Zone))
	require.True(t, ok)
	require.Equal(t, 6*time.Hour, b.To.Sub(b.From))
}

func TestNothingIsPlannedWithoutACalendarOrInABreakWithoutEnd(t *testing.T) {
	_, ok := session.Calendar{}.Next(day(2026, 10, 14))
	require.False(t, ok)
	c := calendar(t)
	c.Breaks = []session.Break{{First: day(2026, 1, 1), Last: day(2030, 1, 1)}}
	_, ok = c.Next(day(2026, 10, 14))
	require.False(t, ok)
}

func TestTheNextBookingNeverLiesBehind(t *testing.T) {
	c := calendar(t)
	rapid.Check(t, func(t *rapid.T) {
		at := day(2026, 1, 1).Add(time.Duration(rapid.Int64Range(0, int64(3*365*24*time.Hour)).Draw(t, "after")))
		b, ok := c.Next(at)
		require.True(t, ok)
		require.True(t, b.To.After(at))
		again, _ := c.Next(b.To)
		require.True(t, again.From.After(b.From))
		between, _ := c.Next(b.To.Add(-1))
		require.Equal(t, b, between, "it stays the next until it ends")
	})
}

func ExampleCalendar_Next() {
	c := session.Calendar{Zone: time.UTC, Weekly: []session.Weekly{{Title: "Beginners", Weekday: time.Wednesday, From: 18 * 60, To: 21 * 60}}}
	b, _ := c.Next(time.Date(2026, 10, 12, 9, 0, 0, 0, time.UTC))
	fmt.Println(b.Title, b.From.Format("Mon 2 Jan 15:04"), "to", b.To.Format("15:04"))
	// Output: Beginners Wed 14 Oct 18:00 to 21:00
}
