package centre

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/daemon/history/book"
)

// Site is a site as the centre knows it.
type Site struct {
	ID             int
	Name, Building string
	// Closed is when its key was taken away; zero while it is taken.
	Closed time.Time
	// Heard is when the site spoke last, zero when it never did; what follows is what it said then.
	Heard     time.Time
	Said      book.Checkpoint // the newest record of its own book
	Apart     time.Duration   // its clock less the centre's
	Version   string
	Zone      string
	Simulated bool
	// Complete says that with its last word all had arrived that it had sealed.
	Complete bool
	// Kept is the newest record here, and Taken when it came.
	Kept  book.Checkpoint
	Taken time.Time
	// Refused is why something of the site is not taken at present; empty when all is. Since
	// is when that began.
	Refused string
	Since   time.Time
}

// Sites gives every site, those of a building together.
func (s *Store) Sites(ctx context.Context) ([]Site, error) {
	rows, err := s.pool.Query(ctx, `SELECT s.id, s.name, s.building, s.closed_at,
			h.heard_at, coalesce(h.number, 0), coalesce(h.hash, ''), coalesce(h.clock_apart_ms, 0), coalesce(h.version, ''),
			coalesce(h.zone, ''), coalesce(h.simulated, false), coalesce(h.complete, false),
			coalesce(r.number, 0), coalesce(r.hash, ''), r.taken_at, coalesce(x.why, ''), x.first_at
		FROM wetside.site s
		LEFT JOIN wetside.heard h ON h.site_id = s.id
		LEFT JOIN LATERAL (SELECT number, hash, taken_at FROM wetside.record WHERE site_id = s.id ORDER BY number DESC LIMIT 1) r ON true
		LEFT JOIN LATERAL (SELECT why, first_at FROM wetside.refusal WHERE site_id = s.id AND ended_at IS NULL
			ORDER BY first_at LIMIT 1) x ON true
		ORDER BY s.building, s.name`)
	if err != nil {
		return nil, fmt.Errorf("the sites can't be read from the database of the centre: %w", err)
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (Site, error) {
		var x Site
		var closed, heard, taken, since *time.Time
		var apart int64
		err := row.Scan(&x.ID, &x.Name, &x.Building, &closed, &heard, &x.Said.Number, &x.Said.Hash, &apart, &x.Version,
			&x.Zone, &x.Simulated, &x.Complete, &x.Kept.Number, &x.Kept.Hash, &taken, &x.Refused, &since)
		x.Closed, x.Heard, x.Taken, x.Since = orZero(closed), orZero(heard), orZero(taken), orZero(since)
		x.Apart = time.Duration(apart) * time.Millisecond
		return x, err
	})
}

func orZero(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.UTC()
}
