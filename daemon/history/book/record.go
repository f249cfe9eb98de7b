package book

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Record is one entry of the record book. Times are kept to the millisecond.
type Record struct {
	// Number counts from 1 without a hole.
	Number uint64
	Kind   string
	// At is when the record was written, in UTC.
	At time.Time
	// OffsetSeconds is what the place added to UTC at that moment, east positive.
	OffsetSeconds int
	// Mono is the monotonic time since the program started, Boot names that start.
	Mono time.Duration
	Boot string
	// Clock says how far the wall clock could be trusted.
	Clock  string
	Person string
	Role   string
	Room   string
	// Content is compact JSON.
	Content json.RawMessage
	// Corrects is the number of the record that this one corrects, or 0.
	Corrects uint64
	// Reason says why, for a correction or a late entry.
	Reason string
	// Happened is when it happened, for a late entry, in UTC; else zero.
	Happened time.Time
	// Form stands for the form that the record came by, empty where it came by none.
	Form string

	// Previous and Hash are the hashes of the record before and of this one.
	Previous string
	Hash     string
}

// body is the canonical form: the order of the fields is the order of the keys.
type body struct {
	Number        uint64          `json:"number"`
	Kind          string          `json:"kind"`
	At            string          `json:"at"`
	OffsetSeconds int             `json:"offset_seconds"`
	MonoMillis    int64           `json:"mono_ms"`
	Boot          string          `json:"boot"`
	Clock         string          `json:"clock"`
	Person        string          `json:"person,omitempty"`
	Role          string          `json:"role,omitempty"`
	Room          string          `json:"room,omitempty"`
	Content       json.RawMessage `json:"content"`
	Corrects      uint64          `json:"corrects,omitempty"`
	Reason        string          `json:"reason,omitempty"`
	Happened      string          `json:"happened,omitempty"`
	Form          string          `json:"form,omitempty"`
}

// timeForm is RFC 3339 in UTC with a fixed number of digits.
const timeForm = "2006-01-02T15:04:05.000Z"

// Body gives the canonical text of the record. It fails when Content is not JSON
// or a time has no four-digit year.
func (r Record) Body() (string, error) {
	content := r.Content
	if content == nil {
		content = json.RawMessage("null")
	}
	b := body{
		Number: r.Number, Kind: r.Kind, OffsetSeconds: r.OffsetSeconds,
		MonoMillis: r.Mono.Milliseconds(), Boot: r.Boot, Clock: r.Clock, Person: r.Person, Role: r.Role,
		Room: r.Room, Content: bytes.ToValidUTF8(content, []byte("\ufffd")), Corrects: r.Corrects, Reason: r.Reason, Form: r.Form,
	}
	var err error
	if b.At, err = formatTime(r.At); err != nil {
		return "", err
	}
	if !r.Happened.IsZero() {
		if b.Happened, err = formatTime(r.Happened); err != nil {
			return "", err
		}
	}
	var text strings.Builder
	encoder := json.NewEncoder(&text)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(b); err != nil {
		return "", fmt.Errorf("the content of a record must be JSON: %w", err)
	}
	return strings.TrimSuffix(text.String(), "\n"), nil
}

// Parse reads a canonical text back. Text that is not exactly what [Record.Body]
// gives is refused, so that one record has one form only.
func Parse(text string) (Record, error) {
	if r, ok := quick(text); ok {
		return r, nil
	}
	return parse(text)
}

// parse reads any record, and writes it again to see whether the text is canonical.
func parse(text string) (Record, error) {
	var b body
	decoder := json.NewDecoder(strings.NewReader(text))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&b); err != nil {
		return Record{}, fmt.Errorf("not a record: %w", err)
	}
	r := Record{
		Number: b.Number, Kind: b.Kind, OffsetSeconds: b.OffsetSeconds,
		Mono: time.Duration(b.MonoMillis) * time.Millisecond, Boot: b.Boot, Clock: b.Clock, Person: b.Person,
		Role: b.Role, Room: b.Room, Content: b.Content, Corrects: b.Corrects, Reason: b.Reason, Form: b.Form,
	}
	var err error
	if r.At, err = time.Parse(timeForm, b.At); err != nil {
		return Record{}, fmt.Errorf("not a record: its time: %w", err)
	}
	if b.Happened != "" {
		if r.Happened, err = time.Parse(timeForm, b.Happened); err != nil {
			return Record{}, fmt.Errorf("not a record: when it happened: %w", err)
		}
	}
	if again, err := r.Body(); err != nil || again != text {
		return Record{}, fmt.Errorf("not a record: the text is not in the canonical form")
	}
	return r, nil
}

func formatTime(t time.Time) (string, error) {
	if year := t.UTC().Year(); year < 0 || year > 9999 {
		return "", fmt.Errorf("a time in the year %d can't be recorded: expected the years 0 to 9999", year)
	}
	return t.UTC().Format(timeForm), nil
}

// String is the checkpoint as it is printed and mailed, such as "812:5f3c...".
func (c Checkpoint) String() string { return fmt.Sprintf("%d:%s", c.Number, c.Hash) }

// ParseCheckpoint reads a checkpoint as [Checkpoint.String] writes it; capitals and
// blanks around it do no harm.
func ParseCheckpoint(text string) (Checkpoint, error) {
	number, hash, _ := strings.Cut(strings.ToLower(strings.TrimSpace(text)), ":")
	n, err := strconv.ParseUint(number, 10, 64)
	bytes, badHash := hex.DecodeString(hash)
	if err != nil || n == 0 || badHash != nil || len(bytes) != 32 {
		return Checkpoint{}, fmt.Errorf("%q is not a checkpoint: expected a record's number, a colon and its hash of 64 hexadecimal digits, "+
			"as verify prints it", text)
	}
	return Checkpoint{n, hash}, nil
}
