package sites

import (
	"cmp"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules/access"
	"wetside/sensors/quantity/phrase"
)

// mostRows is how many sites one page shows, and how many that need a look it names.
const mostRows = 100

type sitesBody struct {
	Problem, Sum string
	Look         []lookRow
	More         string // of those that need a look and are not named
	Parts        []part
	AsOf         string // when a part that is not kept up to date was drawn
	Buildings    []building
}

// part leads to a part of the sites; the one that is shown leads nowhere.
type part struct {
	web.Link
	Shown bool
}

// lookRow is a site that needs a look, and why.
type lookRow struct {
	web.Link
	In  string // the building
	Why []string

	worst concern
}

type building struct {
	Name string
	Rows []row
}

// row is a site as the table shows it.
type row struct {
	web.Link
	Simulated    bool
	Report       string
	Heard, Air   state
	Week         string
	Weekly       string // how the air of the week was
	Coverage     string
	Alarms, Book []state
	Duties       state
}

// state is a shape beside words.
type state struct{ Shape, Text, Sub string }

func (s *Pages) sitesPage(w http.ResponseWriter, r *http.Request) {
	l := web.LookOf(r)
	p := s.PlacePage(r, web.Head{Name: "sites", Title: "Sites"}, "sites.css")
	n, _ := strconv.Atoi(r.URL.Query().Get("part")) // what is no number asks for the first
	if n <= 1 {
		p.Stream, p.Refresh = l.Keep("/sites/events"), web.WithoutScript
	}
	p.Body = s.bodyOf(l, n, access.SitesOf(r.Context()))
	s.Show(w, r, http.StatusOK, p)
}

func (s *Pages) sitesParts(d *web.Drawing, in web.Visit, l web.Look) {
	d.Part("part-sites", s.bodyOf(l, 1, in.Sees), "sites")
}

// seen is how the sites stand that somebody may see. No page asks in another way.
func (s *Pages) seen(sees access.Sites) Standing {
	now := s.Sites.Standing()
	now.Sites = slices.DeleteFunc(slices.Clone(now.Sites), func(site Site) bool { return !sees.Show(site.Name, site.Building) })
	return now
}

// bodyOf shows one part of the sites that somebody may see, counted from 1, and which of all need a look.
func (s *Pages) bodyOf(l web.Look, n int, sees access.Sites) sitesBody {
	f, now := drawn{s.Figures(s.View.Now()), l}, s.seen(sees)
	body := sitesBody{Problem: f.Text(now.Problem)}
	from, to := f.parts(&body, len(now.Sites), n)
	for i, site := range now.Sites {
		if from <= i && i < to {
			body.add(f, site)
		}
		if why, worst := f.needs(site); len(why) > 0 {
			body.Look = append(body.Look, lookRow{f.weeks(site), site.Building, why, worst})
		}
	}
	slices.SortStableFunc(body.Look, func(a, b lookRow) int { return cmp.Compare(a.worst, b.worst) })
	need := len(body.Look)
	body.Look = body.Look[:min(need, mostRows)]
	if need > mostRows {
		body.More = web.Count(need-mostRows, "%d more needs attention.", "%d more need attention.")
	}
	switch {
	case len(now.Sites) == 0 && sees != access.AllSites:
		body.Sum = "There is no site that you may see: a keeper says on the page People which you may."
	case len(now.Sites) == 0:
		body.Sum = "No site is known yet. Add one on the computer of the centre: wetside centre add-site"
	case need == 0:
		body.Sum = web.Count(len(now.Sites), "%d site. Nothing needs attention.", "%d sites. Nothing needs attention.")
	default:
		body.Sum = web.Count(len(now.Sites), "%d site.", "%d sites.") + " " + web.Count(need, "%d needs attention.", "%d need attention.")
	}
	return body
}

func (b *sitesBody) add(f drawn, site Site) {
	if n := len(b.Buildings); n == 0 || b.Buildings[n-1].Name != site.Building {
		b.Buildings = append(b.Buildings, building{Name: site.Building})
	}
	last := &b.Buildings[len(b.Buildings)-1]
	last.Rows = append(last.Rows, f.row(site))
}

// parts links the parts of many sites, and gives which sites part n has.
func (f drawn) parts(body *sitesBody, sites, n int) (from, to int) {
	n = min(max(n, 1), max(1, (sites+mostRows-1)/mostRows))
	if n > 1 {
		body.AsOf = f.WhenExactly(f.Now.Wall)
	}
	ask := map[bool]string{false: "?", true: "&"}[f.look == web.Red]
	for i := 0; sites > mostRows && i*mostRows < sites; i++ {
		text := fmt.Sprintf("%d to %d", i*mostRows+1, min((i+1)*mostRows, sites))
		link := f.look.Link("/", text)
		link.Href += ask + "part=" + strconv.Itoa(i+1)
		body.Parts = append(body.Parts, part{link, i+1 == n})
	}
	return (n - 1) * mostRows, min(n*mostRows, sites)
}

// drawn draws sites in a look.
type drawn struct {
	web.Figures
	look web.Look
}

func (f drawn) weeks(site Site) web.Link {
	return f.look.Link("/sites/"+strconv.Itoa(site.ID)+"/weeks", site.Name)
}

func (f drawn) row(site Site) row {
	out := row{Link: f.weeks(site), Simulated: site.Simulated, Report: f.look.Link("/sites/"+strconv.Itoa(site.ID)+"/report", "").Href,
		Heard: f.heard(site), Book: f.book(site.Book)}
	unknown := state{Shape: "unknown", Text: "Not known"}
	if text := f.Text(site.Problem); text != "" || site.Heard.IsZero() || site.Reading {
		out.Week, out.Coverage, out.Alarms, out.Duties = unknown.Text, "–", []state{unknown}, unknown
		out.Air, out.Air.Sub = unknown, text
		return out
	}
	out.Air, out.Alarms, out.Duties = f.air(site), f.alarms(site), f.duties(site)
	out.Week, out.Weekly = f.week(site.Week)
	out.Coverage = "–"
	switch {
	case site.Arriving:
		out.Coverage = "still arriving"
	case site.Required > 0:
		out.Coverage = f.Number(math.Floor(1000*float64(site.Valid)/float64(site.Required))/10, 1) + " %"
	}
	return out
}

// heard says when the site spoke last.
func (f drawn) heard(site Site) state {
	switch {
	case site.Heard.IsZero():
		return state{Shape: "unknown", Text: "Never"}
	case site.Late:
		return state{Shape: "stopped", Text: "Not since " + f.When(site.Heard)}
	}
	return state{Shape: "moving", Text: f.When(site.Heard)}
}

// air says how the air is where a session runs and the site is heard, and how it was last.
func (f drawn) air(site Site) state {
	last := site.Last
	if last == nil {
		return state{Shape: "unknown", Text: "No session yet"}
	}
	a := last.Air()
	out := state{Shape: "moving", Text: "No session now", Sub: fmt.Sprintf("Last %s: %s of %s proven", f.When(last.Begun),
		report.Hours(a.Proven), report.Hours(a.Open()))}
	switch {
	case a.Open() <= 0:
		out.Sub = fmt.Sprintf("Last %s: no tray open", f.When(last.Begun))
	case a.Low > 0:
		out.Shape = "stopped"
	case a.Unknown > 0:
		out.Shape = "unknown"
	}
	if !last.Running {
		return out
	}
	out.Sub = fmt.Sprintf("Session since %s", f.When(last.Begun))
	if site.Late {
		return state{Shape: "unknown", Text: "Not known", Sub: out.Sub}
	}
	out.Text = phrase.Capital(f.Text(site.Air))
	if out.Text == "" {
		out.Shape, out.Text = "unknown", "Not known"
	}
	return out
}

// week says how many sessions there were this week and how much of their air was proven.
func (f drawn) week(sessions []report.Session) (count, proven string) {
	if len(sessions) == 0 {
		return "No session", ""
	}
	var air report.Air
	for _, s := range sessions {
		air = air.Plus(s.Air())
	}
	count = web.Count(len(sessions), "%d session", "%d sessions")
	if air.Open() <= 0 {
		return count, "No tray open"
	}
	return count, fmt.Sprintf("%s of %s proven", report.Hours(air.Proven), report.Hours(air.Open()))
}

func (f drawn) alarms(site Site) []state {
	if site.Late {
		open := "none"
		if n := len(site.Alarms); n > 0 {
			open = strconv.Itoa(n)
		}
		return []state{{Shape: "unknown", Text: "Not known now", Sub: open + " open when last heard"}}
	}
	var list []state
	for _, a := range site.Alarms {
		shape := "low"
		if a.Urgent {
			shape = "stopped"
		}
		list = append(list, state{Shape: shape, Text: strings.TrimSuffix(f.Text(a.Text), "."), Sub: "since " + f.When(a.Raised)})
	}
	if len(list) == 0 {
		return []state{{Shape: "moving", Text: "None open"}}
	}
	return list
}

func (f drawn) duties(site Site) state {
	if len(site.Overdue) == 0 && site.Late {
		return state{Shape: "unknown", Text: "Not known now", Sub: "none overdue at " + f.When(site.Heard)}
	}
	if len(site.Overdue) == 0 {
		return state{Shape: "moving", Text: "None overdue"}
	}
	return state{Shape: "stopped", Text: web.Count(len(site.Overdue), "%d overdue", "%d overdue"), Sub: strings.Join(site.Overdue, ", ")}
}

// book says how far the record book was verified and whether it is taken.
func (f drawn) book(b Book) []state {
	var list []state
	switch {
	case b.Broken != "":
		list = append(list, state{Shape: "stopped", Text: "Fails verification at the centre"})
	case b.Verified.IsZero():
		list = append(list, state{Shape: "unknown", Text: "Not verified yet"})
	default:
		list = append(list, state{Shape: "moving", Text: fmt.Sprintf("Verified to record %d", b.Number), Sub: f.When(b.Verified)})
	}
	if b.Refused != "" {
		list = append(list, state{Shape: "stopped", Text: "Refused since " + f.When(b.Since)})
	} else if b.Behind > 0 {
		list = append(list, state{Shape: "low", Text: web.Count(int(min(b.Behind, math.MaxInt32)), "%d record still to come",
			"%d records still to come")})
	}
	return list
}

// concern is why a site needs a look, the gravest first.
type concern int

const (
	bookRefused concern = iota
	bookBroken
	silent
	unreadable
	alarmOpen
	airLow
	dutyOverdue
)

// needs says why a site needs a look, and the worst of it; nothing where it needs none.
func (f drawn) needs(site Site) (why []string, worst concern) {
	add := func(of concern, when bool, format string, parts ...any) {
		if !when {
			return
		}
		if len(why) == 0 {
			worst = of
		}
		why = append(why, fmt.Sprintf(format, parts...))
	}
	add(bookRefused, site.Book.Refused != "", "Refused: %s", site.Book.Refused)
	add(bookBroken, site.Book.Broken != "", "The record book fails verification: %s", site.Book.Broken)
	add(silent, site.Heard.IsZero(), "Never heard.")
	add(silent, site.Late, "Not heard since %s.", f.When(site.Heard))
	problem := f.Text(site.Problem)
	add(unreadable, problem != "", "%s", problem)
	for _, a := range site.Alarms {
		add(alarmOpen, !site.Late, "%s", f.Text(a.Text))
	}
	var low time.Duration
	for _, s := range site.Week {
		low += s.Air().Low
	}
	add(airLow, low > 0, "Airflow too low or stopped for %s this week.", report.Hours(low))
	add(dutyOverdue, len(site.Overdue) > 0, "Overdue: %s.", strings.Join(site.Overdue, ", "))
	return why, worst
}
