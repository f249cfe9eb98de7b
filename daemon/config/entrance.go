package config

import (
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"strconv"
)

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
