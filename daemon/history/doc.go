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
// file, whatever is written meanwhile. Whoever asks much reads the book by [Walk], which
// checks the chain on the way, and channels by [Reader.Look].
//
// # How samples are packed
//
// Times are differences of differences in milliseconds, values integers in the smallest
// decimal step that gives every value back to the last bit, both bit-packed in groups; grades
// are runs. The times of channels that come in one frame are kept once, in the table times;
// the view block puts them before the rest of each block. A value that no decimal step gives
// back is kept as the float that it is. Hours and days roll up from the minutes, so that a year
// is drawn from a few thousand rows and no spike is thinned away. An imported sample has a flag
// of its own, the highest bit of its stored grade: nothing reads it as a measurement.
//
// # A byte that was changed
//
// "wetside verify" finds a changed byte in every record, sample, gap and roll-up, and a table,
// index or trigger that is missing, added or made otherwise. What it does not find lies where
// nothing is read from: the parts of the file's header that SQLite works out again, free pages
// and the unused parts of pages, times that no block names, and the tables alive and
// unattested, in which the daemon keeps its own place. TestAChangedByteIsFoundOrMattersNot
// changes bytes anywhere and holds each that is not found to this list.
//
// # Another form of the file
//
// The file says which form it has (user_version); the folder migrations holds the step to
// each. A start copies an older file beside itself before it brings it forward, a transaction
// a step, and refuses a newer one. What is written out (a report, an export, a backup, a
// restored folder) has a name that ends in ".part" until it is whole and on disk. A file made
// by a backup, or copied before a migration, carries a mark in its header: the first start on
// it writes a record that says from which record on the history was restored, and takes the
// mark away.
package history
