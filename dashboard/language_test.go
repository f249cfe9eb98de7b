package dashboard_test

import (
	"crypto/rand"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/language"

	"wetside/dashboard"
	"wetside/dashboard/viewtest"
	"wetside/dashboard/words"
	"wetside/sensors"
)

// invented is a language in which every text of ours stands in angle quotes, but for what is
// put into it: that has to bring its own.
func invented(t *testing.T) words.Words {
	t.Helper()
	var files [2]string
	for i, name := range []string{"words/en.txt", "words/told.txt"} {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		files[i] = string(text)
	}
	verb := regexp.MustCompile(`%[-+.\d]*[a-zA-Z]`)
	quote := func(text string) string { return "‹" + verb.ReplaceAllString(text, "›$0‹") + "›" }
	pages := regexp.MustCompile(`(?m)^([a-z][^ #]*) = (.*)$`).ReplaceAllStringFunc(files[0], func(line string) string {
		key, text, _ := strings.Cut(line, " = ")
		return key + " = " + quote(text)
	})
	told := regexp.MustCompile(`(?m)^> (.*)$`).ReplaceAllStringFunc(files[1], func(line string) string { return line + "\n= " + quote(line[2:]) })
	return words.In(language.MustParse("art-x-quotes"), pages, told)
}

var (
	silent  = regexp.MustCompile(`(?s)<style.*?</style>|<script.*?</script>|<!--.*?-->`)
	read    = regexp.MustCompile(`\b(?:aria-label|title|alt|placeholder)="([^"]*)"`)
	tag     = regexp.MustCompile(`<[^>]*>`)
	typed   = regexp.MustCompile(`"[^"]*"`)
	quoted  = regexp.MustCompile(`‹[^‹›]*›`)
	english = regexp.MustCompile(`[a-z]{4,}|\b(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun|Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b`)
)

// leftOver gives what a page says that is not in the invented language: what people wrote, the
// names of things, and whatever was forgotten.
func leftOver(page string) []string {
	page = silent.ReplaceAllString(page, "")
	said := strings.Split(tag.ReplaceAllString(page, "\n"), "\n")
	for _, m := range read.FindAllStringSubmatch(page, -1) {
		said = append(said, m[1])
	}
	var out []string
	for _, text := range said {
		text = html.UnescapeString(text)
		for quoted.MatchString(text) {
			text = quoted.ReplaceAllString(text, "")
		}
		if text = strings.TrimSpace(typed.ReplaceAllString(text, "")); english.MatchString(text) {
			out = append(out, text)
		}
	}
	return out
}

// written are names and notes of the invented site: of the configuration, of the catalogue, and
// of the record book, which keeps what was said as it was said.
func written() []string {
	return []string{
		"North darkroom", "Evening class", "Developer", "Stop bath", "Fixer", "Wash tray", "Toner", "Eyewash", "Technician", "Wash aid", "Fan switch", "Exhaust duct",
		"Bench cable", "Waste pick-up", "Safety office", "Examination of the exhaust", "fixer bottle ", "an invented rule", "decision of the place", "air changes",
		"Rapid fixer", "Indicator stop bath", "Paper developer", "Print developer", "Film developer", "Fixer, powder",
		"/dev/", "/etc/", "/srv/", "/media/", "Vienna", "linux", "19.4 C", "high-first", "low-first", "input", "holding", "text9600", ".csv", "batch mixed", "test done", "discarded", "waste added", "waste collected", "Class, Ida",
		"The air does not move.", "three minutes, clear", "Recorded as number", "from memory", "Darkroom Cookbook", "fixer lot", "a page failed", "a line is gone", "no such device", "checked text", "Look at its plug.",
	}
}

// told reads a page: every sentence of it is in the language of the place.
func told(t *testing.T, name string, out *httptest.ResponseRecorder) {
	t.Helper()
	for _, text := range leftOver(out.Body.String()) {
		if !slices.ContainsFunc(written(), func(own string) bool { return strings.Contains(text, own) }) {
			t.Errorf("%s says %q, which no other language could", name, text)
		}
	}
}

func TestEverySentenceOfEveryPageIsToldInTheLanguageOfThePlace(t *testing.T) {
	p := guarded(t, func(o *dashboard.Options) {
		o.Door, o.Words = nil, invented(t)
		stage := o.View.(*viewtest.Stage)
		stage.Remember(minutely)
		o.Shelf = fullShelf(t, stage)
	})
	read := 0
	for _, route := range dashboard.DecidedRoutes() {
		out := p.knock(route, "", nil)
		if !strings.HasPrefix(route, "GET ") || !strings.HasPrefix(out.Header().Get("Content-Type"), "text/html") || out.Code != http.StatusOK {
			continue
		}
		read++
		told(t, route, out)
	}
	require.Greater(t, read, 20, "pages were read")
}

// Whoever presses a button without having filled in its form is told what is missing.
func TestEveryFormAnswersInTheLanguageOfThePlace(t *testing.T) {
	p := guarded(t, func(o *dashboard.Options) {
		o.Door, o.Words = nil, invented(t)
		o.Shelf = fullShelf(t, o.View.(*viewtest.Stage))
	})
	act, pressed := regexp.MustCompile(`name="act" value="([^"]*)"`), 0
	for _, route := range dashboard.DecidedRoutes() {
		page, is := strings.CutPrefix(route, "POST ")
		if !is {
			continue
		}
		acts := act.FindAllStringSubmatch(p.knock("GET "+page, "", nil).Body.String(), -1)
		for _, m := range append(acts, []string{"", ""}) {
			pressed++
			out := p.knock(route, "", url.Values{"act": {m[1]}, "token": {rand.Text()}})
			if to := out.Header().Get("Location"); to != "" {
				out = p.knock("GET "+to, "", nil)
			}
			told(t, route+" "+m[1], out)
		}
	}
	require.Greater(t, pressed, 40, "forms were sent")
}

func TestAReportIsToldInTheLanguageOfThePlace(t *testing.T) {
	office := viewtest.NewOffice()
	p := guarded(t, func(o *dashboard.Options) { o.Door, o.Words, o.Office = nil, invented(t), office })
	made := p.knock("GET /report?from=2026-01-01&to=2026-02-01", "", nil)
	require.Contains(t, made.Body.String(), "‹Sessions and their air›")
	told(t, "a report", made)
	office.Err = sensors.ErrForbidden
	failed := p.knock("GET /report?from=2026-01-01&to=2026-02-01", "", nil)
	require.Contains(t, failed.Body.String(), "‹no permission›")
	told(t, "a report that failed", failed)
}

func TestWhoIsTurnedAwayIsToldWhyInTheLanguageOfThePlace(t *testing.T) {
	p := guarded(t, func(o *dashboard.Options) { o.Words = invented(t) })
	for name, out := range map[string]*httptest.ResponseRecorder{
		"signing in":                   p.signIn("192.0.2.7:1000", url.Values{"name": {"Kim"}, "password": {"wrong"}}),
		"an invitation":                p.knock("GET /join?code=wrong", "", nil),
		"a password typed differently": p.knock("POST /join", "", url.Values{"code": {viewtest.Invitation}, "password": {"a"}, "again": {"b"}}),
	} {
		require.Equal(t, http.StatusUnprocessableEntity, out.Code, name)
		require.Contains(t, out.Body.String(), "‹the name and the password", name)
		told(t, name, out)
	}
}

func TestTheFirstStartIsToldInTheLanguageOfThePlace(t *testing.T) {
	first := &viewtest.FirstRun{}
	p := guarded(t, func(o *dashboard.Options) { o.Door, o.Words, o.FirstRun = nil, invented(t), first })
	press := func(act string) *httptest.ResponseRecorder {
		sent := p.knock("POST /first-run", "", url.Values{"act": {act}, "token": {rand.Text()}, "port": first.Ports()})
		return p.knock("GET "+sent.Header().Get("Location"), "", nil)
	}
	heard := press("listen")
	require.Contains(t, heard.Body.String(), "‹stop bath›")
	told(t, "what was heard", heard)
	for _, act := range []string{"write", "ask"} {
		told(t, act, press(act))
	}
	first.Err = sensors.ErrForbidden
	silent := press("listen")
	require.Contains(t, silent.Body.String(), "‹no permission›")
	told(t, "what was not heard", silent)
}

// The name of a clock stands beside what it says, in a language too that puts the two in one sentence otherwise.
func TestAPassportSaysTheNameOfAClockOnce(t *testing.T) {
	p := guarded(t, func(o *dashboard.Options) {
		o.Door, o.Words = nil, invented(t)
		o.Shelf = fullShelf(t, o.View.(*viewtest.Stage))
	})
	text := html.UnescapeString(p.page("/shelf/F1"))
	rows := regexp.MustCompile(`<tr[^>]*><th scope="row">([^<]*)<.*?</tr>`).FindAllStringSubmatch(text, -1)
	require.NotEmpty(t, rows)
	for _, row := range rows {
		require.Equal(t, 1, strings.Count(row[0], row[1]), row[0])
	}
	require.Contains(t, text, " old, limit ")
	require.NotContains(t, text, "\uFFFD", "a first letter of more than one byte stays whole")
}
