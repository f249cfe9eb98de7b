// Package ledger keeps what became of every batch of chemistry in a darkroom:
// what was mixed from what, where it was poured, what went through it, how it
// was tested and where it ended.
//
// The ledger is a fold over the entries of an append-only record book. An
// [Entry] says when something happened, when it was written down, by whom, and
// the [Act]. [Ledger.Check] says whether an entry would be taken, in a sentence
// a person can act on; [Ledger.Apply] takes it. Entries are folded in the order
// in which things happened, so that a late entry finds its place, and a
// [Correction] replaces the meaning of an earlier entry without removing it.
//
// A container and the liquid in it are different things. A [Liquid] carries its
// whole history (batches, strength, age, hours in the open, area processed,
// tests, the prints since the last pass) through pouring, topping up, merging,
// returning and promoting.
//
// The package is pure: it reads no clock and no file and keeps no globals. A
// Ledger belongs to one goroutine.
package ledger
