package agreement_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/stretchr/testify/require"
)

// answers are what a reader says to a question, by what it is about: a bath, an alarm, a session.
type answers[T any] map[string]T

// reader is one place that answers a question.
type reader[T any] struct {
	name string
	read func(e *evening) answers[T]
	// partial is set where the place shows some of what the question is about and leaves the rest out.
	partial bool
}

// question is asked of every place that answers it. The first reader is held against each other one.
type question[T any] struct {
	asks    string
	readers []reader[T]
	same    func(a, b T) bool
}

// asking is a question of any type.
type asking interface {
	ask(e *evening) []disagreement
}

// disagreement is one question to which two readers give two answers.
type disagreement struct {
	question, about string
	one, other      string // readers
	says, butSays   string
}

func (d disagreement) String() string {
	return fmt.Sprintf("%s, %s: %s says %s, but %s says %s", d.question, d.about, d.one, d.says, d.other, d.butSays)
}

func (q question[T]) ask(e *evening) (list []disagreement) {
	first := q.readers[0]
	wanted := first.read(e)
	for _, other := range q.readers[1:] {
		got := other.read(e)
		for _, about := range slices.Sorted(maps.Keys(union(wanted, got))) {
			e.asked++
			a, has := wanted[about]
			b, says := got[about]
			switch {
			case has && says && q.same(a, b), !says && other.partial, !has && first.partial:
				continue
			}
			list = append(list, disagreement{q.asks, about, first.name, other.name, spelled(a, has), spelled(b, says)})
		}
	}
	return list
}

func union[T any](a, b answers[T]) map[string]bool {
	all := map[string]bool{}
	for k := range a {
		all[k] = true
	}
	for k := range b {
		all[k] = true
	}
	return all
}

func spelled[T any](v T, says bool) string {
	if !says {
		return "nothing"
	}
	return fmt.Sprint(v)
}

// compare asks questions of every reader and gives what they disagree on.
func (e *evening) compare(questions ...asking) (list []string) {
	at := e.clock.Now().Wall.Format("15:04:05 ")
	for _, q := range questions {
		for _, d := range q.ask(e) {
			list = append(list, at+d.String())
		}
	}
	return list
}

// agree asks questions of every reader and fails where two of them disagree.
func (e *evening) agree(questions ...asking) {
	list := e.compare(questions...)
	require.Empty(e, list, strings.Join(list, "\n"))
}

// equal compares answers that are exact.
func equal[T comparable](a, b T) bool { return a == b }
