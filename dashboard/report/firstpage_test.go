package report_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/report"
	"wetside/sensors/quantity/phrase"
)

// evenings is a report of sessions with so much open, unproven and unknown time.
func evenings(times ...[3]time.Duration) report.Data {
	d := report.Data{From: evening(0), To: evening(90), Zone: time.UTC, Made: evening(91),
		Rooms: []report.Room{{ID: "darkroom", Name: "Darkroom"}}}
	for i, t := range times {
		d.Sessions = append(d.Sessions, report.Session{Number: i + 1, Room: "darkroom", Begun: evening(i), Ended: evening(i).Add(3 * time.Hour),
			Uncovered: t[0], Unproven: t[1], FlowKnown: t[0] - t[2]})
	}
	return d
}

// firstPage is what stands on the first page: its sentence, its figures and its table.
func firstPage(t *testing.T, d report.Data) (lead string, figures []string, look [][]string) {
	for _, b := range report.Compose(d).Sections[0].Blocks {
		switch b := b.(type) {
		case report.Lead:
			lead = string(b)
		case report.Figures:
			for _, f := range b {
				figures = append(figures, f.Figure)
			}
		case report.Grid:
			look = b.Rows
		}
	}
	require.Len(t, figures, 4)
	return lead, figures, look
}

// stillOpen lets the last session run, three hours after it began.
func stillOpen(d report.Data) report.Data {
	s := &d.Sessions[len(d.Sessions)-1]
	s.AsOf = s.Begun.Add(3 * time.Hour)
	return d
}

func TestTheFirstPageAnswersInOneSentenceAndFourFigures(t *testing.T) {
	const open = 3 * time.Hour
	for _, c := range []struct {
		name    string
		d       report.Data
		lead    string
		figures string
		looks   int
	}{
		{"nothing was held", evenings(), "No session was held in this period.", "0|–|0 min|0 min", 0},
		{"no tray was open", evenings([3]time.Duration{}), "In 1 session no tray stood open.", "1|–|0 min|0 min", 0},
		{"all is proven", evenings([3]time.Duration{open}, [3]time.Duration{open}),
			"In 2 sessions trays stood open for 6 h 0 min. Airflow was proven for 6 h 0 min, 100 % of it. No session needs attention.",
			"2|100 %|0 min|0 min", 0},
		{"one second is never rounded away", evenings([3]time.Duration{open, time.Second}),
			"In 1 session trays stood open for 3 h 0 min. Airflow was proven for 3 h 0 min, 99.9 % of it. 1 session needs attention.",
			"1|99.9 %|< 1 min|0 min", 1},
		{"too low and not known are parted", evenings([3]time.Duration{open, time.Hour, 25 * time.Minute}, [3]time.Duration{open}),
			"In 2 sessions trays stood open for 6 h 0 min. Airflow was proven for 5 h 0 min, 83.3 % of it. 1 session needs attention.",
			"2|83.3 %|35 min|25 min", 1},
		{"a session is still open", stillOpen(evenings([3]time.Duration{open})),
			"In 1 session trays stood open for 3 h 0 min. Airflow was proven for 3 h 0 min, 100 % of it. No session needs attention. " +
				"The session begun 1 Sep 2026 16:30 UTC is not over yet: its times are as of 19:30.", "1|100 %|0 min|0 min", 0},
	} {
		lead, figures, look := firstPage(t, c.d)
		require.Equal(t, c.lead, lead, c.name)
		require.Equal(t, c.figures, strings.Join(figures, "|"), c.name)
		require.Len(t, look, c.looks, c.name)
	}
}

func TestTheFirstPageTellsWhatHappenedInASessionThatNeedsALook(t *testing.T) {
	d := evenings([3]time.Duration{3 * time.Hour, 20 * time.Minute}, [3]time.Duration{3 * time.Hour, 10 * time.Minute, 10 * time.Minute})
	d.Alarms = []report.Alarm{
		{Room: "darkroom", Text: phrase.Say("The air has stopped."), Raised: evening(0).Add(time.Hour), Urgent: true,
			Answered: evening(0).Add(time.Hour + 4*time.Minute), Done: "fan on"},
		{Room: "darkroom", Text: phrase.Say("Duct probe silent"), Raised: evening(0).Add(2 * time.Hour)},
		{Room: "darkroom", Text: phrase.Say("Gas"), Raised: evening(0).Add(2 * time.Hour), Urgent: true},
		{Room: "other", Text: phrase.Say("Elsewhere"), Raised: evening(0).Add(2 * time.Hour)},
	}
	_, _, look := firstPage(t, d)
	require.Equal(t, [][]string{
		{"1 Sep 2026", "Too low or stopped for 20 min", "17:30 The air has stopped; answered after 4 min: fan on. 18:30 Gas; " +
			"not answered. 1 alarm more."},
		{"2 Sep 2026", "Not known for 10 min", "No alarm was raised."},
	}, look)
}

// Of a session that nobody ended, an alarm and a gap that lasted into another day, a time of the day alone would
// make minutes of a day and minutes.
func TestAnEndOnAnotherDayIsToldWithItsDay(t *testing.T) {
	d := stillOpen(evenings([3]time.Duration{time.Hour}))
	late := evening(1).Add(20 * time.Minute)
	d.Sessions[0].Running, d.Sessions[0].AsOf = true, late
	d.Alarms = []report.Alarm{{Room: "darkroom", Raised: evening(0), Text: phrase.Plain("The air has stopped"), Cleared: late}}
	d.Coverage = []report.Coverage{{Session: 1, Channel: "duct", Name: "Exhaust duct"}}
	d.Gaps = []report.Gap{{Session: 1, Channel: "duct", From: evening(0), To: late, Cause: phrase.Plain("probe silent")}}
	text := strings.ReplaceAll(page(t, d), "\u00a0", " ")
	require.Equal(t, 4, strings.Count(text, "2 Sep 2026 16:50 UTC"), "the first page, its session, its alarm and its gap")
	require.NotContains(t, text, ">16:50<")
}

func TestTheReportOverSitesSaysWhichSessionIsStillOpen(t *testing.T) {
	open := [3]time.Duration{3 * time.Hour}
	sections := report.ComposeSeveral(report.Several{Sites: []report.OfSite{{Name: "Library", Data: evenings(open)},
		{Name: "Annex", Data: stillOpen(evenings(open))}}, Made: evening(91)}).Sections
	require.Equal(t, report.Lead("In 2 sessions trays stood open for 6 h 0 min. Airflow was proven for 6 h 0 min, 100 % of it. "+
		"No session needs attention. The session of Annex begun 1 Sep 2026 16:30 UTC is not over yet: its times are as of 19:30."),
		sections[0].Blocks[0])
}

// pictured are the sessions of a report that have a picture, with what stands below each.
func pictured(d report.Data) (pictures []report.Evening, told []string) {
	blocks := report.Compose(d).Sections[2].Blocks
	for i, b := range blocks {
		if e, is := b.(report.Evening); is {
			pictures, told = append(pictures, e), append(told, string(blocks[i+1].(report.Text)))
		}
	}
	return pictures, told
}

func TestASessionThatNeedsAttentionHasItsPicture(t *testing.T) {
	d := evenings([3]time.Duration{3 * time.Hour}, [3]time.Duration{3 * time.Hour, 50 * time.Minute, 30 * time.Minute})
	begun := evening(1)
	at := func(minutes int) time.Time { return begun.Add(time.Duration(minutes) * time.Minute) }
	d.AirStates = []report.AirState{
		{Room: "darkroom", Verdict: "proven", From: at(-40), To: at(60)},
		{Room: "darkroom", Verdict: "not proven", From: at(60), To: at(80)},
		{Room: "other", Verdict: "not proven", From: at(0), To: at(180)},
		{Room: "darkroom", Verdict: "proven", From: at(80), Stopped: true}, // nobody knows when, but it was read for a while
	}
	for n := range 150 {
		d.Minutes = append(d.Minutes, report.Minute{Session: 2, At: at(n), Readings: 4})
	}
	d.Alarms = []report.Alarm{{Room: "darkroom", Text: phrase.Say("The air has stopped."), Raised: at(61)}}
	pictures, told := pictured(d)
	require.Equal(t, []report.Evening{{Title: "2 Sep 2026 · Too low or stopped for 20 min; not known for 30 min", From: at(0), To: at(180),
		Parts: []report.EveningPart{{Kind: "proven", From: at(0), To: at(60)}, {Kind: "low", From: at(60), To: at(80)},
			{Kind: "proven", From: at(80), To: at(150)}, {Kind: "unknown", From: at(150), To: at(180)}},
		Alarms: []time.Time{at(61)}}}, pictures, "the session without a fault has none")
	require.Equal(t, []string{"17:31 The air has stopped; not answered."}, told)

	var page strings.Builder
	require.NoError(t, report.WriteHTML(&page, report.Compose(d)))
	require.Contains(t, page.String(), ">alarm 17:31</text>")
	d.Sessions = d.Sessions[:1]
	pictures, _ = pictured(d)
	require.Empty(t, pictures)
}

func TestManySessionsThatNeedAttentionAreNotAllPictured(t *testing.T) {
	var times [][3]time.Duration
	for range 30 {
		times = append(times, [3]time.Duration{3 * time.Hour, time.Minute})
	}
	pictures, _ := pictured(evenings(times...))
	require.Len(t, pictures, 24)
}

func TestAStateThatEndsWithTheSessionLastsUntilItsEnd(t *testing.T) {
	d := evenings([3]time.Duration{3 * time.Hour, time.Minute})
	begun, ended := evening(0), evening(0).Add(3*time.Hour+4*time.Second)
	d.Sessions[0].Ended = ended
	d.AirStates = []report.AirState{{Room: "darkroom", Verdict: "not known", From: begun, To: begun.Add(time.Minute)},
		{Room: "darkroom", Verdict: "proven", From: begun.Add(time.Minute), Stopped: true}} // the computer was switched off afterwards
	d.Sessions[0].FlowProven = 3*time.Hour - 50*time.Second // the session counted it to its end
	pictures, _ := pictured(d)
	require.Equal(t, []report.EveningPart{{Kind: "unknown", From: begun, To: begun.Add(time.Minute)},
		{Kind: "proven", From: begun.Add(time.Minute), To: ended}}, pictures[0].Parts)
}

func TestADutyIsDueOnTheDayThatItsPageNames(t *testing.T) {
	d := evenings()
	d.Duties = []report.Duty{{Name: "Eyewash", Every: phrase.Say("7 days"), Due: time.Date(2026, 11, 26, 0, 0, 0, 0, time.UTC)}}
	for _, s := range report.Compose(d).Sections {
		if s.Heading == "Duties" {
			require.Equal(t, "25 Nov 2026", s.Blocks[0].(report.Grid).Rows[0][5], "as until the end of that day")
			return
		}
	}
	require.Fail(t, "a report has its duties")
}
