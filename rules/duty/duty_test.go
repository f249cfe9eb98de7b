package duty_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/duty"
)

func eyewash(t require.TestingT) duty.Duty {
	every, err := duty.ParseInterval("7 days")
	require.NoError(t, err)
	return duty.Duty{ID: "eyewash", Name: "Eyewash activation", Every: every}
}

func Example() {
	every, err := duty.ParseInterval("14 months")
	if err != nil {
		fmt.Println(err)
		return
	}
	exhaust := duty.Duty{ID: "exhaust", Name: "Examination of the exhaust", Every: every}
	done := []duty.Done{{Duty: "exhaust", At: time.Date(2025, 9, 12, 10, 0, 0, 0, time.UTC)}}
	for _, s := range duty.Stand([]duty.Duty{exhaust}, done, time.Date(2026, 11, 13, 8, 0, 0, 0, time.UTC)) {
		fmt.Println(s.Name, "every", s.Every, "due before", s.Due.Format(time.DateOnly), s.Overdue)
	}
	// Output: Examination of the exhaust every 14 months due before 2026-11-13 true
}

func TestADutyIsOverdueWhenItsDayHasGoneBy(t *testing.T) {
	zone := time.FixedZone("", 3600)
	done := []duty.Done{{Duty: "eyewash", At: time.Date(2026, 10, 7, 17, 30, 0, 0, time.UTC)},
		{Duty: "other", At: time.Date(2026, 10, 13, 0, 0, 0, 0, time.UTC)}}
	for _, c := range []struct {
		now     time.Time
		overdue bool
	}{
		{time.Date(2026, 10, 14, 8, 0, 0, 0, zone), false},
		{time.Date(2026, 10, 14, 23, 59, 59, 0, zone), false},
		{time.Date(2026, 10, 15, 0, 0, 0, 0, zone), true},
		{time.Date(2026, 10, 1, 0, 0, 0, 0, zone), true}, // not yet done then
	} {
		list := duty.Stand([]duty.Duty{eyewash(t)}, done, c.now)
		require.Equal(t, c.overdue, list[0].Overdue, c.now)
		require.Equal(t, map[bool]int{true: 1}[c.overdue], duty.Overdue(list))
	}
	ties := duty.Stand([]duty.Duty{eyewash(t)}, []duty.Done{{Duty: "eyewash", At: done[0].At, By: "Ada"},
		{Duty: "eyewash", At: done[0].At, By: "Ben"}}, done[0].At)[0]
	require.Equal(t, "Ada", ties.Last.By, "of two at the same moment the first that was entered")
	never := duty.Stand([]duty.Duty{eyewash(t)}, nil, done[0].At)[0]
	require.True(t, never.Overdue)
	require.Nil(t, never.Last)
	require.Zero(t, never.Due)
}

func TestAMonthEndsOnItsLastDay(t *testing.T) {
	for text, want := range map[string]string{"1 month": "2026-03-01", "13 months": "2027-03-01", "1 year": "2027-02-01",
		"1 day": "2026-02-02", "2 weeks": "2026-02-15"} {
		every, err := duty.ParseInterval(text)
		require.NoError(t, err)
		require.Equal(t, want+" 00:00:00", every.After(time.Date(2026, 1, 31, 12, 0, 0, 0, time.UTC)).Format(time.DateTime), text)
	}
}

func TestIntervalsAreReadAsTheyAreWritten(t *testing.T) {
	for text, want := range map[string]duty.Interval{"1 day": {Days: 1}, "1200 days": {Days: 1200}, "1 weeks": {Days: 7},
		"1200 weeks": {Days: 8400}, "1 month": {Months: 1}, "1200 months": {Months: 1200},
		" 1 year ": {Months: 12}, "100 years": {Months: 1200}} {
		got, err := duty.ParseInterval(text)
		require.NoError(t, err)
		require.Equal(t, want, got, text)
	}
	for said, i := range map[string]duty.Interval{"1 day": {Days: 1}, "14 days": {Days: 14}, "1 month": {Months: 1}, "11 months": {Months: 11},
		"1 year": {Months: 12}, "13 months": {Months: 13}, "2 years": {Months: 24}} {
		require.Equal(t, said, i.String())
	}
	for _, text := range []string{"", "7", "days", "0 days", "-1 days", "1.5 months", "7 fortnights", "99999 years", "7 days later",
		"1201 days", "1201 weeks", "1201 months", "101 years"} {
		_, err := duty.ParseInterval(text)
		require.ErrorContains(t, err, "is not an interval", text)
	}
	rapid.Check(t, func(t *rapid.T) {
		i := duty.Interval{Months: rapid.IntRange(1, 1200).Draw(t, "months")}
		if rapid.Bool().Draw(t, "days") {
			i = duty.Interval{Days: rapid.IntRange(1, 1200).Draw(t, "days")}
		}
		got, err := duty.ParseInterval(i.String())
		require.NoError(t, err)
		require.Equal(t, i, got)
		recorded, err := i.MarshalText()
		require.NoError(t, err)
		var read duty.Interval
		require.NoError(t, read.UnmarshalText(recorded))
		require.Equal(t, i, read)
		at := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "at"), 0).UTC()
		require.True(t, i.After(at).After(at))
	})
}

// FuzzParseInterval hands any text over: what is taken comes back the same.
func FuzzParseInterval(f *testing.F) {
	f.Add("7 days")
	f.Add("1 year")
	f.Fuzz(func(t *testing.T, text string) {
		i, err := duty.ParseInterval(text)
		if err != nil {
			return
		}
		again, err := duty.ParseInterval(i.String())
		require.NoError(t, err)
		require.Equal(t, i, again)
	})
}
