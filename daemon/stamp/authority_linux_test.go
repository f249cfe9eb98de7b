package stamp_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"encoding/pem"
	"io"
	"math/big"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// authority stamps with the openssl of the system, as a service behind HTTP.
type authority struct {
	*testing.T
	folder, url string
	// broken has it answer with an error, replay with its first answer.
	broken, replay atomic.Bool
	asked          atomic.Int64
	first          atomic.Pointer[[]byte]
}

const settings = `[tsa]
default_tsa = house
[house]
serial = ./serial
default_policy = 1.2.3.4.1
digests = sha256
signer_digest = sha256
accuracy = secs:1
ess_cert_id_alg = sha256
`

func newAuthority(t *testing.T) *authority {
	a := &authority{T: t, folder: t.TempDir()}
	a.write("tsa.cnf", []byte(settings))
	root, rootKey := a.certificate("root", nil, nil)
	a.certificate("signer", root, rootKey)
	server := httptest.NewServer(a)
	t.Cleanup(server.Close)
	a.url = server.URL
	return a
}

func (a *authority) file(name string) string { return filepath.Join(a.folder, name) }

func (a *authority) write(name string, content []byte) {
	require.NoError(a, os.WriteFile(a.file(name), content, 0o600))
}

// certificate makes a key and a certificate: without a parent a root, with one a signer of time
// stamps as RFC 3161, 2.3 wants it.
func (a *authority) certificate(name string, parent *x509.Certificate, by *ecdsa.PrivateKey) (*x509.Certificate, *ecdsa.PrivateKey) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(a, err)
	c := &x509.Certificate{SerialNumber: big.NewInt(time.Now().UnixNano()), Subject: pkix.Name{CommonName: name + " of an invented authority"},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), BasicConstraintsValid: true}
	if parent == nil {
		c.IsCA, c.KeyUsage, parent, by = true, x509.KeyUsageCertSign, c, key
	} else {
		c.KeyUsage = x509.KeyUsageDigitalSignature
		use, err := asn1.Marshal([]asn1.ObjectIdentifier{{1, 3, 6, 1, 5, 5, 7, 3, 8}})
		require.NoError(a, err)
		c.ExtraExtensions = []pkix.Extension{{Id: asn1.ObjectIdentifier{2, 5, 29, 37}, Critical: true, Value: use}}
	}
	made, err := x509.CreateCertificate(rand.Reader, c, parent, key.Public(), by)
	require.NoError(a, err)
	secret, err := x509.MarshalECPrivateKey(key)
	require.NoError(a, err)
	a.write(name+".pem", pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: made}))
	a.write(name+".key", pem.EncodeToMemory(&pem.Block{Type: "EC PRIVATE KEY", Bytes: secret}))
	read, err := x509.ParseCertificate(made)
	require.NoError(a, err)
	return read, key
}

// ServeHTTP answers as RFC 3161, 3.4 says.
func (a *authority) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	a.asked.Add(1)
	question, err := io.ReadAll(r.Body)
	if err != nil || a.broken.Load() || r.Header.Get("Content-Type") != "application/timestamp-query" {
		w.WriteHeader(http.StatusServiceUnavailable)
		return
	}
	w.Header().Set("Content-Type", "application/timestamp-reply")
	if kept := a.first.Load(); a.replay.Load() && kept != nil {
		_, _ = w.Write(*kept)
		return
	}
	if os.WriteFile(a.file("question"), question, 0o600) != nil ||
		a.openssl("ts", "-reply", "-config", "tsa.cnf", "-queryfile", "question", "-signer", "signer.pem", "-inkey", "signer.key", "-out",
			"answer") != nil {
		w.WriteHeader(http.StatusInternalServerError)
		return
	}
	answer, err := os.ReadFile(a.file("answer"))
	if err != nil {
		w.WriteHeader(http.StatusInternalServerError)
		return
	}
	a.first.CompareAndSwap(nil, &answer)
	_, _ = w.Write(answer)
}

// openssl runs the program of the system in the folder of the authority.
func (a *authority) openssl(arguments ...string) error {
	command := exec.Command("openssl", arguments...)
	command.Dir = a.folder
	return command.Run()
}
