// Package wire is what a site and its centre say to each other: one kind of message, which
// carries what is new, asks how far the centre has come, and is a sign of life.
//
// A message is JSON, packed with gzip, sent by POST to [Path] with the site's key as a bearer
// token. The answer says up to which record the centre keeps the site's book. The site goes
// on from there, so it need not remember anything; the same message twice does no harm.
package wire

import "wetside/daemon/history"

// The paths under the address of a centre.
const (
	// Path takes messages.
	Path = "/site/push"
	// WitnessPath tells a site which records of its book the centre keeps.
	WitnessPath = "/site/witness"
)

// Place is a place in a record book: a number and the hash of that record.
type Place struct {
	Number uint64 `json:"number"`
	Hash   string `json:"hash"`
}

// Push is a message of a site, of one moment of its file.
type Push struct {
	// Last is the newest record of the site's book.
	Last    Place `json:"last"`
	SentMS  int64 `json:"sent_ms"`
	AliveMS int64 `json:"alive_ms"`
	About
	// Records follow on the record with the number After, the last that the centre keeps.
	After   uint64              `json:"after,omitempty"`
	Records []history.RawRecord `json:"records,omitempty"`
	// Table is sent when it is not as it was sent before.
	*Table
	Days []Day `json:"days,omitempty"`
	// Complete says that nothing was left behind with this message.
	Complete bool `json:"complete"`
}

// About is what a site says of its program.
type About struct {
	Version   string `json:"version,omitempty"`
	Zone      string `json:"zone,omitempty"`
	Simulated bool   `json:"simulated,omitempty"`
}

// Table is what of a file is small enough to be sent whole.
type Table struct {
	Channels []history.RawChannel `json:"channels"`
	Words    []history.RawWord    `json:"words"`
	OpenGaps []history.RawGap     `json:"open_gaps"`
	// Waiting are the days that the book does not attest yet.
	Waiting []history.RawWaiting `json:"waiting"`
}

// Day is a day of a channel, or what is new in it.
type Day struct {
	history.RawDay
	// Waiting says that something was added that the book does not attest yet.
	Waiting bool `json:"waiting,omitempty"`
	// Part says that blocks which were sent before are left out.
	Part bool `json:"part,omitempty"`
}

// Answer is what the centre says to a message that it took.
type Answer struct {
	// Last is the newest record that the centre keeps of the book.
	Last Place `json:"last"`
	// Messages counts what the centre took from the site, this one included.
	Messages uint64 `json:"messages"`
	// Wanted are the days, by their keys, that the book attests and the centre lacks.
	Wanted []int64 `json:"wanted,omitempty"`
	// Refused are the days of this message that were not taken, and why.
	Refused []Refused `json:"refused,omitempty"`
}

// Refused is a day that the centre did not take.
type Refused struct {
	Key int64  `json:"key"`
	Why string `json:"why"`
}

// Refusal is the answer to a message of which nothing was taken.
type Refusal struct {
	Why string `json:"why"`
}

// Witness is a record that the centre took, and when.
type Witness struct {
	Place
	// TakenMS is when the centre took the record, by the centre's clock.
	TakenMS int64 `json:"taken_ms"`
}
