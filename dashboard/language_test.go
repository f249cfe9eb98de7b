package dashboard_test

import (
	"html"
	"net/http"
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
)

// invented is a language in which every text of ours stands in angle quotes.
func invented(t *testing.T) words.Words {
	t.Helper()
	var files [2]string
	for i, name := range []string{"words/en.txt", "words/told.txt"} {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		files[i] = string(text)
	}
	pages := regexp.MustCompile(`(?m)^([a-z][^ #]*) = (.*)$`).ReplaceAllString(files[0], "$1 = ‹$2›")
	told := regexp.MustCompile(`(?m)^> (.*)$`).ReplaceAllString(files[1], "$0\n= ‹$1›")
	return words.In(language.MustParse("art-x-quotes"), pages, told)
}

var (
	silent  = regexp.MustCompile(`(?s)<style.*?</style>|<script.*?</script>|<!--.*?-->`)
	read    = regexp.MustCompile(`\b(?:aria-label|title|alt|placeholder)="([^"]*)"`)
	tag     = regexp.MustCompile(`<[^>]*>`)
	quoted  = regexp.MustCompile(`‹[^‹›]*›`)
	english = regexp.MustCompile(`[A-Za-z]{2,}[ ,]+[a-z]{2,}`)
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
		if text = strings.TrimSpace(text); english.MatchString(text) {
			out = append(out, text)
		}
	}
	return out
}

// written are names and notes of the invented site: of the configuration, of the catalogue, and
// of the record book, which keeps what was said as it was said.
func written() []string {
	return []string{
		"North darkroom", "Evening class", "Developer tray", "Stop bath", "Fixer tray", "Wash tray", "Wash aid", "Fan switch", "Exhaust duct",
		"Bench cable", "Waste pick-up", "Safety office", "Examination of the exhaust", "fixer bottle ", "an invented rule", "decision of the place", "air changes",
		"Rapid fixer", "Indicator stop bath", "Paper developer", "Print developer", "Film developer", "Fixer, powder",
		"The air does not move.", "three minutes, clear", "a page failed", "a line is gone", "no such device", "checked text", "Look at its plug.",
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
		for _, text := range leftOver(out.Body.String()) {
			if !slices.ContainsFunc(written(), func(own string) bool { return strings.Contains(text, own) }) {
				t.Errorf("%s says %q, which no other language could", route, text)
			}
		}
	}
	require.Greater(t, read, 20, "pages were read")
}
