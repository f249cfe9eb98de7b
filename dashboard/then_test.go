package dashboard_test

import (
	"errors"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard"
	classpage "wetside/dashboard/class"
	"wetside/dashboard/report"
	"wetside/dashboard/viewtest"
	"wetside/sensors/quantity/phrase"
)

// The invented evening is at 20:46 in its zone, UTC+1.
func TestAMomentIsAskedForAsTheClockOfThePlaceShowsIt(t *testing.T) {
	then := &viewtest.Then{}
	p := guarded(t, func(o *dashboard.Options) { o.Accounts, o.Then = nil, then })
	then.Snapshot = p.Look(p.Clock.Now()) // what was in the trays is known even without a reading
	for at, want := range map[string]time.Time{
		"20:40": time.Date(2026, 1, 15, 19, 40, 0, 0, time.UTC), "20.40": time.Date(2026, 1, 15, 19, 40, 0, 0, time.UTC),
		"21:00":            time.Date(2026, 1, 14, 20, 0, 0, 0, time.UTC), // of yesterday: today it is still to come
		"2026-01-10T08:30": time.Date(2026, 1, 10, 7, 30, 0, 0, time.UTC),
	} {
		then.Asked = nil
		require.Contains(t, p.page("/rooms/north/then?at="+at), "what the board showed is not known", at)
		require.Len(t, then.Asked, 1)
		require.Equal(t, want, then.Asked[0].At, at)
	}
	require.NotContains(t, p.page("/rooms/north/then"), `role="alert"`, "nobody has asked yet")
	for _, at := range []string{"twenty", "25:00", "2027-01-01T10:00", "2026-02-31T10:00"} {
		require.Equal(t, http.StatusBadRequest, p.get("/rooms/north/then?at="+at).Code, at)
	}
}

func TestWhatStoodOnTheBoardIsShownWithWhatWasNotKnown(t *testing.T) {
	then := &viewtest.Then{}
	p := guarded(t, func(o *dashboard.Options) { o.Accounts, o.Then = nil, then })
	then.Moment = classpage.Moment{Snapshot: p.Look(p.Clock.Now()), Readings: 300, SettingsChanged: true,
		Alarms: []report.Alarm{{Text: phrase.Plain("An invented alarm stood."), Raised: viewtest.Evening(),
			Answered: viewtest.Evening().Add(time.Minute), By: "Ida", Done: "looked"}},
		Said: []classpage.Said{{At: viewtest.Evening(), Subject: "developer", From: "2:00", To: "2:06", Text: phrase.Say("it cooled")}}}
	text := p.page("/rooms/north/then?at=20:40&look=red")
	for _, want := range []string{"<strong>2:06</strong>", "19.4 °C", "MOVING", "An invented alarm stood.", "Answered by Ida",
		"Developer: 2:00, then 2:06.", "The settings have changed since", "Ten minutes earlier"} {
		require.Contains(t, text, want)
	}
	then.Err = errors.New("the disk is slow")
	require.Equal(t, http.StatusServiceUnavailable, p.get("/rooms/north/then?at=20:40").Code)
}
