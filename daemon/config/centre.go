package config

import (
	"encoding/hex"
	"errors"
	"os"
	"strings"
)

// Centre says where the book of the site is sent to; the zero Centre sends it nowhere.
type Centre struct {
	URL string
	// Key is the site's own, as the centre made it.
	Key string
	// Fingerprint is that of the centre's certificate, where the centre made that itself.
	Fingerprint string
}

// readCentre reads where the book goes. The key is in a file of its own, so that the
// configuration can be shown to anybody.
func readCentre(root section) Centre {
	s, given := root.table("centre")
	if !given {
		return Centre{}
	}
	defer s.close()
	c := Centre{URL: readWebAddress(s, "url", true), Fingerprint: s.text("fingerprint", false)}
	if sum, err := hex.DecodeString(strings.ReplaceAll(c.Fingerprint, ":", "")); c.Fingerprint != "" && (err != nil || len(sum) != 32) {
		s.complain("fingerprint", "expected the SHA-256 of a certificate: 64 hexadecimal digits, as wetside centre prints them at its start")
	}
	if file := s.text("key-file", true); file != "" {
		var err error
		if c.Key, err = ReadKey(file); err != nil {
			s.complain("key-file", "%s", err)
		}
	}
	return c
}

// errKey is what a file of a key lacks.
var errKey = errors.New("expected one line with the key of 64 hexadecimal digits that wetside centre add-site printed")

// ReadKey reads the file with the key of a site.
func ReadKey(file string) (string, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return "", err
	}
	key := strings.TrimSpace(string(text))
	if bytes, err := hex.DecodeString(key); err != nil || len(bytes) != 32 {
		return "", errKey
	}
	return key, nil
}
