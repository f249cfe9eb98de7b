package web

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strings"

	"wetside/dashboard/report"
	"wetside/sensors/quantity/phrase"
)

// assets are the embedded files that a page loads, and what follows from them.
type assets struct {
	files map[string][]byte
	// version changes whenever any file does; it is part of every file's address.
	version string
	// colour is the style sent within the page, before anything else, by look.
	colour map[Look]template.CSS
	policy string
}

// Look says in which light a page is read.
type Look string

const (
	Red Look = "red" // the wet side: pure red on black
	Day Look = "day" // the dry side: light or dark as the system is set
)

// Keep is an address of this site in the same look: a red page leads to red pages.
func (l Look) Keep(href string) string {
	switch {
	case l != Red:
		return href
	case strings.Contains(href, "?"):
		return href + "&look=red"
	}
	return href + "?look=red"
}

// Link leads to an address of this site in the same look.
func (l Look) Link(href, text string) Link { return Link{Href: l.Keep(href), Text: text} }

func loadAssets(embedded fs.FS) (assets, error) {
	a := assets{files: map[string][]byte{}, colour: map[Look]template.CSS{}}
	sum := sha256.New()
	list, err := fs.ReadDir(embedded, "assets")
	if err != nil {
		return a, fmt.Errorf("reading the embedded files: %w", err)
	}
	for _, entry := range list {
		data, err := fs.ReadFile(embedded, "assets/"+entry.Name())
		if err != nil {
			return a, fmt.Errorf("reading the embedded file %s: %w", entry.Name(), err)
		}
		if entry.Name() == "office.css" { // a report stands on its page as in the file that is kept
			data = append([]byte(report.Sheet), data...)
		}
		a.files[entry.Name()] = data
		_, _ = sum.Write(data) // a hash never fails to write
	}
	a.version = hex.EncodeToString(sum.Sum(nil))[:12]
	var hashes []string
	for _, l := range []Look{Red, Day} {
		text := strings.TrimSpace(string(a.files["colour-"+string(l)+".css"]))
		a.colour[l] = template.CSS(text)
		digest := sha256.Sum256([]byte(text))
		hashes = append(hashes, "'sha256-"+base64.StdEncoding.EncodeToString(digest[:])+"'")
	}
	a.policy = "default-src 'none'; script-src 'self'; style-src 'self' " + strings.Join(hashes, " ") +
		"; img-src 'self'; font-src 'self'; manifest-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
	return a, nil
}

func (s *Kit) asset(w http.ResponseWriter, r *http.Request) {
	data, known := s.assets.files[r.PathValue("name")]
	if !known {
		s.Fail(w, r, Failure{http.StatusNotFound, NoSuchPage})
		return
	}
	types := map[string]string{".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml",
		".woff2": "font/woff2", ".webmanifest": "application/manifest+json", ".txt": "text/plain; charset=utf-8"}
	w.Header().Set("Content-Type", types[path.Ext(r.PathValue("name"))])
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	_, _ = w.Write(data) // the reader went away: nobody to tell
}

func parseTemplates(embedded fs.FS) (*template.Template, error) {
	t, err := template.New("").Funcs(template.FuncMap{"together": phrase.Together, "scoped": paired("Scope", "Field"),
		"formed": paired("Look", "Form"),
		"wayed":  paired("Look", "Way"), "stepped": paired("Look", "Ways")}).ParseFS(embedded, "templates/*.html")
	if err != nil {
		return nil, fmt.Errorf("reading the embedded templates: %w", err)
	}
	return t, nil
}

// paired lets a template hand two values to another, by the names that the other has for them.
func paired(first, second string) func(any, any) map[string]any {
	return func(a, b any) map[string]any { return map[string]any{first: a, second: b} }
}
