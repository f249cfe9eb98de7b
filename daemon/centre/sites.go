package centre

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
)

// uniqueViolation is the SQLSTATE of a row that is there already.
const uniqueViolation = "23505"

// ErrUnknownKey says that a key belongs to no site, or no longer.
var ErrUnknownKey = errors.New("the centre knows no site by this key")

// NewSite is what a site is called.
type NewSite struct {
	Name, Building string
}

// AddSite makes a site and gives its key, which is kept nowhere but with the site.
func (s *Store) AddSite(ctx context.Context, n NewSite) (key string, err error) {
	if n.Name = strings.TrimSpace(n.Name); n.Name == "" {
		return "", errors.New("a site needs a name, such as \"Library basement\"")
	}
	key = newKey()
	_, err = s.pool.Exec(ctx, "INSERT INTO wetside.site(name, building, key_sha256) VALUES ($1, $2, $3)", n.Name,
		strings.TrimSpace(n.Building), hashOf(key))
	if stateOf(err) == uniqueViolation {
		return "", fmt.Errorf("there is a site %q already: choose another name, or close that one first", n.Name)
	}
	if err != nil {
		return "", fmt.Errorf("the site can't be added: %w", err)
	}
	return key, nil
}

// CloseSite takes nothing more by the key of a site; what it sent is kept.
func (s *Store) CloseSite(ctx context.Context, name string) error {
	done, err := s.pool.Exec(ctx, "UPDATE wetside.site SET closed_at = now() WHERE name = $1 AND closed_at IS NULL", strings.TrimSpace(name))
	if err == nil && done.RowsAffected() == 0 {
		err = fmt.Errorf("there is no open site %q", name)
	}
	return err
}

// siteOf gives the site of a key.
func (s *Store) siteOf(ctx context.Context, key string) (site int, err error) {
	err = s.pool.QueryRow(ctx, "SELECT id FROM wetside.site WHERE key_sha256 = $1 AND closed_at IS NULL", hashOf(key)).Scan(&site)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, ErrUnknownKey
	}
	return site, err
}

// newKey is a key that nobody guesses: 256 random bits in hexadecimal.
func newKey() string {
	var b [32]byte
	rand.Read(b[:]) // never fails
	return hex.EncodeToString(b[:])
}

// hashOf is what the centre keeps of a key. A key is random, so one round is enough.
func hashOf(key string) []byte {
	sum := sha256.Sum256([]byte(key))
	return sum[:]
}
