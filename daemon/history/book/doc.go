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
package book
