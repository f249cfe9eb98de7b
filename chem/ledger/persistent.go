package ledger

import (
	"iter"
	"maps"
	"slices"
)

// A book of many years is copied with every entry, and for moments of its past. What only
// grows in it is therefore a persistent list or table: a copy shares what both have, and what
// is added to one of the two later is not in the other. What was copied already may be copied
// and read by several at a time.

// chunk is how many values of a list lie together.
const chunk = 256

// list grows at its end.
type list[T any] struct {
	full [][]T // of chunk values each
	last []T
}

func (l *list[T]) add(v T) {
	if l.last = append(l.last, v); len(l.last) == chunk {
		l.full, l.last = append(l.full, l.last), nil
	}
}

func (l *list[T]) len() int { return len(l.full)*chunk + len(l.last) }

func (l *list[T]) at(i int) T { return l.part(i / chunk)[i%chunk] }

func (l *list[T]) part(n int) []T {
	if n < len(l.full) {
		return l.full[n]
	}
	return l.last
}

// first is a copy of the list as it was when it had n values.
func (l *list[T]) first(n int) list[T] {
	out := list[T]{full: l.full[: n/chunk : n/chunk]}
	if rest := n % chunk; rest > 0 {
		out.last = l.part(n / chunk)[:rest:rest]
	}
	return out
}

func (l *list[T]) copy() list[T] { return l.first(l.len()) }

// from gives the values from the nth on, each with its place.
func (l *list[T]) from(n int) iter.Seq2[int, T] {
	return func(yield func(int, T) bool) {
		for ; n < l.len(); n++ {
			if !yield(n, l.at(n)) {
				return
			}
		}
	}
}

func (l *list[T]) all() iter.Seq2[int, T] { return l.from(0) }

// backward gives the values from the last to the first.
func (l *list[T]) backward() iter.Seq[T] {
	return func(yield func(T) bool) {
		for n := l.len() - 1; n >= 0; n-- {
			if !yield(l.at(n)) {
				return
			}
		}
	}
}

// table holds values by name; a later value of a name takes the place of the one before.
type table[V any] struct {
	// shared are the values up to the last copy, the later ones last. Each map is at least
	// twice as large as the next one, and none is ever changed.
	shared []map[string]V
	own    map[string]V // since then
}

func (t *table[V]) get(name string) (v V, known bool) {
	if v, known = t.own[name]; known {
		return v, true
	}
	for _, m := range slices.Backward(t.shared) {
		if v, known = m[name]; known {
			return v, true
		}
	}
	return v, false
}

func (t *table[V]) set(name string, v V) {
	if t.own == nil {
		t.own = map[string]V{}
	}
	t.own[name] = v
}

func (t *table[V]) copy() table[V] {
	if top := t.own; len(top) > 0 {
		n := len(t.shared)
		for ; n > 0 && len(t.shared[n-1]) < 2*len(top); n-- {
			joined := maps.Clone(t.shared[n-1])
			maps.Copy(joined, top)
			top = joined
		}
		t.shared, t.own = append(t.shared[:n:n], top), nil
	}
	return table[V]{shared: slices.Clip(t.shared)}
}

func (t *table[V]) all() iter.Seq2[string, V] {
	return func(yield func(string, V) bool) {
		var later table[V]
		for _, m := range slices.Backward(append(t.shared[:len(t.shared):len(t.shared)], t.own)) {
			for name, v := range m {
				if _, known := later.get(name); !known && !yield(name, v) {
					return
				}
			}
			later.shared = append([]map[string]V{m}, later.shared...)
		}
	}
}

// names are in order.
func (t *table[V]) names() (all []string) {
	for name := range t.all() {
		all = append(all, name)
	}
	slices.Sort(all)
	return all
}
