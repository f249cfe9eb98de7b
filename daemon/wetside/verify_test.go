package main

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"encoding/pem"
	"math/big"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/digitorus/timestamp"
	"github.com/stretchr/testify/require"

	"wetside/daemon/history/book"
	"wetside/daemon/stamp"
)

// stamped is an authority's answer for a checkpoint, and the file of its certificate.
func stamped(t *testing.T, c book.Checkpoint) (answer []byte, authority string) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	of := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "invented authority"},
		NotBefore: time.Now().Add(-time.Hour),
		NotAfter:  time.Now().Add(time.Hour), ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageTimeStamping}}
	made, err := x509.CreateCertificate(rand.Reader, of, of, key.Public(), key)
	require.NoError(t, err)
	certificate, err := x509.ParseCertificate(made)
	require.NoError(t, err)
	sum := sha256.Sum256([]byte(c.String()))
	answer, err = (&timestamp.Timestamp{HashAlgorithm: crypto.SHA256, HashedMessage: sum[:], Time: time.Now(), AddTSACertificate: true,
		Policy: asn1.ObjectIdentifier{1, 2, 3, 4, 1}}).CreateResponseWithOpts(certificate, key, crypto.SHA256)
	require.NoError(t, err)
	authority = filepath.Join(t.TempDir(), "authority.pem")
	require.NoError(t, os.WriteFile(authority, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: made}), 0o600))
	return answer, authority
}

func TestAReportAfterVerifyRestsOnTheSamplesAlone(t *testing.T) {
	data := runningHistory(t)
	counted := filepath.Join(data, "wetside.counted-2026")
	require.NoError(t, os.WriteFile(counted, []byte("forged"), 0o600))
	require.Equal(t, exitDone, say(t, "verify", "--data", data).code)
	require.NoFileExists(t, counted)
}

func TestVerifyChecksTheTimeStampsBesideTheHistory(t *testing.T) {
	data := runningHistory(t)
	last := exported(t, data)
	answer, authority := stamped(t, last)
	name := filepath.Join(data, stamp.Folder, "checkpoint-4")
	require.NoError(t, os.Mkdir(filepath.Dir(name), 0o700))
	require.NoError(t, os.WriteFile(name+".txt", []byte(last.String()), 0o600))
	require.NoError(t, os.WriteFile(name+".tsr", answer, 0o600))

	good := say(t, "verify", "--data", data, "--authority", authority)
	require.Equal(t, exitDone, good.code, good.errs)
	require.Contains(t, good.out, "nothing up to that record was changed since then")
	require.NotContains(t, good.out, "this proves little")
	require.Contains(t, say(t, "verify", "--data", data).out, "Who signed was not checked")

	_, stranger := stamped(t, last)
	require.Contains(t, say(t, "verify", "--data", data, "--authority", stranger).errs, "not of an authority that you named")
	require.Equal(t, exitUnusable, say(t, "verify", "--data", data, "--authority", name+".tsr").code)

	other := book.Checkpoint{Number: 4, Hash: strings.Repeat("ab", 32)}
	answer, _ = stamped(t, other)
	require.NoError(t, os.WriteFile(name+".txt", []byte(other.String()), 0o600))
	require.Contains(t, say(t, "verify", "--data", data).errs, "not of the checkpoint")
	require.NoError(t, os.WriteFile(name+".tsr", answer, 0o600))
	rewritten := say(t, "verify", "--data", data)
	require.Equal(t, exitFailed, rewritten.code)
	require.Contains(t, rewritten.errs, "record 4 fails verification", "the stamp is of another past")
	require.NoError(t, os.Remove(name+".tsr"))
	require.Contains(t, say(t, "verify", "--data", data).errs, "time stamp can't be read")
}
