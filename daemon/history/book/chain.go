package book

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
)

// First is what counts as the hash before the first record.
const First = "0000000000000000000000000000000000000000000000000000000000000000"

// Hash is the hash of a record whose canonical text is body, after a record whose hash is previous.
func Hash(previous, body string) string {
	var h hasher
	return string(h.of(previous, body))
}

// hasher hashes record after record in the same memory.
type hasher struct{ text, sum []byte }

// of is the hash of a record, good until the next.
func (h *hasher) of(previous, body string) []byte {
	h.text = append(append(append(append(h.text[:0], previous...), '\n'), body...), '\n')
	sum := sha256.Sum256(h.text)
	h.sum = hex.AppendEncode(h.sum[:0], sum[:])
	return h.sum
}

// Checkpoint is a place in the book: a printed one proves that nothing up to it was changed.
type Checkpoint struct {
	Number uint64
	Hash   string
}

// Broken says which record does not hold, and why.
type Broken struct {
	Number uint64
	Why    string
}

// Error is the sentence shown to people.
func (b *Broken) Error() string {
	return fmt.Sprintf("record %d fails verification: %s", b.Number, b.Why)
}

// Chain checks records one after another. The zero Chain expects record 1.
type Chain struct {
	last   Checkpoint
	hasher hasher
}

// After is a chain that goes on from a checkpoint.
func After(c Checkpoint) Chain { return Chain{last: c} }

// Last is the last record that held.
func (c *Chain) Last() Checkpoint { return c.last }

// Previous is the hash that the next record rests on.
func (c *Chain) Previous() string {
	if c.last.Number == 0 {
		return First
	}
	return c.last.Hash
}

// Next checks the next record, given as its hash and canonical text, and gives
// it read. The error is a [*Broken].
func (c *Chain) Next(hash, body string) (Record, error) {
	number := c.last.Number + 1
	if !c.follows(hash, body) {
		return Record{}, &Broken{number, "its hash does not follow from its text and the record before"}
	}
	r, err := Parse(body)
	if err != nil {
		return Record{}, &Broken{number, err.Error()}
	}
	if r.Number != number {
		return Record{}, &Broken{number, fmt.Sprintf("it says that it is record %d", r.Number)}
	}
	r.Previous, r.Hash = c.Previous(), hash
	c.last = Checkpoint{number, hash}
	return r, nil
}

// follows says whether a hash is that of a text after the last record.
func (c *Chain) follows(hash, body string) bool {
	return string(c.hasher.of(c.Previous(), body)) == hash
}

// Pass goes on by the next record without reading it, and says whether its hash follows. That is
// enough where the chain leads to a hash to which it led before, when every record was read.
func (c *Chain) Pass(hash, body string) bool {
	if !c.follows(hash, body) {
		return false
	}
	c.last = Checkpoint{c.last.Number + 1, hash}
	return true
}
