package history

import (
	"fmt"
	"math"
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

// kinds adds that a record is of one of some kinds, if there are any.
func (c *conditions) kinds(kinds []string) {
	if len(kinds) == 0 {
		return
	}
	list := make([]any, len(kinds))
	for i, kind := range kinds {
		list[i] = kind
	}
	c.add("kind IN (?"+strings.Repeat(", ?", len(kinds)-1)+")", list...)
}

// sql finds the numbers of the records by the index that leaves the fewest, and then reads
// the records in their order: the texts are many times as large as all the rest, so they are
// neither sorted nor passed over. A sum says that the index of the numbers is not to be used.
func (q Query) sql() (string, []any) {
	all, found := q.bounds("number"), conditions{}
	switch {
	case q.Numbers != nil:
		all.add("number IN (" + listed(q.Numbers) + ")")
		all.kinds(q.Kinds)
	case !q.From.IsZero() && (q.short() || len(q.Kinds) == 0):
		found = q.bounds("number + 0")
		all.kinds(q.Kinds)
	case !q.From.IsZero():
		// The first and the last record of the time spare the rows of each kind that are older or newer.
		found = q.bounds("number")
		within := q.time()
		for _, end := range []string{">= (SELECT min", "<= (SELECT max"} {
			found.add("number "+end+"(number + 0) FROM record WHERE "+within.String()+")", within.args...)
		}
		found.kinds(q.Kinds)
	case len(q.Kinds) > 0:
		found = Query{AfterNumber: q.AfterNumber, UpTo: q.UpTo}.bounds("number")
		found.kinds(q.Kinds)
	}
	if len(found.where) > 0 {
		all.add("number IN (SELECT number FROM record WHERE "+found.String()+")", found.args...)
	}
	if q.Room != "" {
		all.add("room = ?", q.Room)
	}
	limit := int64(math.MaxInt64)
	if q.Limit > 0 {
		limit = int64(q.Limit)
	}
	return "WHERE " + all.String() + " ORDER BY number LIMIT ?", append(all.args, limit)
}

func (q Query) bounds(number string) (c conditions) {
	c.add(number+" > ?", q.AfterNumber)
	if q.UpTo > 0 {
		c.add(number+" <= ?", q.UpTo)
	}
	time := q.time()
	return conditions{append(c.where, time.where...), append(c.args, time.args...)}
}

// short says whether the time has so few records that to look at each costs less than to look for each kind.
func (q Query) short() bool { return !q.To.IsZero() && q.To.Sub(q.From) <= 24*time.Hour }

// time bounds the time of writing.
func (q Query) time() (c conditions) {
	if !q.From.IsZero() {
		c.add("at_ms >= ?", q.From.UnixMilli())
	}
	if !q.To.IsZero() {
		c.add("at_ms < ?", q.To.UnixMilli())
	}
	return c
}

// listed writes numbers as a list of SQL. They may be more than a statement takes as values.
func listed(numbers []uint64) string {
	list := []byte{'0'} // no record has this number, and a list must not be empty
	for _, n := range numbers {
		list = fmt.Appendf(list, ",%d", n)
	}
	return string(list)
}
