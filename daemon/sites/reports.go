package sites

import (
	"context"
	"fmt"
	"io"
	"regexp"
	"strings"
	"time"

	"wetside/daemon/audit"
	"wetside/daemon/centre"
	"wetside/dashboard/report"
	pages "wetside/dashboard/sites"
	"wetside/sensors/quantity/phrase"
)

// Report gathers the report on some sites, by the code of the report on one.
func (v *Overview) Report(ctx context.Context, q pages.Question) (report.Several, error) {
	free, err := v.alone(ctx)
	if err != nil {
		return report.Several{}, err
	}
	defer free()
	out := report.Several{Made: v.Clock.Now().Wall.UTC()}
	for _, id := range q.Sites {
		p := v.seen(ctx, id)
		if p == nil {
			return out, phrase.Errorf("there is no site with the number %d: choose one from the list", id)
		}
		s := p.known()
		d, err := p.gather(ctx, s, dayIn(q.From, zoneOf(s)), dayIn(q.To, zoneOf(s)))
		if err != nil {
			return out, phrase.Errorf("%s: %w", s.Name, err)
		}
		out.Sites = append(out.Sites, report.OfSite{Name: s.Name, Building: s.Building, Folder: folderOf(s), Notes: p.notes(), Data: d})
	}
	return out, nil
}

// WriteReport writes a report with all tables of each site as one archive.
func (v *Overview) WriteReport(ctx context.Context, s report.Several, out io.Writer) error {
	list := report.SeveralFiles(s)
	for _, site := range s.Sites {
		p := v.ofFolder(site.Folder)
		if p == nil || !p.shownTo(ctx) {
			return phrase.Errorf("the site %s is no longer there", site.Name)
		}
		site.Data.By = s.By
		for _, f := range audit.Files(ctx, p.reader, site.Data) {
			f.Name = site.Folder + "/" + f.Name
			list = append(list, f)
		}
	}
	return audit.Archive(out, s.Made, list)
}

// alone waits until no other report is made.
func (v *Overview) alone(ctx context.Context) (free func(), err error) {
	select {
	case v.making <- struct{}{}:
		return func() { <-v.making }, nil
	case <-ctx.Done():
		return nil, phrase.Errorf("another report is still being made: try again in a minute")
	}
}

// dayIn is the same day in another zone.
func dayIn(day time.Time, zone *time.Location) time.Time {
	y, m, d := day.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, zone)
}

// folderOf names the folder of a site in an archive; the number keeps two names apart.
func folderOf(s centre.Site) string {
	plain := strings.Trim(regexp.MustCompile(`[^a-z0-9]+`).ReplaceAllString(strings.ToLower(s.Name), "-"), "-")
	return strings.Trim(fmt.Sprintf("%d-%s", s.ID, plain), "-")
}

func (v *Overview) ofFolder(folder string) *place {
	v.mu.Lock()
	defer v.mu.Unlock()
	for _, p := range v.places {
		if folderOf(p.known()) == folder {
			return p
		}
	}
	return nil
}

// notes say what a report must tell of the site itself.
func (p *place) notes() (notes []phrase.Sentence) {
	s := p.standing()
	stamp := func(t time.Time) string { return t.In(p.of.Zone).Format("2 Jan 2006 15:04 MST") }
	if s.Book.Refused != "" {
		notes = append(notes, phrase.Say("Since %s the centre takes nothing from this site: %s", stamp(s.Book.Since), s.Book.Refused))
	}
	if s.Arriving {
		notes = append(notes, phrase.Say("Not all that this site has recorded had arrived: what is missing here may be at the site."))
	}
	switch {
	case s.Heard.IsZero():
		notes = append(notes, phrase.Say("The centre never heard this site."))
	case s.Late:
		notes = append(notes, phrase.Say("Not heard since %s.", stamp(s.Heard)))
	}
	return notes
}
