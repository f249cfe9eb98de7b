package dashboard_test

import (
	"errors"
	"html"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/report"
	"wetside/dashboard/viewtest"
)

func TestTheNextTraverseIsAmongTheChecksThatAreDue(t *testing.T) {
	p, _ := reportsPages(t)
	require.NotContains(t, p.page("/duties"), "Traverse of the duct", "no day is set")
	p.Commission() // with the next traverse in September 2027
	p.Publish()
	require.Regexp(t, `(?s)Next checks.*Wed 1 Sep 2027.*Traverse of the duct.*In time`, p.page("/duties"))
}

// reportsPages is a dashboard with an invented reports.
func reportsPages(t *testing.T) (*pages, *viewtest.Reports) {
	t.Helper()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	reports := viewtest.NewReports()
	server, err := dashboard.New(dashboard.Options{View: stage, Reports: reports, Past: viewtest.NewPast(), Log: zap.NewNop(),
		Clock: stage.Clock})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	return &pages{stage, server, t}, reports
}

func TestThePageOfDutiesSaysWhatIsOverdue(t *testing.T) {
	p, reports := reportsPages(t)
	text := p.page("/duties")
	for _, want := range []string{"2 duties are overdue.", "Eyewash", "Overdue", "In time", "Never recorded", "three minutes, clear",
		"Tue 13 Jan 2026",
		"sulfur dioxide, acetic acid", "at least 30 years", "Nothing is deleted automatically"} {
		require.Contains(t, text, want)
	}
	require.Contains(t, p.page("/report"), "2 duties are overdue.")
	reports.Err = errors.New("the history can't be read: the disk is full")
	require.Contains(t, p.get("/duties").Body.String(), "the disk is full", "a book that can't be read is said")
	reports.Err = nil
	require.Contains(t, p.page("/duties?look=red"), `data-look="red"`)
}

func TestUsualTimesOfAReportAreOnePressAway(t *testing.T) {
	p, _ := reportsPages(t) // a Thursday
	page := p.page("/report")
	for _, days := range []string{"from=2026-01-12&to=2026-01-15", "from=2026-01-05&to=2026-01-11", "from=2026-01-01&to=2026-01-15",
		"from=2025-12-01&to=2025-12-31", "from=2025-09-29&to=2026-01-15"} {
		require.Contains(t, page, `href="/report?`+days)
		require.Contains(t, page, `href="/report/report.pdf?`+days)
	}
	require.NotContains(t, p.page("/report?look=red"), "report.pdf", "files are white")
	require.Regexp(t, `(?s)This week</strong> <span class="sub">12 Jan – 15 Jan 2026<.*Last 16 weeks, about a term</strong> `+
		`<span class="sub">29 Sep 2025 – 15 Jan 2026<`, page)
	p.Clock.Advance(4 * 24 * time.Hour)
	p.Publish()
	require.Contains(t, p.page("/report"), `This week</strong> <span class="sub">19 Jan 2026<`, "a week of one day")
}

func TestAReportIsShownAndSentAsFiles(t *testing.T) {
	p, _ := reportsPages(t)
	require.Contains(t, p.page("/report"), `value="2025-10-15"`, "three months are offered")
	text := p.page("/report?from=2026-01-01&to=2026-01-31")
	for _, want := range []string{"Report on the darkroom's record", "Thu 1 Jan 2026 up to Sat 31 Jan 2026", "What was not measured",
		"/report/report.pdf?from=2026-01-01", "min 7.3"} {
		require.Contains(t, text, want)
	}
	require.NotContains(t, p.page("/report?from=2026-01-01&to=2026-01-31&look=red"), "report.pdf", "a PDF is white")
	pdf := p.get("/report/report.pdf?from=2026-01-01&to=2026-01-31")
	require.Equal(t, "application/pdf", pdf.Header().Get("Content-Type"))
	require.True(t, strings.HasPrefix(pdf.Body.String(), "%PDF-"))
	require.Equal(t, "archive", p.get("/report/report.zip?from=2026-01-01&to=2026-01-31").Body.String())
}

func TestAReportStandsOnItsPageAsInTheFileThatIsKept(t *testing.T) {
	p, _ := reportsPages(t)
	require.Contains(t, p.page("/report"), "/assets/office.css")
	var kept strings.Builder
	require.NoError(t, report.WriteHTML(&kept, report.Compose(report.Data{Zone: time.UTC})))
	require.NotRegexp(t, `<link|<script|@import`, kept.String(), "it needs no other file")
	for where, style := range map[string]string{"page": p.get("/assets/office.css").Body.String(), "file": kept.String()} {
		require.Equal(t, 1, strings.Count(style, report.Sheet), where)
		own := strings.Split(strings.ReplaceAll(style, report.Sheet, ""), "\n")
		for _, rule := range regexp.MustCompile(`(?m)^.+{.+}$`).FindAllString(report.Sheet, -1) {
			require.NotContains(t, own, rule, "the %s says a rule of the sheet again", where)
		}
	}
}

func TestATimeThatMakesNoSenseIsSaid(t *testing.T) {
	p, reports := reportsPages(t)
	for query, want := range map[string]string{
		"from=2026-02-01&to=2026-01-01": "The first day is after the last: swap them.",
		"from=0001-01-01&to=9999-12-31": "The period is longer than a hundred years: choose a shorter one.",
		"from=soon&to=2026-01-01":       `"soon" is not a day`,
		"from=2026-01-01":               `"" is not a day`,
	} {
		out := p.get("/report?" + query)
		require.Equal(t, http.StatusUnprocessableEntity, out.Code)
		require.Contains(t, html.UnescapeString(out.Body.String()), want)
		require.NotContains(t, out.Body.String(), "Not recorded", "nothing was to be")
		require.Equal(t, http.StatusUnprocessableEntity, p.get("/report/report.zip?"+query).Code)
	}
	reports.Err = errors.New("the history can't be read")
	require.Contains(t, html.UnescapeString(p.get("/report?from=2026-01-01&to=2026-01-02").Body.String()),
		"The report could not be made: The history can't be read")
	require.Equal(t, http.StatusNotFound, newPages(t).get("/report").Code, "without reports there is no such page")
}
