package centre

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/daemon/centre/wire"
)

// The SQLSTATEs of our own refusals.
const (
	stateNever     = "WS001"
	stateHole      = "WS002"
	stateOtherBook = "WS003"
	stateMisplaced = "WS004"
)

// Refusal is why nothing of a message was taken. It is a matter of the site's book, and
// sending again does not change it.
type Refusal struct{ Why string }

func (r *Refusal) Error() string { return r.Why }

// whatToDo ends a refusal of a book.
const whatToDo = "What the centre took before is kept. If the book was restored on purpose, close the site at the centre, add it anew " +
	"and give it the new key: wetside centre close-site, wetside centre add-site."

// taking is a message on its way into the database.
type taking struct {
	ctx    context.Context
	tx     pgx.Tx
	site   int
	push   wire.Push
	answer wire.Answer
	// continued says that the message had records that continue the book.
	continued bool
}

// Take takes a message of the site with a key: all of it that holds, in one transaction. The
// error is ErrUnknownKey, a [*Refusal], or one of the database, after which the site tries again.
func (s *Store) Take(ctx context.Context, key string, p wire.Push) (wire.Answer, error) {
	site, err := s.siteOf(ctx, key)
	if err != nil {
		return wire.Answer{}, err
	}
	var t taking
	err = s.as(ctx, site, func(tx pgx.Tx) error {
		t = taking{ctx: ctx, tx: tx, site: site, push: p}
		for _, step := range []func() error{t.lock, t.compare, t.describe, t.records, t.mirror, t.days, t.heard, t.want} {
			if err := step(); err != nil {
				return err
			}
		}
		return nil
	})
	if refusal := t.refusal(err); refusal != nil {
		return wire.Answer{}, errors.Join(refusal, s.noteRefusal(ctx, site, p, refusal))
	}
	return t.answer, err
}

// lock lets one message of a site in at a time, and reads how far its book goes.
func (t *taking) lock() error {
	const lockOfSites = 0x73697465
	if err := t.exec("SELECT pg_advisory_xact_lock($1, $2)", lockOfSites, t.site); err != nil {
		return err
	}
	err := t.tx.QueryRow(t.ctx, "SELECT number, hash FROM wetside.record WHERE site_id = $1 ORDER BY number DESC LIMIT 1", t.site).
		Scan(&t.answer.Last.Number, &t.answer.Last.Hash)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil
	}
	return err
}

// compare holds the newest record of the site against what is kept: a book that ends
// earlier was put back, one with another record there was rewritten.
func (t *taking) compare() error {
	kept, said := t.answer.Last, t.push.Last
	if said.Number > kept.Number {
		return nil // what follows has to continue the book
	}
	if said.Number < kept.Number {
		place, err := t.takenAt(kept.Number)
		if err != nil {
			return err
		}
		return &Refusal{fmt.Sprintf("The site's book ends at record %d, and the centre took records up to %d until %s: the site's data was "+
			"put back to an older state, or a second computer uses its key. %s",
			said.Number, kept.Number, place, whatToDo)}
	}
	if said.Hash == kept.Hash {
		return nil
	}
	return t.otherBook(kept.Number)
}

// otherBook is the refusal of a book whose record of a number is not the one that is kept.
func (t *taking) otherBook(number uint64) error {
	place, err := t.takenAt(number)
	if err != nil {
		return err
	}
	return &Refusal{fmt.Sprintf("Record %d of the site's book is not the one that the centre took on %s: a record up to it was changed, "+
		"the data was put back to an older state and went on from there, or a second computer uses the site's key. %s",
		number, place, whatToDo)}
}

// takenAt is when a record was taken, as people read it.
func (t *taking) takenAt(number uint64) (string, error) {
	var at time.Time
	err := t.tx.QueryRow(t.ctx, "SELECT taken_at FROM wetside.record WHERE site_id = $1 AND number = $2", t.site, number).Scan(&at)
	return at.UTC().Format("2 January 2006 15:04 UTC"), err
}

func (t *taking) records() error {
	list, after := t.push.Records, t.push.After
	if len(list) == 0 || after > t.answer.Last.Number {
		return nil // the answer says where to go on
	}
	have := int(min(t.answer.Last.Number-after, uint64(len(list))))
	if have > 0 && after+uint64(have) == t.answer.Last.Number && list[have-1].Hash != t.answer.Last.Hash {
		return t.otherBook(t.answer.Last.Number)
	}
	if list = list[have:]; len(list) == 0 {
		return nil
	}
	hashes, bodies := make([]string, len(list)), make([]string, len(list))
	for i, r := range list {
		hashes[i], bodies[i] = r.Hash, r.Body
	}
	err := t.exec(`INSERT INTO wetside.record(site_id, number, hash, body)
		SELECT $1, $2 + place, hash, body FROM unnest($3::text[], $4::text[]) WITH ORDINALITY AS x(hash, body, place) ORDER BY place`,
		t.site, t.answer.Last.Number, hashes, bodies)
	t.continued = true
	t.answer.Last.Number += uint64(len(list))
	t.answer.Last.Hash = hashes[len(list)-1]
	return err
}

func (t *taking) exec(query string, args ...any) error {
	_, err := t.tx.Exec(t.ctx, query, args...)
	return err
}

// refusal is the refusal in an error, nil where the message itself is well.
func (t *taking) refusal(err error) *Refusal {
	if r, ok := errors.AsType[*Refusal](err); ok {
		return r
	}
	switch state := stateOf(err); {
	case state == stateHole, state == stateOtherBook:
		return &Refusal{fmt.Sprintf("The site's book does not continue the one that the centre keeps up to record %d: a record up to it was "+
			"changed, the data was put back to an older state, or a second computer uses the site's key. %s",
			max(t.push.After, 1), whatToDo)}
	case state == stateNever, state == stateMisplaced, len(state) == 5 && (state[:2] == "22" || state[:2] == "23"):
		return &Refusal{"The centre could not take what the site sent: " + err.Error()}
	}
	return nil
}
