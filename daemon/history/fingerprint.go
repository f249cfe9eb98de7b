package history

import (
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"fmt"
	"hash"
	"strings"
	"time"

	"wetside/daemon/history/pack"
)

// fingerprint is what the day of one channel comes to.
type fingerprint struct {
	// sum is the SHA-256 of the lines of the day, in hexadecimal.
	sum     string
	samples int64
	// empty is set when nothing at all is kept of the day.
	empty bool
	// damage lists the blocks whose own check does not fit.
	damage []string
}

// fingerprint sums up all that is kept of a day of a channel. Each line of the sum
// is a row of the file: the blocks of samples in the order of their keys, the
// roll-up of the day, and the gaps that ended in it.
func (v view) fingerprint(key int64) (f fingerprint, err error) {
	p := printing{view: v, fingerprint: &f, hash: sha256.New()}
	f.empty = true
	code, day := key>>32, blockNumber(key)
	const blocks = "SELECT key, samples FROM block WHERE key >= ? AND key < ? ORDER BY key"
	err = v.eachStored(blocks, keysOf(code, day*quartersPerDay, (day+1)*quartersPerDay), p.block)
	if err != nil {
		return f, err
	}
	const rollUp = "SELECT key, quarters FROM day WHERE key >= ? AND key < ?"
	if err := v.eachStored(rollUp, keysOf(code, day, day+1), p.rollUp); err != nil {
		return f, err
	}
	if err := p.gaps(code, day); err != nil {
		return f, err
	}
	f.sum = hex.EncodeToString(p.hash.Sum(nil))
	return f, nil
}

// printing is a fingerprint in the making.
type printing struct {
	view
	*fingerprint
	hash hash.Hash
	line []byte
}

func (p *printing) block(key int64, data []byte) error {
	p.stored("block", key, data)
	if _, err := pack.Checked(data); err != nil {
		p.damage = append(p.damage, fmt.Sprintf("from %s on: %v", time.UnixMilli(blockNumber(key)*quarterMillis).UTC().Format("15:04"), err))
	}
	return nil
}

func (p *printing) rollUp(key int64, data []byte) error {
	p.stored("day", key, data)
	quarters, err := decodeDay(data)
	if err != nil {
		p.damage = append(p.damage, strings.TrimPrefix(err.Error(), ErrCorrupt.Error()+": "))
	}
	for _, q := range quarters {
		p.samples += int64(q.good) + int64(q.bad)
	}
	return nil
}

// stored adds the line of a row that holds bytes.
func (p *printing) stored(what string, key int64, data []byte) {
	p.empty = false
	p.line = fmt.Appendf(p.line[:0], "%s %d ", what, key)
	p.line = append(hex.AppendEncode(p.line, data), '\n')
	p.hash.Write(p.line)
}

// gaps adds the lines of the gaps that ended in the day.
func (p *printing) gaps(code, day int64) error {
	const ended = "SELECT from_ms, to_ms, cause FROM gap WHERE channel = ? AND to_ms >= ? AND to_ms < ? ORDER BY from_ms, to_ms, cause"
	return p.each(ended, func(rows *sql.Rows) error {
		var from, to int64
		var cause string
		err := rows.Scan(&from, &to, &cause)
		p.empty = false
		fmt.Fprintf(p.hash, "gap %d %d %s\n", from, to, cause)
		return err
	}, code, day*dayMillis, (day+1)*dayMillis)
}
