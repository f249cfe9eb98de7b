package config

import (
	"net/url"
	"os"
	"strings"
)

// RemoteWrite says which time-series engine gets the readings; the zero RemoteWrite
// means none.
type RemoteWrite struct {
	URL   string
	Token string
}

// readRemoteWrite reads where readings are handed on to. The token stands in a file
// of its own, so that the configuration can be shown to anybody.
func readRemoteWrite(root section) RemoteWrite {
	s, given := root.table("remote-write")
	if !given {
		return RemoteWrite{}
	}
	defer s.close()
	w := RemoteWrite{URL: s.text("url", true)}
	if u, err := url.Parse(w.URL); w.URL != "" && (err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http") {
		s.complain("url", "%q is not an address: expected one that begins with https:// or http://", w.URL)
	}
	file := s.text("token-file", false)
	if file == "" {
		return w
	}
	token, err := os.ReadFile(file)
	w.Token = strings.TrimSpace(string(token))
	switch {
	case err != nil:
		s.complain("token-file", "can't be read: %s", err)
	case w.Token == "" || strings.ContainsAny(w.Token, "\r\n"):
		s.complain("token-file", "expected one line with the token")
	}
	return w
}
