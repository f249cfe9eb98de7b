package config

import (
	"regexp"
	"slices"
)

// RemoteWrite says which time-series engine gets the readings; the zero RemoteWrite
// means none.
type RemoteWrite struct {
	URL   string
	Token string
	// Labels go with every series: "site" always, which tells sites apart, and others.
	Labels map[string]string
}

// readRemoteWrite reads where readings are handed on to.
func readRemoteWrite(root section) RemoteWrite {
	s, given := root.table("remote-write")
	if !given {
		return RemoteWrite{}
	}
	defer s.close()
	w := RemoteWrite{URL: readWebAddress(s, "url", true), Labels: readLabels(s)}
	w.Token = readSecretLine(s, "token-file")
	return w
}

// readLabels reads what is said of the site with every series.
func readLabels(s section) map[string]string {
	all := map[string]string{}
	labels, given := s.table("labels")
	for name := range labels.values {
		if all[name] = labels.text(name, true); !labelName().MatchString(name) || slices.Contains([]string{"site", "room", "channel"}, name) {
			labels.complain(name, "can't be a label name: use letters, digits and _, no digit first, and none of site, room and "+
				"channel")
		}
	}
	if given {
		labels.close()
	}
	all["site"] = s.text("site", true)
	return all
}

// labelName matches what the protocol takes as the name of a label; names that begin with two
// underscores are the receiver's own.
func labelName() *regexp.Regexp { return regexp.MustCompile(`^([a-zA-Z]|_[a-zA-Z0-9])[a-zA-Z0-9_]*$`) }
