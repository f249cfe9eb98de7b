package config

import (
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
	w := RemoteWrite{URL: readWebAddress(s, "url", true)}
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
