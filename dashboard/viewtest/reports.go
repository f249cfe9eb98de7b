package viewtest

import (
	"context"
	"io"
	"time"

	"wetside/dashboard/record"
	"wetside/dashboard/report"
	"wetside/rules/duty"
	"wetside/sensors/quantity/phrase"
)

// Reports is an invented place in which a test says how the duties stand and what a report has.
type Reports struct {
	record.Reports
	// Standing are the duties, Err what every question is answered with instead.
	Standing []duty.Standing
	Err      error
}

// NewReports has one duty in time, one overdue and one that was never done.
func NewReports() *Reports {
	done := func(days int) *duty.Done {
		return &duty.Done{At: Evening().AddDate(0, 0, -days), By: "Ida", Evidence: "three minutes, clear", Record: 17}
	}
	week, year := duty.Interval{Days: 7}, duty.Interval{Months: 12}
	return &Reports{Standing: []duty.Standing{
		{Duty: duty.Duty{ID: "eyewash", Name: "Eyewash", Owner: "Technician", Every: week, Why: "an invented rule"}, Last: done(9),
			Due: week.After(Evening().AddDate(0, 0, -9)), Overdue: true},
		{Duty: duty.Duty{ID: "waste", Name: "Waste pick-up", Owner: "Safety office", Every: week, Why: "an invented rule"}, Last: done(2),
			Due: week.After(Evening().AddDate(0, 0, -2))},
		{Duty: duty.Duty{ID: "exhaust", Name: "Examination of the exhaust", Owner: "Safety office", Every: year, Why: "an invented rule"},
			Overdue: true},
	}}
}

// Duties are the invented ones.
func (o *Reports) Duties(context.Context) ([]duty.Standing, error) { return o.Standing, o.Err }

// Keeping is one invented rule.
func (o *Reports) Keeping() []duty.Keeping {
	return []duty.Keeping{{Quantities: []string{"sulfur-dioxide", "acetic-acid"}, For: duty.Interval{Months: 360}, Why: "an invented rule"}}
}

// Report is an invented time with one session.
func (o *Reports) Report(_ context.Context, from, to time.Time) (report.Data, error) {
	lowest, typical, asked := 6.8, 8.9, 7.3
	return report.Data{From: from, To: to, Zone: from.Location(), Made: Evening(), Version: "v0", Simulated: true,
		Book:  report.Book{Checkpoint: "17:ab", Holds: true, Records: 17},
		Rooms: []report.Room{{ID: "north", Name: "North darkroom", Volume: 32, Required: phrase.Plain("decision of the place"), Changes: &asked}},
		Sessions: []report.Session{{Number: 1, Room: "north", Title: "Class", Leader: "Ida", Begun: Evening(),
			Ended:     Evening().Add(2 * time.Hour),
			Uncovered: 100 * time.Minute, Unproven: 4 * time.Minute, Lowest: &lowest, Typical: &typical, Required: &asked}},
	}, o.Err
}

// WriteReport writes a word in the place of an archive.
func (o *Reports) WriteReport(_ context.Context, _ report.Data, out io.Writer) error {
	_, err := io.WriteString(out, "archive")
	return err
}
