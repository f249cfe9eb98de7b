package config

import (
	"net/url"
	"os"
	"strings"
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
func readWebhook(root section, listen string) Webhook {
	s, given := root.table("webhook")
	if !given {
		return Webhook{}
	}
	defer s.close()
	w := Webhook{URL: s.text("url", true)}
	checkTarget(s, w.URL, listen)
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
		s.complain("secret-file", "holds a secret of %d characters: expected at least %d", len(w.Secret), leastSecret)
	}
	return w
}

// checkTarget refuses an address that is none, and one that is answered by this
// program itself: a message that comes back would never end.
func checkTarget(s section, target, listen string) {
	if target == "" {
		return
	}
	u, err := url.Parse(target)
	if err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http" {
		s.complain("url", "%q is not an address: expected one that begins with https:// or http://", target)
		return
	}
	port := u.Port()
	if port == "" {
		port = map[string]string{"https": "443", "http": "80"}[u.Scheme]
	}
	if SameTarget(listen, u.Hostname(), port) {
		s.complain("url", "%q is where wetside itself listens: name the program that is to be told", target)
	}
}
