// Package book is the form of the record book: how a record becomes one line of
// text, and how each line's hash rests on the one before. It does no I/O of its own.
//
// A line of an exported book is
//
//	HASH BODY
//
// BODY is one JSON object without line breaks, its keys in the order of [Record].
// HASH is the SHA-256, in hexadecimal, of the hash of the line before, a line
// feed, BODY and a line feed; the line before the first counts as 64 zeros. With
// PREV and BODY in variables, a stranger checks a line by
//
//	printf '%s\n%s\n' "$PREV" "$BODY" | sha256sum
//
// A printed number and hash prove that nothing up to that number was changed.
//
// # What the book attests of the samples
//
// When a UTC day is over, and at a stop, a record of the kind "samples attested" says for each
// channel what is kept of the day: its unit, room, name, kind, longest silence and whether it
// is out of service, how many samples, and the SHA-256 of lines that anybody can make from the
// file with SQL. For a channel whose row in the table channel has the number code, and a day
// that lies day days after 1970-01-01, the lines are, each with a line feed,
//
//   - "block KEY BYTES" for every row of block (in files of form 3 a view, which puts the
//     shared times of a frame in their place) with (code << 32) + day * 96 + 2^31 <= key <
//     (code << 32) + (day + 1) * 96 + 2^31, by key, the bytes in hexadecimal and small
//     letters;
//   - "day KEY BYTES" for the row of day with the key (code << 32) + day + 2^31, if there is
//     one;
//   - "gap FROM TO CAUSE" for every row of gap of the channel that ended in the day, by these
//     three.
//
// The reasons in the record are the rows of the table word by their number, to which samples
// refer. What is added to a day later, such as a late sample, leads to a further record, and
// the latest one counts; the table unattested lists the days that wait. "wetside verify"
// compares every day and names the channel and the day that differ, and a channel that is
// described otherwise than it was attested last. A record of the kind "samples deleted" says
// up to which day a channel was deleted; nothing of it may then be there. Not attested, and
// guarded by checks alone, are the day that has not ended and gaps that are still open.
package book
