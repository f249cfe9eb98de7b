package config

import (
	"os"
	"time"
)

// TimeStamp says which authority stamps the record book; the zero TimeStamp asks none.
type TimeStamp struct {
	URL   string
	Every time.Duration
	// Authority is the file of the authority's certificates; empty where nobody named them.
	Authority string
}

func readTimeStamp(root section) TimeStamp {
	s, given := root.table("timestamp")
	if !given {
		return TimeStamp{}
	}
	defer s.close()
	t := TimeStamp{URL: readWebAddress(s, "url", true), Every: s.duration("every", 24*time.Hour, time.Hour, 31*24*time.Hour),
		Authority: s.text("authority", false)}
	if t.Authority == "" {
		return t
	}
	if _, err := os.Stat(t.Authority); err != nil {
		s.complain("authority", "can't be read: %s", err)
	}
	return t
}
