package config

import (
	"crypto/x509"
	"time"
)

// TimeStamp says which authority stamps the record book; the zero TimeStamp asks none.
type TimeStamp struct {
	URL   string
	Every time.Duration
	// Roots are the certificates of the authority; nil where nobody named them.
	Roots *x509.CertPool
}

func readTimeStamp(root section) TimeStamp {
	s, given := root.table("timestamp")
	if !given {
		return TimeStamp{}
	}
	defer s.close()
	return TimeStamp{URL: readWebAddress(s, "url", true), Every: s.duration("every", 24*time.Hour, time.Hour, 31*24*time.Hour),
		Roots: readRoots(s, "authority")}
}
