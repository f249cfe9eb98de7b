package web

import (
	"errors"
	"html/template"
	"testing"

	"github.com/stretchr/testify/require"
)

// tray is what a part of a page shows.
type tray struct {
	Name   string
	Sheets []string
}

func TestAPartWhoseDataAreAsBeforeIsNotMadeAgain(t *testing.T) {
	made := 0
	count := template.FuncMap{"made": func() int { made++; return made }, "fail": func() (string, error) { return "", errors.New("invented") }}
	templates := template.Must(template.New("").Funcs(count).Parse(`{{define "tray"}}{{made}} {{.Name}}
{{.Sheets}}{{end}}{{define "other"}}{{made}}{{end}}{{define "broken"}}{{fail}}{{end}}`))
	d := Drawing{templates: templates}
	draw := func(template string, data any) string {
		d = Drawing{templates: templates, before: d.now, now: map[string]drawn{}}
		d.Part(template, data, "tray")
		return d.parts[0].html
	}
	require.Equal(t, "1 stop [8x10]", draw("tray", tray{"stop", []string{"8x10"}}))
	require.Equal(t, "1 stop [8x10]", draw("tray", tray{"stop", []string{"8x10"}}))
	require.Equal(t, "2 stop [5x7]", draw("tray", tray{"stop", []string{"5x7"}}))
	require.Equal(t, "3", draw("other", tray{"stop", []string{"5x7"}}), "another template")
	draw("broken", nil)
	require.ErrorContains(t, d.err, "invented")
}

func TestAReaderIsSentWhatItDoesNotHold(t *testing.T) {
	stop, fixer := part{id: "stop", html: "<p>stop</p>"}, part{id: "fixer", html: "<p>fixer</p>"}
	f := &frame{id: "7", parts: []part{stop, fixer}}
	require.Equal(t, "event: parts\nid: 7\ndata: <p>stop</p><p>fixer</p>\n\n", string(f.since(nil)))
	require.Equal(t, "event: parts\nid: 7\ndata: <p>fixer</p>\n\n", string(f.since([]part{stop, {id: "fixer", html: "<p>old</p>"}})))
	require.Equal(t, "event: beat\nid: 7\ndata: \n\n", string(f.since([]part{fixer, stop})))
}
