package daemon

import (
	"context"
	"encoding/json"
	"io"
	"slices"
	"time"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	recordpage "wetside/dashboard/record"
	"wetside/dashboard/report"
	"wetside/rules/access"
	"wetside/rules/duty"
	"wetside/sensors/quantity/phrase"
)

// reports is what the pages of duties and reports see of a site. One report is made
// at a time: it reads much, and the room comes first.
type reports struct {
	*site
	making chan struct{}
}

var _ recordpage.Reports = reports{}

func newReports(s *site) reports { return reports{s, make(chan struct{}, 1)} }

// place gives the duties and the zone of the configuration in force.
func (r reports) place() ([]duty.Duty, *time.Location) {
	c := r.present().config
	return c.Duties, c.Zone
}

// Duties say how the duties stand now.
func (r reports) Duties(ctx context.Context) ([]duty.Standing, error) {
	done, err := audit.DutiesDone(ctx, &r.store.Reader)
	if err != nil {
		return nil, err
	}
	duties, zone := r.place()
	return duty.Stand(duties, done, r.clock.Now().Wall.In(zone)), nil
}

// Keeping is what the configuration in force says of how long samples are kept.
func (r reports) Keeping() []duty.Keeping {
	return r.present().config.Keeping
}

// DoneDuty records that a duty was done.
func (r reports) DoneDuty(ctx context.Context, e recordpage.DutyEntry) (uint64, error) {
	duties, _ := r.place()
	at := slices.IndexFunc(duties, func(d duty.Duty) bool { return d.ID == e.Duty })
	if at < 0 {
		return 0, phrase.Errorf("this duty is no longer configured: reload the page")
	}
	content, err := json.Marshal(duty.Note{Duty: e.Duty, Evidence: e.Evidence})
	if err != nil {
		return 0, phrase.Errorf("the entry can't be written down: %w", err)
	}
	record, err := r.store.Record(ctx, history.Entry{Kind: duty.Kind, Room: duties[at].Room, Person: e.Person, Content: content,
		Happened: e.Happened, Reason: e.Reason})
	if err != nil {
		return 0, phrase.Errorf("nothing was recorded: %w", err)
	}
	return record.Number, nil
}

// Report gathers the report of a time.
func (r reports) Report(ctx context.Context, from, to time.Time) (report.Data, error) {
	select {
	case r.making <- struct{}{}:
		defer func() { <-r.making }()
	case <-ctx.Done():
		return report.Data{}, phrase.Errorf("another report is still being made: try again in a minute")
	}
	now := r.present().config
	fallback, zone := now.Settings(), now.Zone
	fallback.Simulated = r.simulated
	return r.chronicle.Gather(ctx, audit.Question{From: from, To: to, Zone: zone, Now: r.clock.Now().Wall, Version: r.version,
		Fallback: &fallback, Live: r.running(), Inspected: r.store.Inspected()})
}

// WriteReport writes a report with all its tables as one archive.
func (r reports) WriteReport(ctx context.Context, d report.Data, out io.Writer) error {
	return audit.WriteZip(ctx, &r.store.Reader, d, out)
}

// filedFor is how far back forms are looked for that a run before recorded: a page is
// rarely left open for longer before its button is pressed again.
const filedFor = 24 * time.Hour

// filed are the forms of the runs before that led to a record, with the number of the
// record. It never changes once read.
type filed map[access.Form]uint64

func readFiled(ctx context.Context, book *history.Store, now time.Time) (filed, error) {
	found := filed{}
	for r, err := range book.EachRecord(ctx, history.Query{From: now.Add(-filedFor)}) {
		if err != nil {
			return nil, err
		}
		if r.Form != "" {
			found[access.Form(r.Form)] = r.Number
		}
	}
	return found, nil
}

// of gives the form that was sent with a token, and the number of its record.
func (f filed) of(token string) (form access.Form, number uint64, found bool) {
	for form, number := range f {
		if form.Of(token) {
			return form, number, true
		}
	}
	return "", 0, false
}
