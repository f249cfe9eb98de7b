package config

import (
	"crypto/x509"
	"net"
	"os"
	"slices"
	"strings"

	"wetside/sensors/broker"
	"wetside/sensors/dialect"
)

func readBroker(s section, path string) broker.Opener {
	at, err := broker.Parse(path)
	if err != nil && path != "" {
		s.complain("port", "%s", err)
	}
	if _, given := s.values["silence"]; !given {
		s.complain("silence", "is missing: write the longest time between two messages of a probe, such as \"10m\"")
	}
	o := broker.Opener{User: s.text("user", false)}
	o.Password = readSecretLine(s, "password-file")
	o.Roots = readRoots(s, "ca-file")
	if o.Password != "" && o.User == "" {
		s.complain("user", "is missing: write the user name that goes with the password")
	}
	if o.Password != "" && err == nil && !at.TLS && !isHere(at.Host) {
		s.complain("port", "everybody on the network could read the password: write mqtts:// instead of mqtt://, or leave the password out")
	}
	return o
}

// isHere says whether an address with a port is that of this computer.
func isHere(address string) bool {
	host, _, _ := net.SplitHostPort(address)
	return host == "localhost" || net.ParseIP(host).IsLoopback()
}

func readSecretLine(s section, key string) string {
	file := s.text(key, false)
	if file == "" {
		return ""
	}
	text, err := os.ReadFile(file)
	secret := strings.TrimSpace(string(text))
	switch {
	case err != nil:
		s.complain(key, "can't be read: %s", err)
	case secret == "" || strings.ContainsAny(secret, "\r\n"):
		s.complain(key, "expected one line with the secret in %s", file)
	}
	return secret
}

func readRoots(s section, key string) *x509.CertPool {
	file := s.text(key, false)
	if file == "" {
		return nil
	}
	text, err := os.ReadFile(file)
	roots := x509.NewCertPool()
	if err != nil {
		s.complain(key, "can't be read: %s", err)
	} else if !roots.AppendCertsFromPEM(text) {
		s.complain(key, "expected certificates in PEM form in %s", file)
	}
	return roots
}

func readTopic(s section, l *Line) string {
	v := dialect.MQTTValue{Topic: s.text("topic", true), Field: s.text("field", false)}
	if strings.ContainsAny(v.Topic, "+#\x00") || len(v.Topic) > 200 {
		s.complain("topic", "%q is not the topic of one probe: expected one without + and #, such as \"darkroom/fixer\"", v.Topic)
	}
	l.messages = append(l.messages, v)
	if !slices.Contains(l.broker.Topics, v.Topic) {
		l.broker.Topics = append(l.broker.Topics, v.Topic)
	}
	return v.Address()
}
