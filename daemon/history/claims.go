package history

import (
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"

	"wetside/daemon/history/book"
)

// claims is what the record book says of the samples, for comparing.
type claims struct {
	// days is the latest word on each day of each channel.
	days map[string]map[int64]claim
	// deleted are the deletions of each channel, in the order of their records.
	deleted map[string][]deletion
	// described is the latest word on what each channel is.
	described map[string]description
	reasons   []string
}

type description struct {
	record uint64
	described
}

type claim struct {
	record    uint64
	unit, sum string
}

type deletion struct {
	record uint64
	before int64
}

// apply notes what a record says of samples. One that can't be read does not hold:
// this program wrote it.
func (c *claims) apply(r Record) error {
	var err error
	switch r.Kind {
	case KindAttested:
		err = c.applyAttested(r)
	case KindDeleted:
		err = c.applyDeleted(r)
	}
	if err != nil {
		return &book.Broken{Number: r.Number, Why: err.Error()}
	}
	return nil
}

func (c *claims) applyAttested(r Record) error {
	var a attested
	if err := json.Unmarshal(r.Content, &a); err != nil {
		return err
	}
	day, err := parseDay(a.Day)
	if err != nil {
		return err
	}
	c.reasons = a.Reasons
	for _, x := range a.Channels {
		if c.days[x.Channel] == nil {
			c.days[x.Channel] = map[int64]claim{}
		}
		c.days[x.Channel][day] = claim{r.Number, x.Unit, x.SHA256}
		if x.whole() {
			c.described[x.Channel] = description{r.Number, x.described}
		}
	}
	return nil
}

func (c *claims) applyDeleted(r Record) error {
	var d Deleted
	if err := json.Unmarshal(r.Content, &d); err != nil {
		return err
	}
	before, err := parseDay(d.Before)
	id := string(d.Channel)
	c.deleted[id] = append(c.deleted[id], deletion{r.Number, before})
	return err
}

// gone gives the record by which a day was deleted after it was last attested; 0 for none.
func (c *claims) gone(id string, day int64) (record uint64) {
	attested := c.days[id][day].record
	for _, d := range c.deleted[id] {
		if day < d.before && d.record > attested {
			record = d.record
		}
	}
	return record
}

// firstAttesting is the first form of the file whose book attests samples.
const firstAttesting = 2

// compare sets the samples of every day against what the book attests of them.
func (r *Report) compare(v view, c *claims, form int) error {
	if r.Broken != nil {
		return nil // what follows in the book counts for nothing
	}
	waiting := map[int64]bool{}
	if form >= firstAttesting {
		if err := v.eachInteger("SELECT key FROM unattested", func(key int64) { waiting[key] = true }); err != nil {
			return err
		}
		have, err := v.reasons()
		if err != nil {
			return err
		}
		if len(have) < len(c.reasons) || !slices.Equal(have[:len(c.reasons)], c.reasons) {
			r.damaged("the words for what is wrong with samples: they are not those that the book attests")
		}
	}
	var channels []comparing
	const query = "SELECT code, id, unit, room, name, kind, silence_ms, in_service = 0 FROM channel ORDER BY code"
	err := v.each(query, func(rows *sql.Rows) error {
		x := comparing{view: v, report: r, claims: c, waiting: waiting, old: form < firstAttesting}
		err := rows.Scan(&x.code, &x.id, &x.Unit, &x.Room, &x.Name, &x.Kind, &x.Silence, &x.Retired)
		channels = append(channels, x)
		return err
	})
	for _, x := range channels {
		err = errors.Join(err, x.channel())
		delete(c.days, x.id)
	}
	for _, id := range slices.Sorted(maps.Keys(c.days)) {
		r.damaged("the channel %q: the book attests samples of it, and the file does not know it", id)
	}
	return err
}

func (r *Report) damaged(format string, args ...any) {
	r.Damage = append(r.Damage, fmt.Sprintf(format, args...))
}

// comparing is one channel being compared.
type comparing struct {
	view
	report  *Report
	claims  *claims
	waiting map[int64]bool
	code    int64
	id      string
	described
	old bool // the file is of a form that attests nothing
}

// channel compares every day of a channel, of the file or of the book.
func (x comparing) channel() error {
	days := map[int64]bool{}
	note := func(key int64) { days[blockNumber(key)] = true }
	all := keysOf(x.code, -keyBias, keyBias)
	if err := x.eachInteger("SELECT key FROM day WHERE key >= ? AND key < ?", note, all.low, all.high); err != nil {
		return err
	}
	if err := x.eachBlockDay(days); err != nil {
		return err
	}
	ended := func(ms int64) { days[floorDiv(ms, dayMillis)] = true }
	if err := x.eachInteger("SELECT to_ms FROM gap WHERE channel = ? AND to_ms IS NOT NULL", ended, x.code); err != nil {
		return err
	}
	for day := range x.claims.days[x.id] {
		days[day] = true
	}
	for _, day := range slices.Sorted(maps.Keys(days)) {
		if err := x.day(day); err != nil {
			return err
		}
	}
	waits := false
	for key := range x.waiting {
		waits = waits || key>>32 == x.code
	}
	if d := x.claims.described[x.id]; d.whole() && !waits && d.described != x.described {
		x.report.damaged("the channel %q: it is not called, meant or measured as record %d attests", x.id, d.record)
	}
	return nil
}

// eachBlockDay notes the days of the blocks, jumping from day to day.
func (x comparing) eachBlockDay(days map[int64]bool) error {
	keys := keysOf(x.code, -keyBias, keyBias)
	for {
		var key sql.NullInt64
		err := x.row("SELECT min(key) FROM block WHERE key >= ? AND key < ?", keys.low, keys.high).Scan(&key)
		if err != nil || !key.Valid {
			return err
		}
		day := floorDiv(blockNumber(key.Int64), quartersPerDay)
		days[day] = true
		keys.low = blockKey(x.code, (day+1)*quartersPerDay)
	}
}

func (x comparing) day(day int64) error {
	key := blockKey(x.code, day)
	f, err := x.fingerprint(key)
	if err != nil {
		return err
	}
	where := fmt.Sprintf("samples of %q on %s", x.id, dayText(day))
	for _, d := range f.damage {
		x.report.damaged("%s: %s", where, d)
	}
	claim, attested := x.claims.days[x.id][day]
	gone := x.claims.gone(x.id, day)
	switch {
	case x.old:
	case gone > 0 && f.empty:
	case x.waiting[key]:
		x.report.Waiting++
	case gone > 0:
		x.report.damaged("%s: record %d says that they were deleted, and they are there", where, gone)
	case !attested:
		x.report.damaged("%s: no record attests them", where)
	case f.empty && claim.sum != f.sum:
		x.report.damaged("%s: record %d attests them, and they are gone", where, claim.record)
	case claim.sum != f.sum || claim.unit != x.Unit:
		x.report.damaged("%s: they are not what record %d attests", where, claim.record)
	default:
		x.report.Attested++
	}
	return nil
}

// eachInteger hands on the whole numbers that a query gives.
func (v view) eachInteger(query string, each func(int64), args ...any) error {
	return v.each(query, func(rows *sql.Rows) error {
		var n int64
		err := rows.Scan(&n)
		each(n)
		return err
	}, args...)
}
