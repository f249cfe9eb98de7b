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
	"wetside/rules/duty"
	"wetside/sensors/quantity/phrase"
)

// office is what the pages of duties and reports see of a site. One report is made
// at a time: it reads much, and the room comes first.
type office struct {
	*site
	making chan struct{}
}

var _ recordpage.Reports = office{}

func newOffice(s *site) office { return office{s, make(chan struct{}, 1)} }

// place gives the duties and the zone of the configuration in force.
func (o office) place() ([]duty.Duty, *time.Location) {
	c := o.present().config
	return c.Duties, c.Zone
}

// Duties say how the duties stand now.
func (o office) Duties(ctx context.Context) ([]duty.Standing, error) {
	done, err := audit.DutiesDone(ctx, &o.store.Reader)
	if err != nil {
		return nil, err
	}
	duties, zone := o.place()
	return duty.Stand(duties, done, o.clock.Now().Wall.In(zone)), nil
}

// Keeping is what the configuration in force says of how long samples are kept.
func (o office) Keeping() []duty.Keeping {
	return o.present().config.Keeping
}

// DoneDuty records that a duty was done.
func (o office) DoneDuty(ctx context.Context, e recordpage.DutyEntry) (uint64, error) {
	duties, _ := o.place()
	at := slices.IndexFunc(duties, func(d duty.Duty) bool { return d.ID == e.Duty })
	if at < 0 {
		return 0, phrase.Errorf("this duty is no longer configured: reload the page")
	}
	content, err := json.Marshal(duty.Note{Duty: e.Duty, Evidence: e.Evidence})
	if err != nil {
		return 0, phrase.Errorf("the entry can't be written down: %w", err)
	}
	record, err := o.store.Record(ctx, history.Entry{Kind: duty.Kind, Room: duties[at].Room, Person: e.Person, Content: content,
		Happened: e.Happened, Reason: e.Reason})
	if err != nil {
		return 0, phrase.Errorf("nothing was recorded: %w", err)
	}
	return record.Number, nil
}

// Report gathers the report of a time.
func (o office) Report(ctx context.Context, from, to time.Time) (report.Data, error) {
	select {
	case o.making <- struct{}{}:
		defer func() { <-o.making }()
	case <-ctx.Done():
		return report.Data{}, phrase.Errorf("another report is still being made: try again in a minute")
	}
	now := o.present().config
	fallback, zone := now.Settings(), now.Zone
	fallback.Simulated = o.simulated
	return o.chronicle.Gather(ctx, audit.Question{From: from, To: to, Zone: zone, Now: o.clock.Now().Wall, Version: o.version,
		Fallback: &fallback, Live: o.running(), Inspected: o.store.Inspected()})
}

// WriteReport writes a report with all its tables as one archive.
func (o office) WriteReport(ctx context.Context, d report.Data, out io.Writer) error {
	return audit.WriteZip(ctx, &o.store.Reader, d, out)
}
