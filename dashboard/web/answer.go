package web

import (
	"net/http"
	"strings"

	"wetside/sensors/quantity/phrase"
)

// SentenceCase begins a clause with a capital and ends it with a full stop.
func SentenceCase(clause string) string {
	if clause == "" {
		return ""
	}
	return strings.TrimSuffix(phrase.Capital(clause), ".") + "."
}

// WantsText says whether a script asks, which stays on its page.
func WantsText(r *http.Request) bool { return r.Header.Get("Accept") == "text/plain" }

// SendText answers a script, which stays on its page.
func SendText(w http.ResponseWriter, status int, text string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write([]byte(text)) // the reader went away: nobody to tell
}
