package people

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha1" //nolint:gosec // what every app computes; HMAC does not rest on collisions (RFC 4226, appendix B.2)
	"encoding/base32"
	"encoding/binary"
	"fmt"
	"slices"
	"strings"
	"time"
)

// A library would be as many lines of glue as these are, and bring a second drawer of squares.

const (
	codeDigits = 6
	codeStep   = 30 * time.Second // RFC 6238, section 5.2
	// codeDrift is how many steps the clock of a phone may be off, either way.
	codeDrift = 1
	// recoveryCodes is how many codes open an account whose phone is lost, each once.
	recoveryCodes  = 10
	recoveryLength = 16 // signs of five bits
)

// secondStep is what the codes of an app are checked with. Its key must be kept as it is, as a
// code is computed from it on both sides.
type secondStep struct {
	Key   string    `json:"key"` // base32, as an app takes it
	Since time.Time `json:"since"`
	// Last is the step whose code counted last: no code counts twice (RFC 6238, section 5.2).
	Last int64 `json:"last"`
	// Recovery are the codes that are left, as [keyHash] gives them.
	Recovery []string `json:"recovery"`
}

func newAppKey() string {
	raw := make([]byte, 20) // RFC 4226, section 4, R6
	rand.Read(raw)          // never fails
	return base32.StdEncoding.EncodeToString(raw)
}

// codeAt is the code of a counter: RFC 4226, section 5.3.
func codeAt(key []byte, counter uint64, digits int) string {
	mac := hmac.New(sha1.New, key)
	mac.Write(binary.BigEndian.AppendUint64(nil, counter))
	sum := mac.Sum(nil)
	at := sum[len(sum)-1] & 0xf
	number := uint64(binary.BigEndian.Uint32(sum[at:]) & 0x7fffffff)
	modulus := uint64(1)
	for range digits {
		modulus *= 10
	}
	return fmt.Sprintf("%0*d", digits, number%modulus)
}

// AppCode is the code that an app with a key shows at a time.
func AppCode(key string, at time.Time) (string, error) {
	raw, err := base32.StdEncoding.DecodeString(key)
	return codeAt(raw, uint64(max(0, stepAt(at))), codeDigits), err
}

func stepAt(at time.Time) int64 { return at.Unix() / int64(codeStep/time.Second) }

// stepOf gives the step whose code somebody typed, later than the last that counted; ok is
// false where it is the code of none.
func (s secondStep) stepOf(code string, now time.Time) (step int64, ok bool) {
	for drift := -codeDrift; drift <= codeDrift; drift++ {
		at := now.Add(time.Duration(drift) * codeStep)
		shown, err := AppCode(s.Key, at)
		if step := stepAt(at); err == nil && hmac.Equal([]byte(shown), []byte(code)) && step > s.Last {
			return step, true
		}
	}
	return 0, false
}

// newRecovery makes the codes for a phone that is lost, and what is kept of them.
func newRecovery() (codes, kept []string) {
	for range recoveryCodes {
		text := rand.Text()[:recoveryLength]
		codes = append(codes, strings.Join([]string{text[:4], text[4:8], text[8:12], text[12:]}, "-"))
		kept = append(kept, keyHash(text))
	}
	return codes, kept
}

// useRecovery takes a code for a lost phone off the list, and says whether it was there.
func (s *secondStep) useRecovery(code string) bool {
	at := slices.Index(s.Recovery, keyHash(code))
	if at >= 0 {
		s.Recovery = slices.Delete(s.Recovery, at, at+1)
	}
	return at >= 0
}
