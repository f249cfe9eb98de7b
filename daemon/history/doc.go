// Package history keeps what happened: samples, gaps and the record book. It is
// the one room that knows SQLite.
//
// Samples first go to a tail in the order of arrival; when a quarter of an hour
// is over, each channel's part of it is packed into one block without losing a
// bit, and its lowest, mean and highest good value join the day's roll-up. Raw
// values are never altered. What is not known is kept as a gap with its cause.
//
// The record book is append-only: each record carries the hash of the one
// before, see [wetside/daemon/history/book]. A record is on disk when
// [Store.Record] returns; a sample survives a killed program when
// [Store.Append] returns, and a power loss one second later or, of a durable batch, at once.
//
// One goroutine owns the only connection that writes; a second one seals and
// moves the log into the file in quiet moments. Readers see one moment of the
// file, whatever is written meanwhile.
package history
