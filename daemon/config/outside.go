package config

import (
	"cmp"
	"crypto/x509"
	"encoding/hex"
	"errors"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strings"
	"time"
)

// Webhook says which program is told of alarms; the zero Webhook tells nobody.
type Webhook struct {
	URL    string
	Secret []byte
}

// leastSecret is how many characters a shared secret must have.
const leastSecret = 16

// readWebhook reads whom to tell. The secret stands in a file of its own, so that
// the configuration can be shown to anybody.
func readWebhook(s section, listen string) Webhook {
	w := Webhook{URL: readWebAddress(s, "url", true)}
	refuseItself(s, w.URL, listen)
	file := s.text("secret-file", true)
	if file == "" {
		return w
	}
	secret, err := os.ReadFile(file)
	if err != nil {
		s.complain("secret-file", "can't be read: %s", err)
		return w
	}
	w.Secret = []byte(strings.TrimSpace(string(secret)))
	if len(w.Secret) < leastSecret {
		s.complain("secret-file", "the secret has %d characters: expected at least %d", len(w.Secret), leastSecret)
	}
	return w
}

// refuseItself refuses an address that is answered by this program itself: a message that
// comes back would never end.
func refuseItself(s section, target, listen string) {
	u, err := url.Parse(target)
	if err != nil {
		return // it was complained of
	}
	port := cmp.Or(u.Port(), map[string]string{"https": "443", "http": "80"}[u.Scheme])
	if SameTarget(listen, u.Hostname(), port) {
		s.complain("url", "%q is where wetside itself listens: write the address of the program that receives alarms", target)
	}
}

// RemoteWrite says which time-series engine gets the readings; the zero RemoteWrite
// means none.
type RemoteWrite struct {
	URL   string
	Token string
	// Labels go with every series: "site" always, which tells sites apart, and others.
	Labels map[string]string
}

func readRemoteWrite(s section) RemoteWrite {
	w := RemoteWrite{URL: readWebAddress(s, "url", true), Labels: readLabels(s)}
	w.Token = readSecretLine(s, "token-file")
	return w
}

func readLabels(s section) map[string]string {
	all := map[string]string{}
	labels, _ := s.table("labels")
	for name := range labels.values {
		if all[name] = labels.text(name, true); !labelName().MatchString(name) || slices.Contains([]string{"site", "room", "channel"}, name) {
			labels.complain(name, "can't be a label name: use letters, digits and _, no digit first, and none of site, room and "+
				"channel")
		}
	}
	all["site"] = s.text("site", true)
	return all
}

// labelName matches what the protocol takes as the name of a label; names that begin with two
// underscores are the receiver's own.
func labelName() *regexp.Regexp { return regexp.MustCompile(`^([a-zA-Z]|_[a-zA-Z0-9])[a-zA-Z0-9_]*$`) }

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
func readCentre(s section) Centre {
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

// TimeStamp says which authority stamps the record book; the zero TimeStamp asks none.
type TimeStamp struct {
	URL   string
	Every time.Duration
	// Roots are the certificates of the authority; nil where nobody named them.
	Roots *x509.CertPool
}

func readTimeStamp(s section) TimeStamp {
	return TimeStamp{URL: readWebAddress(s, "url", true), Every: s.duration("every", 24*time.Hour, time.Hour, 31*24*time.Hour),
		Roots: readRoots(s, "authority")}
}

// Backup says where the running program copies its history to; the zero Backup copies nothing.
type Backup struct {
	Folder string
	Every  time.Duration
	// Keep is how many copies stay; older ones are removed.
	Keep int
}

func readBackup(s section) Backup {
	return Backup{Folder: readFolder(s, "folder", true), Every: s.duration("every", 24*time.Hour, time.Hour, 31*24*time.Hour),
		Keep: s.whole("keep", 14, 1, 1000)}
}
