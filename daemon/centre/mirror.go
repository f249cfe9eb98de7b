package centre

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/daemon/centre/wire"
	"wetside/daemon/history"
)

// describe takes the channels and words, to which everything else refers.
func (t *taking) describe() error {
	if t.push.Table == nil {
		return nil
	}
	var batch pgx.Batch
	for _, c := range t.push.Channels {
		batch.Queue(`INSERT INTO wetside.channel(site_id, code, id, room, name, kind, unit, silence_ms, in_service)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
			ON CONFLICT (site_id, code) DO UPDATE SET id = EXCLUDED.id, room = EXCLUDED.room, name = EXCLUDED.name, kind = EXCLUDED.kind,
			unit = EXCLUDED.unit, silence_ms = EXCLUDED.silence_ms, in_service = EXCLUDED.in_service`,
			t.site, c.Code, c.ID, c.Room, c.Name, c.Kind, c.Unit, c.SilenceMS, c.InService)
	}
	for _, w := range t.push.Words {
		batch.Queue(`INSERT INTO wetside.word(site_id, code, text) VALUES ($1, $2, $3)
			ON CONFLICT (site_id, code) DO UPDATE SET text = EXCLUDED.text WHERE word.text <> EXCLUDED.text`, t.site, w.Code, w.Text)
	}
	return t.tx.SendBatch(t.ctx, &batch).Close()
}

// mirror makes the open gaps and the days that wait those of the site.
func (t *taking) mirror() error {
	if t.push.Table == nil {
		return nil
	}
	gaps := gapColumns(t.push.OpenGaps)
	keys, changes := []int64{}, []int64{}
	for _, w := range t.push.Waiting {
		keys, changes = append(keys, w.Key), append(changes, w.Changes)
	}
	return errors.Join(
		t.exec("DELETE FROM wetside.gap WHERE site_id = $1 AND to_ms IS NULL AND id <> ALL ($2)", t.site, gaps.ids),
		t.exec(`INSERT INTO wetside.gap(site_id, id, channel, from_ms, to_ms, cause)
			SELECT $1, i, k, f, NULL, c FROM unnest($2::bigint[], $3::bigint[], $4::bigint[], $5::text[]) AS x(i, k, f, c)
			ON CONFLICT (site_id, id) DO UPDATE SET channel = EXCLUDED.channel, from_ms = EXCLUDED.from_ms, to_ms = NULL, cause = EXCLUDED.cause`,
			t.site, gaps.ids, gaps.channels, gaps.from, gaps.causes),
		t.exec("DELETE FROM wetside.unattested WHERE site_id = $1 AND key <> ALL ($2)", t.site, keys),
		t.exec(`INSERT INTO wetside.unattested(site_id, key, changes) SELECT $1, k, c FROM unnest($2::bigint[], $3::bigint[]) AS x(k, c)
			ON CONFLICT (site_id, key) DO UPDATE SET changes = EXCLUDED.changes`, t.site, keys, changes),
	)
}

type columns struct {
	ids, channels, from, to []int64
	causes                  []string
}

func gapColumns(list []history.RawGap) columns {
	c := columns{ids: []int64{}, channels: []int64{}, from: []int64{}, to: []int64{}, causes: []string{}}
	for _, g := range list {
		c.ids, c.channels, c.from, c.causes = append(c.ids, g.ID), append(c.channels, g.Channel), append(c.from, g.FromMS),
			append(c.causes, g.Cause)
		if g.ToMS != nil {
			c.to = append(c.to, *g.ToMS)
		}
	}
	return c
}

// days puts the days of the message beside what is there. One that is not what the book
// attests is left as it was; the others are taken.
func (t *taking) days() error {
	for _, d := range t.push.Days {
		state := ""
		err := pgx.BeginFunc(t.ctx, t.tx, func(tx pgx.Tx) (err error) {
			if state, err = put(t.ctx, tx, t.site, d); err == nil && state == "other" {
				return errOther
			}
			return err
		})
		switch {
		case errors.Is(err, errOther) && d.Part:
			continue // it is wanted whole
		case errors.Is(err, errOther):
			err = t.refuseDay(d)
		case err == nil:
			err = t.exec("UPDATE wetside.refusal SET ended_at = now() WHERE site_id = $1 AND key = $2 AND ended_at IS NULL", t.site, d.Key)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// errOther takes back a day that is not what the book attests.
var errOther = errors.New("not what the book attests")

func put(ctx context.Context, tx pgx.Tx, site int, d wire.Day) (state string, err error) {
	keys, samples := []int64{}, [][]byte{}
	for _, b := range d.Blocks {
		keys, samples = append(keys, b.Key), append(samples, b.Samples)
	}
	g := gapColumns(d.Gaps)
	err = tx.QueryRow(ctx, "SELECT wetside.put_day($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
		site, d.Key, keys, samples, d.Quarters, g.ids, g.from, g.to, g.causes, d.Waiting).Scan(&state)
	return state, err
}

// refuseDay notes that a day was not taken, and why.
func (t *taking) refuseDay(d wire.Day) error {
	var channel, day string
	var record int64
	err := t.tx.QueryRow(t.ctx, `SELECT c.name, (date '1970-01-01' + a.day::integer)::text, a.record
		FROM wetside.channel c JOIN wetside.attested a ON a.site_id = c.site_id AND a.channel = c.id
		WHERE c.site_id = $1 AND c.code = $2::bigint >> 32 AND a.day = wetside.day_of($2::bigint)`, t.site, d.Key).Scan(&channel, &day, &record)
	if err != nil {
		return err
	}
	why := fmt.Sprintf("The samples of %q on %s are not those that record %d attests: the site's file was changed or is damaged. Run "+
		"wetside verify at the site.", channel, day, record)
	t.answer.Refused = append(t.answer.Refused, wire.Refused{Key: d.Key, Why: why})
	return t.exec(noteRefused, t.site, d.Key, why)
}

// noteRefused notes a refusal, or that an open one came again.
const noteRefused = `INSERT INTO wetside.refusal(site_id, key, why, first_at, last_at)
	VALUES ($1, $2, $3, clock_timestamp(), clock_timestamp())
	ON CONFLICT (site_id, coalesce(key, -1), why) WHERE ended_at IS NULL DO UPDATE SET last_at = EXCLUDED.last_at, times = refusal.times + 1`

// want lists the days that the book attests and that are not here, the newest first.
func (t *taking) want() error {
	rows, err := t.tx.Query(t.ctx, `SELECT (c.code << 32) + a.day + 2147483648 FROM wetside.attested a
		JOIN wetside.channel c ON c.site_id = a.site_id AND c.id = a.channel
		WHERE a.site_id = $1 AND NOT a.held AND NOT EXISTS (
			SELECT 1 FROM wetside.unattested u WHERE u.site_id = a.site_id AND u.key = (c.code << 32) + a.day + 2147483648)
		ORDER BY a.day DESC, c.code LIMIT $2`, t.site, mostWanted)
	if err != nil {
		return err
	}
	t.answer.Wanted, err = pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil || len(t.answer.Wanted) == 0 {
		return err
	}
	return t.exec("UPDATE wetside.heard SET complete = false WHERE site_id = $1", t.site)
}

// mostWanted is how many days an answer asks for at most.
const mostWanted = 300

// heard notes what the site said of itself, and that it is taken again: a message that only
// asks how far the centre has come shows nothing of the site's book.
func (t *taking) heard() (err error) {
	if t.continued || t.answer.Last == t.push.Last {
		err = t.exec("UPDATE wetside.refusal SET ended_at = now() WHERE site_id = $1 AND key IS NULL AND ended_at IS NULL", t.site)
	}
	if err != nil {
		return err
	}
	t.answer.Messages, err = hear(t.ctx, t.tx, t.site, t.push, 1)
	return err
}

// hear notes what a site said of itself; taken is 0 for a message that was refused.
func hear(ctx context.Context, tx pgx.Tx, site int, p wire.Push, taken int) (messages uint64, err error) {
	err = tx.QueryRow(ctx, `INSERT INTO wetside.heard(site_id, heard_at, number, hash, alive_ms, clock_apart_ms,
			version, zone, simulated, complete, messages)
		VALUES ($1, now(), $2, $3, $4, $5 - (extract(epoch FROM clock_timestamp()) * 1000)::bigint, $6, $7, $8, $9, $10)
		ON CONFLICT (site_id) DO UPDATE SET heard_at = EXCLUDED.heard_at, number = EXCLUDED.number, hash = EXCLUDED.hash,
			alive_ms = EXCLUDED.alive_ms,
			clock_apart_ms = EXCLUDED.clock_apart_ms, version = EXCLUDED.version, zone = EXCLUDED.zone, simulated = EXCLUDED.simulated,
			complete = EXCLUDED.complete, messages = heard.messages + EXCLUDED.messages
		RETURNING messages`,
		site, p.Last.Number, p.Last.Hash, p.AliveMS, p.SentMS, p.Version, p.Zone, p.Simulated, p.Complete && taken > 0, taken).Scan(&messages)
	return messages, err
}

// noteRefusal keeps why nothing of a message was taken, for the manager.
func (s *Store) noteRefusal(ctx context.Context, site int, p wire.Push, r *Refusal) error {
	return s.as(ctx, site, func(tx pgx.Tx) error {
		if _, err := hear(ctx, tx, site, p, 0); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, noteRefused, site, nil, r.Why)
		return err
	})
}

// witness gives a record that the centre took from the site with a key, by its number; 0 is
// the newest. found is false where there is none.
func (s *Store) witness(ctx context.Context, key string, number uint64) (w wire.Witness, found bool, err error) {
	site, err := s.siteOf(ctx, key)
	if err != nil {
		return w, false, err
	}
	var at time.Time
	err = s.pool.QueryRow(ctx, "SELECT number, hash, taken_at FROM wetside.record WHERE site_id = $1 AND ($2 = 0 OR number = $2) ORDER "+
		"BY number DESC LIMIT 1", site, number).
		Scan(&w.Number, &w.Hash, &at)
	if errors.Is(err, pgx.ErrNoRows) {
		return w, false, nil
	}
	w.TakenMS = at.UnixMilli()
	return w, err == nil, err
}
