package config

import (
	"cmp"
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
