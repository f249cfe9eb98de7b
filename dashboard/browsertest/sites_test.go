//go:build browser

package browsertest_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/record"
	"wetside/dashboard/report"
	"wetside/dashboard/sites"
	"wetside/dashboard/viewtest"
	"wetside/sensors/quantity/phrase"
)

// manySites is an invented centre with sites in every state.
type manySites struct{}

func (manySites) Standing() (now sites.Standing) {
	class := report.Session{Title: "Class", Begun: viewtest.Evening().Add(-time.Hour), Ended: viewtest.Evening(), Uncovered: time.Hour,
		Unproven: 10 * time.Minute, FlowKnown: time.Hour}
	running := class
	running.Running = true
	well := sites.Site{Building: "Arts building, north wing", Heard: viewtest.Evening(), Last: &class, Week: []report.Session{class},
		Required: time.Hour, Valid: 59 * time.Minute, Book: sites.Book{Number: 412, Verified: viewtest.Evening()}}
	of := func(name string, change func(*sites.Site)) {
		s := well
		s.ID, s.Name = len(now.Sites)+1, name
		change(&s)
		now.Sites = append(now.Sites, s)
	}
	of("Practice darkroom of the upper school, second cellar", func(s *sites.Site) {
		s.Last, s.Air = &running, phrase.Say("MOVING")
		s.Alarms = []report.Alarm{{ID: "cold", Text: phrase.Say("The developer is colder than 18 °C."), Raised: viewtest.Evening()}}
		s.Overdue = []string{"Eyewash flush", "Fan filter change"}
	})
	of("Annex", func(s *sites.Site) { s.Late = true })
	of("Print room", func(s *sites.Site) {
		s.Book.Refused, s.Book.Since, s.Book.Behind = "The site's book ends at record 3: the data was put back to an older state.",
			viewtest.Evening(), 7
	})
	of("Workshop", func(s *sites.Site) { s.Book.Broken = "record 8 fails verification" })
	of("Never connected", func(s *sites.Site) { s.Heard = time.Time{} })
	of("Just connected", func(s *sites.Site) { s.Reading, s.Arriving = true, true })
	for i := len(now.Sites); i < 8; i++ {
		of(fmt.Sprintf("Room %d", i), func(s *sites.Site) { s.Building, s.Simulated = "Library", true })
	}
	return now
}

func (manySites) Report(ctx context.Context, q sites.Question) (report.Several, error) {
	several := report.Several{Made: viewtest.Evening()}
	for i, id := range q.Sites {
		d, err := viewtest.NewReports().Report(ctx, q.From, q.To)
		if err != nil {
			return several, err
		}
		several.Sites = append(several.Sites, report.OfSite{Name: fmt.Sprintf("Site %d", id), Building: "Library", Folder: fmt.Sprint(i),
			Data: d})
	}
	return several, nil
}

func (manySites) WriteReport(context.Context, report.Several, io.Writer) error { return nil }

// The pages of a manager of many sites fit every size in both looks, keep to the rules of
// accessibility, and show nothing white in the dark.
func TestThePagesOfManySitesFitEverySize(t *testing.T) {
	t.Parallel()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	pages, err := dashboard.NewCentre(dashboard.CentreOptions{View: stage, Sites: manySites{}, Log: zap.NewNop(), Clock: stage.Clock,
		Place: func(*http.Request) (record.Place, bool) { return record.Place{}, false }})
	require.NoError(t, err)
	server := httptest.NewServer(pages)
	t.Cleanup(func() { pages.Close(); server.CloseClientConnections(); server.Close() })
	p := open(t, browser(t), server.Listener.Addr().String(), sizes()[0])
	for name, path := range map[string]string{"sites": "/", "sites-report": "/report?site=1&site=2&from=2026-01-01&to=2026-01-31"} {
		for _, look := range []string{"day", "red"} {
			t.Run(name+" "+look, func(t *testing.T) {
				p.t = t
				p.resize(sizes()[0])
				p.visit(server.URL + in(look, path))
				p.eventually(`document.fonts.status === "loaded"`, patience)
				for _, size := range slices.DeleteFunc(sizes(), func(s screen) bool { return s.width > 1300 || s.width == 1024 }) {
					p.resize(size)
					require.Empty(t, value[[]string](p, broken), size.name)
					picture := p.shoot(name+"-"+size.name+"-"+look, false)
					if look == "red" {
						requireRed(t, picture, name)
					}
				}
				p.keepsToWCAG(name)
				p.blameless()
			})
		}
	}
}
