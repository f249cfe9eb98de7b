package sites_test

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/configs"
	"wetside/daemon/audit"
	"wetside/daemon/centre"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/history/book"
	"wetside/daemon/sites"
	"wetside/dashboard"
	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/breathing"
	"wetside/rules/duty"
	"wetside/rules/session"
	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/quantity/phrase"
)

// books keeps the books of invented sites, each in a file.
type books struct {
	list    []centre.Site
	readers map[int]*history.Reader
	fails   error
}

func (b *books) Sites(context.Context) ([]centre.Site, error) { return b.list, b.fails }

func (b *books) Reader(site int, _ history.Options) *history.Reader { return b.readers[site] }

// desk is a centre with its pages.
type desk struct {
	testing.TB
	clock *clocktest.Manual
	books *books
	over  *sites.Overview
	pages *dashboard.Server
}

func wednesday() time.Time { return time.Date(2026, 10, 14, 20, 0, 0, 0, time.UTC) }

func newDesk(t testing.TB) *desk {
	d := &desk{TB: t, clock: clocktest.New(wednesday().Add(time.Hour)), books: &books{readers: map[int]*history.Reader{}}}
	d.over = sites.New(sites.Options{Books: d.books, Clock: d.clock, Zone: time.UTC, Version: "test", Log: zap.NewNop()})
	var err error
	d.pages, err = dashboard.NewCentre(dashboard.CentreOptions{View: d.over.View(), Sites: d.over, Place: d.over.Place, Log: zap.NewNop(),
		Clock: d.clock})
	require.NoError(t, err)
	t.Cleanup(d.pages.Close)
	return d
}

// site adds a site with one session of an hour: the air is proven for most of that time, an
// alarm stands open, and a duty was never done.
func (d *desk) site(name string) *centre.Site {
	dir, clock := d.TempDir(), clocktest.New(wednesday().Add(-2*time.Hour))
	store, err := history.Open(d.Context(), history.Options{Dir: dir, Clock: clock, Zone: time.UTC, Version: "test"})
	require.NoError(d, err)
	c, err := config.Parse("demo.toml", configs.Demo)
	require.NoError(d, err)
	c.Duties = []duty.Duty{{ID: "eyewash", Name: "Eyewash flush", Owner: "Technician", Why: "invented", Every: duty.Interval{Days: 7}}}
	require.NoError(d, audit.Keep(d.Context(), store, c.Settings()))
	room := c.Rooms[0]
	require.NoError(d, store.RegisterChannels(d.Context(), room.ID, room.Channels))
	note := func(kind string, e rules.Event) {
		content, err := json.Marshal(e)
		require.NoError(d, err)
		_, err = store.Record(d.Context(), history.Entry{Kind: kind, Room: room.ID, Content: content})
		require.NoError(d, err)
	}
	s := session.Session{Phase: session.Open, Title: "Class", Begun: clock.Now().Wall, Since: clock.Now().Wall}
	note(rules.SessionPhase, rules.Event{Subject: room.ID, To: string(s.Phase), Session: &s})
	for range 60 {
		var b history.Batch
		for _, c := range room.Channels {
			for second := 0; second < 60; second += 10 {
				b.Samples = append(b.Samples, history.Sample{Channel: c.ID, At: clock.Now().Wall.Add(time.Duration(second) * time.Second), Raw: 2,
					Grade: sensors.Good})
			}
		}
		require.NoError(d, store.Append(d.Context(), b))
		clock.Advance(time.Minute)
	}
	a := alarm.Alarm{ID: "air", State: alarm.Unacknowledged, Text: phrase.Say("The air does not move."), Urgent: true}
	note(rules.AlarmChange, rules.Event{Subject: "air", From: string(alarm.Normal), To: string(a.State), Alarm: &a})
	s.Phase, s.Since = session.Closed, clock.Now().Wall
	s.Tally = session.Tally{Trays: breathing.TrayTally{Open: 50 * time.Minute, Unproven: 10 * time.Minute}, Known: 50 * time.Minute,
		FanTime: 40 * time.Minute, To: clock.Now().Wall}
	note(rules.SessionPhase, rules.Event{Subject: room.ID, To: string(s.Phase), Session: &s})
	require.NoError(d, store.Close())
	reader, err := history.OpenReader(d.Context(), history.Options{Dir: dir, Clock: d.clock, Zone: time.UTC})
	require.NoError(d, err)
	d.Cleanup(func() { require.NoError(d, reader.Close()) })
	found, err := reader.VerifyBook(d.Context())
	require.NoError(d, err)
	id := len(d.books.list) + 1
	d.books.readers[id] = reader
	d.books.list = append(d.books.list, centre.Site{ID: id, Name: name, Heard: d.clock.Now().Wall, Said: found.Last, Kept: found.Last,
		Zone: "UTC", Version: "test", Complete: true})
	return &d.books.list[id-1]
}

// get answers a page, which must be there.
func (d *desk) get(path string) string {
	d.Helper()
	r := httptest.NewRequest(http.MethodGet, path, nil)
	r.RemoteAddr = "127.0.0.1:40000"
	out := httptest.NewRecorder()
	d.pages.ServeHTTP(out, r)
	require.Equal(d, http.StatusOK, out.Code, path+": "+out.Body.String())
	return out.Body.String()
}

func TestAManagerSeesHowEachSiteStands(t *testing.T) {
	d := newDesk(t)
	d.site("Library")
	d.over.Look(t.Context())
	page := d.get("/")
	for _, text := range []string{"Library", "No session now", "40 min of 50 min proven", "1 session", "99.7 %", "The air does not move",
		"1 overdue", "Eyewash flush", "Verified to record", "1 site. 1 needs attention."} {
		require.Contains(t, page, text)
	}
}

func TestASiteThatIsNotHeardIsNotShownAsIfItWere(t *testing.T) {
	d := newDesk(t)
	d.site("Library")
	d.over.Look(t.Context())
	d.clock.Advance(10 * time.Minute)
	d.over.Look(t.Context())
	page := d.get("/")
	require.Contains(t, page, "Not since 21:00")
	require.Contains(t, page, "Not known now")
	require.Contains(t, page, "1 open when last heard")
	require.Contains(t, d.get("/report?site=1&from=2026-10-01&to=2026-10-31"), "What it wrote later is not here")
}

func TestARefusedBookIsSaidWithItsReason(t *testing.T) {
	d := newDesk(t)
	s := d.site("Annex")
	s.Refused, s.Since, s.Said = "The site&#39;s book ends at record 3.", wednesday(), book.Checkpoint{Number: s.Kept.Number + 2}
	s.Refused = "The book ends at record 3."
	d.over.Look(t.Context())
	page := d.get("/")
	require.Contains(t, page, "Refused since 20:00")
	require.Contains(t, page, "The book ends at record 3.")
	require.Contains(t, d.get("/report?site=1&from=2026-10-01&to=2026-10-31"), "the centre takes nothing from this site")
}

func TestTheGravestConcernIsNamedFirst(t *testing.T) {
	d := newDesk(t)
	d.site("Annex")
	refused := d.site("Library")
	refused.Refused, refused.Since = "The book ends at record 3.", wednesday()
	d.over.Look(t.Context())
	page := d.get("/")
	require.Less(t, strings.Index(page, "Refused: The book ends"), strings.Index(page, "Overdue: Eyewash"),
		"a book that is refused comes before another site's overdue duty")
	require.Less(t, strings.Index(page, "The air does not move"), strings.Index(page, "Overdue: Eyewash"))
}

func TestReadingsThatAreOnTheWayAreNotCountedAsMissing(t *testing.T) {
	d := newDesk(t)
	s := d.site("Annex")
	s.Complete = false
	d.over.Look(t.Context())
	require.Contains(t, d.get("/"), "still arriving")
	require.Contains(t, d.get("/report?site=1&from=2026-10-14&to=2026-10-14"), "Not all that this site has recorded had arrived")
	s.Complete = true
	d.over.Look(t.Context())
	require.Contains(t, d.get("/"), "99.7 %")
}

func TestSitesThatCanNotBeReadLeaveTheOlderPictureAndSaySo(t *testing.T) {
	d := newDesk(t)
	d.site("Library")
	d.over.Look(t.Context())
	d.books.fails = errors.New("the server is gone")
	d.over.Look(t.Context())
	page := d.get("/")
	require.Contains(t, page, "what is shown is from before")
	require.Contains(t, page, "Library")
}

func TestTheWeeksAndTheReportOfASiteAreShownAtTheCentre(t *testing.T) {
	d := newDesk(t)
	d.site("Library")
	d.over.Look(t.Context())
	weeks := d.get("/sites/1/weeks")
	require.Contains(t, weeks, "Airflow by week · <span dir=\"auto\">Library")
	require.Contains(t, weeks, `data-begun="2026-10-14T18:00:00Z"`)
	require.Contains(t, weeks, "The air does not move.")
	require.NotContains(t, weeks, `href="/rooms/`, "the rooms of a site are shown at the site")
	require.Contains(t, d.get("/sites/1/report?from=2026-10-14&to=2026-10-14"), "In 1 session trays stood open for 50\u00a0min.")
	for _, unknown := range []string{"/sites/9/weeks", "/sites/x/report"} {
		out := httptest.NewRecorder()
		r := httptest.NewRequest(http.MethodGet, unknown, nil)
		r.RemoteAddr = "127.0.0.1:40000"
		d.pages.ServeHTTP(out, r)
		require.Equal(t, http.StatusNotFound, out.Code)
	}
}

func TestOneReportOnSeveralSitesHoldsTheReportOfEach(t *testing.T) {
	d := newDesk(t)
	d.site("Library")
	d.site("Annex")
	d.site("Left out")
	d.over.Look(t.Context())
	const asked = "site=1&site=2&from=2026-10-14&to=2026-10-14"
	page := d.get("/report?" + asked)
	require.Contains(t, page, "Report on the record of 2 sites")
	require.Contains(t, page, "In 2 sessions trays stood open for 1\u00a0h\u00a040\u00a0min.")
	require.Contains(t, page, "Annex · Totals")
	require.NotContains(t, page, "Left out · ")
	require.True(t, strings.HasPrefix(d.get("/report/report.pdf?"+asked), "%PDF"))

	files := unzipped(t, d.get("/report/report.zip?"+asked))
	require.Contains(t, files, "SHA256SUMS")
	require.Equal(t, 3, strings.Count(files["sites.csv"], "\r\n")+strings.Count(strings.ReplaceAll(files["sites.csv"], "\r\n", ""), "\n"))
	alone := unzipped(t, d.get("/sites/1/report/report.zip?from=2026-10-14&to=2026-10-14"))
	for name, text := range alone {
		if strings.HasSuffix(name, ".csv") {
			require.Equal(t, text, files["1-library/"+name], name)
		}
	}
	require.Greater(t, len(alone), 20, "the tables of one site were compared")
}

func unzipped(t *testing.T, archive string) map[string]string {
	r, err := zip.NewReader(bytes.NewReader([]byte(archive)), int64(len(archive)))
	require.NoError(t, err)
	files := map[string]string{}
	for _, f := range r.File {
		in, err := f.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(in)
		require.NoError(t, err)
		files[f.Name] = string(text)
	}
	return files
}

func TestAReportThatCanNotBeMadeSaysWhatIsWrong(t *testing.T) {
	d := newDesk(t)
	d.site("Library")
	d.over.Look(t.Context())
	for path, sentence := range map[string]string{
		"/report?from=2026-10-14&to=2026-10-14":        "No site is chosen",
		"/report?site=x&from=2026-10-14&to=2026-10-14": "is no site",
		"/report?site=7&from=2026-10-14&to=2026-10-14": "There is no site with the number 7",
		"/report?site=1&from=2026-10-14&to=2026-10-1":  "is not a day",
		"/report?site=1&from=2026-10-14&to=2026-10-10": "The first day is after the last",
	} {
		out := httptest.NewRecorder()
		r := httptest.NewRequest(http.MethodGet, path, nil)
		r.RemoteAddr = "127.0.0.1:40000"
		d.pages.ServeHTTP(out, r)
		require.Equal(t, http.StatusUnprocessableEntity, out.Code)
		require.Contains(t, out.Body.String(), sentence)
	}
}

// hurrying is a clock that goes on by a second whenever it is asked.
type hurrying struct{ *clocktest.Manual }

func (c hurrying) Now() sensors.Instant {
	c.Advance(time.Second)
	return c.Manual.Now()
}

func TestManySitesAreReadInTurnsAndNothingIsSaidOfOneBeforeItsTurn(t *testing.T) {
	d := newDesk(t)
	for _, name := range []string{"Library", "Annex", "Hall", "Tower"} {
		d.site(name)
	}
	d.over.Clock = hurrying{d.clock}
	verified := 0
	for look := 0; verified < len(d.books.list); look++ {
		require.Less(t, look, 20, "each has its turn")
		d.over.Look(t.Context())
		verified = 0
		for _, s := range d.over.Standing().Sites {
			require.Equal(t, s.Reading, s.Last == nil, "what was not read is not known")
			if !s.Book.Verified.IsZero() {
				verified++
			}
		}
		if look == 0 {
			require.True(t, d.over.Standing().Sites[3].Reading, "a look ends before all were read")
			require.Contains(t, d.get("/"), "Not known")
		}
	}
}
