package config

import (
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/daemon/house"
	"wetside/rules/access"
)

// Access says who may use the pages, and from where. The zero Access asks nobody who
// they are, which is for a single computer alone.
type Access struct {
	// SignIn asks everybody to sign in; OpenReading lets pages be read without.
	SignIn, OpenReading bool
	// SecondStep is the role from which on a code of an app is asked for too; empty for none.
	SecondStep access.Role
	// House is the identity provider by which people sign in too; nil for none.
	House *house.Options
	// Session is how long a sign-in lasts.
	Session time.Duration
	// Hosts are names, beside the computer's own, under which the pages are asked for.
	Hosts []string
	// Proxies are the addresses of programs that pass requests on and say from whom.
	Proxies []netip.Addr
	// Certificate and Key are PEM files for TLS; empty lets the program make its own
	// as soon as it listens beyond this computer.
	Certificate, Key string
	// PlainHTTP lets the pages go over the network without encryption.
	PlainHTTP bool
}

const usualSession = 12 * time.Hour

func readAccess(root section, address string) Access {
	s, given := root.table("access")
	if !given {
		return Access{Session: usualSession}
	}
	a := Access{
		SignIn: s.yes("sign-in"), OpenReading: s.yes("reading-for-anybody"), Hosts: s.texts("hosts"),
		Session:     s.duration("session", usualSession, time.Hour, 30*24*time.Hour),
		Certificate: s.text("certificate", false), Key: s.text("key", false),
		PlainHTTP: s.yes("plain-http-on-the-network"),
	}
	a.House = below(s, "house", func(s section) *house.Options { return readHouse(s, address) })
	if a.House != nil && !a.SignIn {
		s.complain("house", "needs sign-in: write sign-in = true under [access]")
	}
	if text := s.text("second-step", false); text != "" {
		var err error
		if a.SecondStep, err = access.ParseRole(text); err != nil {
			s.complain("second-step", "%s", err)
		}
	}
	for _, h := range a.Hosts {
		if strings.ContainsAny(h, "/: ") {
			s.complain("hosts", "%q is not a host name: expected one such as \"darkroom.example.org\", without a port", h)
		}
	}
	a.Proxies = readProxies(s)
	a.checkCertificate(s)
	return a
}

func readProxies(s section) (list []netip.Addr) {
	for _, text := range s.texts("proxies") {
		address, err := netip.ParseAddr(text)
		if err != nil {
			s.complain("proxies", "%q is not an address: expected one such as \"127.0.0.1\", without a port", text)
		}
		list = append(list, address)
	}
	return list
}

func (a Access) checkCertificate(s section) {
	if (a.Certificate == "") != (a.Key == "") {
		s.complain("certificate", "certificate and key belong together: give both, or none to have one made")
	}
	for key, file := range map[string]string{"certificate": a.Certificate, "key": a.Key} {
		if file == "" {
			continue
		}
		if _, err := os.Stat(file); err != nil {
			s.complain(key, "can't be read: %s", err)
		}
	}
	if a.PlainHTTP && a.Certificate != "" {
		s.complain("plain-http-on-the-network", "a certificate is given, so the pages are encrypted already: remove one of the two")
	}
}

// SameTarget says whether a program that listens on one address is what a request to
// another host and port reaches.
func SameTarget(listen, host, port string) bool {
	own, ownPort, err := net.SplitHostPort(listen)
	if err != nil || port != ownPort {
		return false
	}
	ip, err := netip.ParseAddr(strings.Trim(host, "[]"))
	local := host == "localhost" || strings.EqualFold(host, own) || err == nil && (ip.Unmap().IsLoopback() || ip.IsUnspecified())
	if name, err := os.Hostname(); err == nil && strings.EqualFold(name, host) {
		local = true
	}
	return local || err == nil && isOwn(ip.Unmap())
}

// isOwn says whether an address is one of this computer.
func isOwn(ip netip.Addr) bool {
	addresses, err := net.InterfaceAddrs()
	return err == nil && slices.ContainsFunc(addresses, func(a net.Addr) bool {
		p, err := netip.ParsePrefix(a.String())
		return err == nil && p.Addr().Unmap() == ip
	})
}

// errOpen is why a site on the network without sign-in does not start.
var errOpen = errors.New("other computers may open the pages only where people sign in: write sign-in = true under " +
	"[access] in the configuration and make the first keeper with wetside people invite, or listen on 127.0.0.1")

// CheckEntrance refuses an address and an access with which no site is started.
func (c Config) CheckEntrance() error {
	if err := checkAddress(c.Listen); err != nil {
		return err
	}
	if err := CheckOpen(c.Listen, c.Access); err != nil {
		return err
	}
	if c.Access.Certificate == "" {
		return nil
	}
	if _, err := tls.LoadX509KeyPair(c.Access.Certificate, c.Access.Key); err != nil {
		return fmt.Errorf("the certificate can't be used: check certificate and key under [access] in the configuration: %w", err)
	}
	return nil
}

// CheckOpen refuses to listen beyond this computer where nobody signs in.
func CheckOpen(listen string, a Access) error {
	if Beyond(listen) && !a.SignIn {
		return errOpen
	}
	return nil
}

// checkAddress refuses what no program can listen on.
func checkAddress(listen string) error {
	_, port, err := net.SplitHostPort(listen)
	if err == nil {
		_, err = strconv.ParseUint(port, 10, 16)
	}
	if err != nil {
		return fmt.Errorf("%q is not an address: expected host:port, such as \"127.0.0.1:8420\"", listen)
	}
	return nil
}

// Beyond says whether an address to listen on is reached from other computers.
func Beyond(listen string) bool {
	host, _, err := net.SplitHostPort(listen)
	if err != nil {
		return true
	}
	if host == "localhost" {
		return false
	}
	ip, err := netip.ParseAddr(host)
	return err != nil || !ip.Unmap().IsLoopback()
}
