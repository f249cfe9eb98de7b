package stamp

import (
	"crypto"
	"crypto/sha256"
	"crypto/x509"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/digitorus/pkcs7"
	"github.com/digitorus/timestamp"

	"wetside/daemon/history/book"
)

// Folder is the name of the folder of time stamps, beside the book.
const Folder = "timestamps"

// The two files of a time stamp: the checkpoint, byte for byte what was stamped, and the answer
// of the authority.
const (
	textEnding   = ".txt"
	answerEnding = ".tsr"
)

// Stamp is what an authority signed: that a checkpoint existed at a time.
type Stamp struct {
	Checkpoint book.Checkpoint
	At         time.Time
	// Authority is the name in the certificate of the signer.
	Authority string
}

// Read reads an answer of an authority to the time stamp of a checkpoint: the signature, and that
// it is of this checkpoint. With roots the certificate of the signer must be for time stamps and
// lead to one of them, at the time of the stamp; without, anybody may have signed.
func Read(c book.Checkpoint, answer []byte, roots *x509.CertPool) (Stamp, error) {
	t, err := timestamp.ParseResponse(answer)
	if err != nil {
		return Stamp{}, fmt.Errorf("the answer is not a time stamp: %w", err)
	}
	sum := sha256.Sum256([]byte(c.String()))
	if t.HashAlgorithm != crypto.SHA256 || !slices.Equal(t.HashedMessage, sum[:]) {
		return Stamp{}, fmt.Errorf("the time stamp is not of the checkpoint %s", c)
	}
	signed, err := pkcs7.Parse(t.RawToken)
	if err != nil {
		return Stamp{}, fmt.Errorf("the answer is not a time stamp: %w", err)
	}
	signer := signed.GetOnlySigner()
	if signer == nil {
		return Stamp{}, errors.New("the time stamp does not carry the certificate of its one signer")
	}
	if err := signed.VerifyWithChainAtTime(nil, t.Time); err != nil {
		return Stamp{}, fmt.Errorf("the signature of the time stamp is wrong: %w", err)
	}
	if roots != nil {
		if err := lead(signed, signer, x509.VerifyOptions{Roots: roots, CurrentTime: t.Time}); err != nil {
			return Stamp{}, fmt.Errorf("the signer of the time stamp is not of an authority that you named: %w", err)
		}
	}
	return Stamp{c, t.Time.UTC(), signer.Subject.String()}, nil
}

// lead follows the certificate of a signer to a root: RFC 3161, 2.3 wants it to be for time
// stamps, and for nothing else.
func lead(signed *pkcs7.PKCS7, signer *x509.Certificate, o x509.VerifyOptions) error {
	o.KeyUsages = []x509.ExtKeyUsage{x509.ExtKeyUsageTimeStamping}
	o.Intermediates = x509.NewCertPool()
	for _, c := range signed.Certificates {
		o.Intermediates.AddCert(c)
	}
	if !slices.Equal(signer.ExtKeyUsage, o.KeyUsages) || len(signer.UnknownExtKeyUsage) > 0 {
		return errors.New("its certificate is not for time stamps alone")
	}
	_, err := signer.Verify(o)
	return err
}

// Kept is a time stamp as it lies in a folder: Stamp counts where Err is nil.
type Kept struct {
	Stamp
	File string
	Err  error
}

// List reads every time stamp of a folder, oldest checkpoint first; a folder that is not there
// has none.
func List(folder string, roots *x509.CertPool) ([]Kept, error) {
	texts, err := filepath.Glob(filepath.Join(folder, "*"+textEnding))
	if err != nil {
		return nil, fmt.Errorf("the time stamps can't be listed: %w", err)
	}
	list := make([]Kept, len(texts))
	for i, file := range texts {
		list[i] = readKept(file, roots)
	}
	slices.SortFunc(list, func(a, b Kept) int { return int(a.Checkpoint.Number) - int(b.Checkpoint.Number) })
	return list, nil
}

func readKept(file string, roots *x509.CertPool) Kept {
	k := Kept{File: strings.TrimSuffix(file, textEnding) + answerEnding}
	text, err := os.ReadFile(file)
	if err != nil {
		k.Err = fmt.Errorf("the checkpoint of a time stamp can't be read: %w", err)
		return k
	}
	if k.Checkpoint, k.Err = book.ParseCheckpoint(string(text)); k.Err != nil {
		return k
	}
	answer, err := os.ReadFile(k.File)
	if err != nil {
		k.Err = fmt.Errorf("the time stamp can't be read: %w", err)
		return k
	}
	s, err := Read(k.Checkpoint, answer, roots)
	if err != nil {
		k.Err = fmt.Errorf("%s: %w", k.File, err)
		return k
	}
	k.Stamp = s
	return k
}

// Roots reads the certificates of authorities from a file.
func Roots(file string) (*x509.CertPool, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("the certificates of the time-stamping authority can't be read: %w", err)
	}
	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM(text) {
		return nil, fmt.Errorf("%s has no certificate: expected PEM, with -----BEGIN CERTIFICATE-----", file)
	}
	return pool, nil
}
