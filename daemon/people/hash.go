package people

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"strings"

	"golang.org/x/crypto/argon2"

	"wetside/sensors/quantity/phrase"
)

// Cost is how much work Argon2id (RFC 9106) makes of one password.
type Cost struct {
	Memory uint32 // KiB
	Time   uint32 // passes over the memory
	Lanes  uint8
}

// UsualCost is the least that the OWASP password storage cheat sheet asks for: 19
// MiB, two passes, one lane.
func UsualCost() Cost { return Cost{Memory: 19 << 10, Time: 2, Lanes: 1} }

const (
	saltLength = 16
	hashLength = 32
	atOnce     = 2 // hashes that are computed at the same time
)

// secret is a password or PIN as it is kept.
type secret struct {
	cost       Cost
	salt, hash []byte
}

// String is the form in which a secret is kept, with the cost in it, so that the
// cost may grow later without locking anybody out.
func (s secret) String() string {
	encode := base64.RawStdEncoding.EncodeToString
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, s.cost.Memory, s.cost.Time, s.cost.Lanes, encode(s.salt),
		encode(s.hash))
}

var errSecret = phrase.Errorf("a password in the file of people is not in a form that this program writes: reset it")

// parseSecret reads [secret.String]. A cost that no program of ours chose is refused,
// so that a damaged file can't take all memory.
func parseSecret(text string) (secret, error) {
	var s secret
	var version int
	parts := strings.Split(text, "$")
	if len(parts) != 6 || parts[0] != "" || parts[1] != "argon2id" {
		return s, errSecret
	}
	if _, err := fmt.Sscanf(parts[2]+" "+parts[3], "v=%d m=%d,t=%d,p=%d", &version, &s.cost.Memory, &s.cost.Time,
		&s.cost.Lanes); err != nil || version != argon2.Version {
		return s, errSecret
	}
	var errSalt, errHash error
	s.salt, errSalt = base64.RawStdEncoding.DecodeString(parts[4])
	s.hash, errHash = base64.RawStdEncoding.DecodeString(parts[5])
	c := s.cost
	if errSalt != nil || errHash != nil || len(s.salt) < 8 || len(s.hash) != hashLength ||
		c.Memory < 8 || c.Memory > 256<<10 || c.Time < 1 || c.Time > 16 || c.Lanes < 1 || c.Lanes > 8 || s.String() != text {
		return secret{}, errSecret
	}
	return s, nil
}

// hasher computes a few hashes at a time, so that a crowd that signs in, or that
// guesses, leaves memory and processor to the rooms.
type hasher struct {
	cost  Cost
	slots chan struct{}
}

func newHasher(c Cost) *hasher { return &hasher{c, make(chan struct{}, atOnce)} }

var errBusy = phrase.Errorf("many people are signing in at this moment: try again in a few seconds")

func (h *hasher) compute(ctx context.Context, password string, s secret) ([]byte, error) {
	select {
	case h.slots <- struct{}{}:
		defer func() { <-h.slots }()
		return argon2.IDKey([]byte(password), s.salt, s.cost.Time, s.cost.Memory, s.cost.Lanes, hashLength), nil
	case <-ctx.Done():
		return nil, errBusy
	}
}

// keep gives the form in which a password is kept.
func (h *hasher) keep(ctx context.Context, password string) (string, error) {
	s := secret{cost: h.cost, salt: make([]byte, saltLength)}
	rand.Read(s.salt) // never fails
	var err error
	s.hash, err = h.compute(ctx, password, s)
	return s.String(), err
}

// fits says whether a password is the one that is kept. Without one it takes as
// long, so that the time of an answer does not tell who has an account.
func (h *hasher) fits(ctx context.Context, password, kept string) (bool, error) {
	s, err := parseSecret(kept)
	if kept == "" {
		s, err = secret{cost: h.cost, salt: bytes.Repeat([]byte{1}, saltLength)}, nil
	}
	if err != nil {
		return false, err
	}
	hash, err := h.compute(ctx, password, s)
	return err == nil && kept != "" && subtle.ConstantTimeCompare(hash, s.hash) == 1, err
}

// newKey is a long random key for a session, a token or an invitation, and what is
// kept of it. It can't be guessed, so that one quick hash is enough.
func newKey() (key, kept string) {
	raw := make([]byte, 32)
	rand.Read(raw) // never fails
	key = base64.RawURLEncoding.EncodeToString(raw)
	return key, keyHash(key)
}

func keyHash(key string) string {
	sum := sha256.Sum256([]byte(key))
	return hex.EncodeToString(sum[:])
}
