package config

import (
	"cmp"
	"net"
	"net/mail"
	"slices"
	"strconv"
	"time"

	"wetside/daemon/notify"
	"wetside/sensors/quantity/phrase"
)

func readMail(root section) (server notify.Server, given bool) {
	s, given := root.table("mail")
	if !given {
		return notify.Server{}, false
	}
	server = notify.Server{User: s.text("user", false), From: readMailAddress(s, "from", true)}
	server.Security = cmp.Or(notify.Security(s.text("security", false)), notify.StartTLS)
	usual := map[notify.Security]int{notify.StartTLS: 587, notify.TLS: 465, notify.Unprotected: 25}
	if usual[server.Security] == 0 {
		s.complain("security", "%q is not usable: expected starttls, tls or none", string(server.Security))
	}
	text := s.text("server", true)
	server.Host, server.Port = text, usual[server.Security]
	if host, port, err := net.SplitHostPort(text); err == nil {
		n, err := strconv.ParseUint(port, 10, 16)
		if err != nil {
			s.complain("server", "%q has no port: expected host:port, such as \"mail.example.org:587\"", text)
		}
		server.Host, server.Port = host, int(n)
	}
	if server.Security == notify.Unprotected && Beyond(net.JoinHostPort(server.Host, "25")) {
		s.complain("security", "none is only for a mail server on this computer: write starttls or tls, "+
			"or anybody on the way can read and change messages")
	}
	if server.User != "" {
		if server.Password = readSecretLine(s, "password-file"); s.values["password-file"] == nil {
			s.complain("password-file", "is missing: this user needs a password on the server")
		}
	}
	server.Roots = readRoots(s, "authority")
	return server, true
}

func readPeopleToTell(root section, mailed bool) (people []notify.Person) {
	names := seen{}
	for _, s := range root.tables("notify") {
		p := notify.Person{Name: s.text("name", true), Mail: readMailAddress(s, "mail", false),
			Push:  notify.Push{URL: readWebAddress(s, "push", false)},
			After: s.duration("after", 10*time.Minute, time.Minute, 24*time.Hour)}
		names.once(s, "name", "person to notify", p.Name)
		if p.Push.URL != "" {
			p.Push.Token = readSecretLine(s, "push-token-file")
		}
		switch {
		case (p.Mail == "") == (p.Push.URL == ""):
			s.complain("mail", "expected either mail = with an address or push = with a web address")
		case p.Mail != "" && !mailed:
			s.complain("mail", "there is no mail server: write a [mail] table with server = and from =")
		}
		p.About = readMatters(s)
		p.Hours = notify.Hours{From: readHour(s, "from"), To: readHour(s, "to")}
		if _, asked := s.values["digest"]; asked {
			at := readHour(s, "digest")
			p.Digest = &at
		}
		people = append(people, p)
	}
	return people
}

// readMatters reads what a person is told of; everything when left out.
func readMatters(s section) (list []notify.Kind) {
	for _, text := range s.texts("about") {
		if !slices.Contains(notify.Kinds(), notify.Kind(text)) {
			s.complain("about", "there are no messages about %q: choose from %s", text, phrase.Listed(notify.Kinds()))
		}
		list = append(list, notify.Kind(text))
	}
	if len(list) == 0 {
		return notify.Kinds()
	}
	return list
}

// readHour reads a time of the day, midnight when left out.
func readHour(s section, key string) time.Duration {
	return time.Duration(readTime(s, key, false)) * time.Minute
}

func readMailAddress(s section, key string, required bool) string {
	text := s.text(key, required)
	if text == "" {
		return ""
	}
	if a, err := mail.ParseAddress(text); err != nil || a.Name != "" {
		s.complain(key, "%q is not an e-mail address: expected one such as \"ada@example.org\"", text)
	}
	return text
}
