package doorway

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"time"

	"wetside/daemon/history/disk"
)

// The files of the certificate that the program makes for itself, in the data folder.
const (
	certificateFile = "tls-certificate.pem"
	keyFile         = "tls-key.pem"
)

const (
	// lasting is for how long a certificate is made, renewBefore how long before its end
	// a start makes the next one.
	lasting     = 800 * 24 * time.Hour
	renewBefore = 30 * 24 * time.Hour
)

// Papers are the files of a certificate that was given; without them the program keeps one of
// its own in a folder, for some host names.
type Papers struct {
	Certificate, Key string
	Dir              string
	Hosts            []string
}

// Secure is how an address is encrypted: with the certificate that was given, else with the
// program's own where other computers reach the address, else not at all, which is nil.
func (p Papers) Secure(beyond bool, now time.Time) (*tls.Config, error) {
	var cert tls.Certificate
	var err error
	switch {
	case p.Certificate != "":
		if cert, err = tls.LoadX509KeyPair(p.Certificate, p.Key); err != nil {
			err = fmt.Errorf("the certificate can't be used: look at %s and its key %s: %w", p.Certificate, p.Key, err)
		}
	case beyond:
		cert, err = Own(p.Dir, p.Hosts, now)
	default:
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}, nil
}

// Own gives the certificate that the program made for itself, and makes it when
// there is none or when it is about to end. The key never leaves the folder.
func Own(dir string, hosts []string, now time.Time) (tls.Certificate, error) {
	cert, err := tls.LoadX509KeyPair(filepath.Join(dir, certificateFile), filepath.Join(dir, keyFile))
	if err == nil && now.Add(renewBefore).Before(cert.Leaf.NotAfter) {
		return cert, nil
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return cert, fmt.Errorf("the certificate in %s can't be used: take %s and %s away to have another one made: %w", dir, certificateFile,
			keyFile, err)
	}
	return own(dir, hosts, now)
}

func own(dir string, hosts []string, now time.Time) (tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("no key could be made: %w", err)
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("no key could be made: %w", err)
	}
	template := &x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: "wetside"}, NotBefore: now.Add(-24 * time.Hour), NotAfter: now.Add(lasting),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true,
		DNSNames: append([]string{"localhost"}, hosts...), IPAddresses: ownAddresses(),
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("no certificate could be made: %w", err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("no key could be made: %w", err)
	}
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return tls.Certificate{}, fmt.Errorf("the certificate can't be kept: %w", err)
	}
	// The key first: a certificate without its key would be of no use at the next start.
	err = errors.Join(writePEM(filepath.Join(dir, keyFile), "PRIVATE KEY", secret), writePEM(filepath.Join(dir, certificateFile),
		"CERTIFICATE", der))
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("the certificate can't be kept: %w", err)
	}
	return tls.LoadX509KeyPair(filepath.Join(dir, certificateFile), filepath.Join(dir, keyFile))
}

func writePEM(path, kind string, der []byte) error {
	return disk.WriteBytes(path, 0o600, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}))
}

func ownAddresses() []net.IP {
	list := []net.IP{net.IPv4(127, 0, 0, 1), net.IPv6loopback}
	addresses, err := net.InterfaceAddrs()
	if err != nil {
		return list
	}
	for _, a := range addresses {
		if ip, _, err := net.ParseCIDR(a.String()); err == nil && !ip.IsLoopback() && !ip.IsLinkLocalUnicast() {
			list = append(list, ip)
		}
	}
	return list
}

// Fingerprint is the SHA-256 of a certificate as browsers show it.
func Fingerprint(c tls.Certificate) string {
	if len(c.Certificate) == 0 {
		return ""
	}
	sum := sha256.Sum256(c.Certificate[0])
	pairs := make([]string, len(sum))
	for i, b := range sum {
		pairs[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(pairs, ":")
}
