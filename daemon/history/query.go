package history

import (
	"encoding/json"
	"slices"
	"strings"
	"time"
)

// Query selects records; its zero value selects all of them.
type Query struct {
	// Kinds and Room select by kind and room; empty means any.
	Kinds []string
	Room  string
	// Numbers selects by number; nil means any.
	Numbers []uint64
	// From and To bound the time of writing: From is in it, To is not; zero means open.
	From, To time.Time
	// AfterNumber leaves out records up to it, so that a reader can go on where it ended;
	// UpTo those after it, zero none.
	AfterNumber, UpTo uint64
	// Limit bounds how many are given; 0 means all.
	Limit int
}

// conditions are parts of a query that all must be met.
type conditions struct {
	where []string
	args  []any
}

func (c *conditions) add(condition string, values ...any) {
	c.where, c.args = append(c.where, condition), append(c.args, values...)
}

func (c *conditions) String() string { return strings.Join(c.where, " AND ") }

// sql finds the numbers of the records by the index that leaves the fewest, and then reads
// the records in their order: the texts are many times as large as all the rest, so they are
// neither sorted nor passed over.
func (q Query) sql() (string, []any) {
	var found, all conditions
	all.add("number > ?", q.AfterNumber)
	if q.UpTo > 0 {
		all.add("number <= ?", q.UpTo)
	}
	bounds := len(all.where)
	if !q.From.IsZero() {
		all.add("at_ms >= ?", q.From.UnixMilli())
	}
	if !q.To.IsZero() {
		all.add("at_ms < ?", q.To.UnixMilli())
	}
	index := ""
	switch {
	case !q.From.IsZero():
		index, found = "record_by_time", conditions{slices.Clone(all.where), slices.Clone(all.args)}
		if len(q.Kinds) > 0 {
			all.add("kind IN (SELECT value FROM json_each(?))", textOf(q.Kinds))
		}
	case len(q.Kinds) > 0:
		index, found = "record_by_kind", conditions{slices.Clone(all.where[:bounds]), slices.Clone(all.args[:bounds])}
		found.add("kind IN (SELECT value FROM json_each(?))", textOf(q.Kinds))
	}
	if q.Room != "" {
		all.add("room = ?", q.Room)
	}
	switch {
	case q.Numbers != nil:
		all.add("number IN (SELECT value FROM json_each(?))", textOf(q.Numbers))
	case index != "":
		all.add("number IN (SELECT number FROM record INDEXED BY "+index+" WHERE "+found.String()+")", found.args...)
	}
	limit := -1
	if q.Limit > 0 {
		limit = q.Limit
	}
	return "WHERE " + all.String() + " ORDER BY number LIMIT ?", append(all.args, limit)
}

// textOf is a list as JSON, for SQL to take apart.
func textOf[T string | uint64](list []T) string {
	text, err := json.Marshal(list)
	if err != nil {
		return "[]" // no list of texts or numbers fails
	}
	return string(text)
}
