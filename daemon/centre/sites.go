package centre

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/daemon/history/book"
)

// uniqueViolation is the SQLSTATE of a row that is there already.
const uniqueViolation = "23505"

// errUnknownKey says that a key belongs to no site, or no longer.
var errUnknownKey = errors.New("the centre knows no site by this key")

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

func (s *Store) siteOf(ctx context.Context, key string) (site int, err error) {
	err = s.pool.QueryRow(ctx, "SELECT id FROM wetside.site WHERE key_sha256 = $1 AND closed_at IS NULL", hashOf(key)).Scan(&site)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, errUnknownKey
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

// Site is a site as the centre knows it.
type Site struct {
	ID             int
	Name, Building string
	// Closed is when its key was taken away; zero while it is taken.
	Closed time.Time
	// Heard is when the site spoke last, zero when it never did; what follows is what it said then.
	Heard     time.Time
	Said      book.Checkpoint // the newest record of its own book
	Version   string
	Zone      string
	Simulated bool
	// Complete says that with its last word all had arrived that it had sealed.
	Complete bool
	// Kept is the newest record here.
	Kept book.Checkpoint
	// Refused is why something of the site is not taken at present; empty when all is. Since
	// is when that began.
	Refused string
	Since   time.Time
}

// Sites gives every site, those of a building together.
func (s *Store) Sites(ctx context.Context) ([]Site, error) {
	rows, err := s.pool.Query(ctx, `SELECT s.id, s.name, s.building, s.closed_at,
			h.heard_at, coalesce(h.number, 0), coalesce(h.hash, ''), coalesce(h.version, ''),
			coalesce(h.zone, ''), coalesce(h.simulated, false), coalesce(h.complete, false),
			coalesce(r.number, 0), coalesce(r.hash, ''), coalesce(x.why, ''), x.first_at
		FROM wetside.site s
		LEFT JOIN wetside.heard h ON h.site_id = s.id
		LEFT JOIN LATERAL (SELECT number, hash FROM wetside.record WHERE site_id = s.id ORDER BY number DESC LIMIT 1) r ON true
		LEFT JOIN LATERAL (SELECT why, first_at FROM wetside.refusal WHERE site_id = s.id AND ended_at IS NULL
			ORDER BY first_at LIMIT 1) x ON true
		ORDER BY s.building, s.name`)
	if err != nil {
		return nil, fmt.Errorf("the sites can't be read from the database of the centre: %w", err)
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (Site, error) {
		var x Site
		var closed, heard, since *time.Time
		err := row.Scan(&x.ID, &x.Name, &x.Building, &closed, &heard, &x.Said.Number, &x.Said.Hash, &x.Version,
			&x.Zone, &x.Simulated, &x.Complete, &x.Kept.Number, &x.Kept.Hash, &x.Refused, &since)
		x.Closed, x.Heard, x.Since = orZero(closed), orZero(heard), orZero(since)
		return x, err
	})
}

func orZero(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.UTC()
}
