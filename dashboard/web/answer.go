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

// What several pages say when they can't do what was asked.
const (
	// NoSuchPage answers for an address without a page.
	NoSuchPage = "There is no page at this address."
	// NotDrawn answers where a page failed.
	NotDrawn = "This page could not be drawn. The log says why."
	// Incomplete refuses a form of which a part is missing.
	Incomplete = "Part of the form did not arrive. Reload the page and try again."
	// UnknownAct refuses a form whose act the page does not have.
	UnknownAct = "This form asks for something wetside does not know. Reload the page."
	// NoSuchChannel answers for a channel that the room does not have.
	NoSuchChannel = "This room has no such channel."

	otherContents = "This form was already sent once, with other contents. Check what was recorded before you send the form again."
)
