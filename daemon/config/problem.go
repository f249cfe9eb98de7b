package config

import (
	"fmt"
	"slices"
	"strings"
)

// Problem is one thing that is wrong in a configuration, where it is, and what would be right.
type Problem struct {
	File         string
	Line, Column int    // counted from 1; 0 when the whole file is meant
	Key          string // such as "room.line.baud", empty for the whole file
	Text         string // what is wrong and what is allowed, one sentence without a full stop
}

// String is the problem as "file:line:column: key: text".
func (p Problem) String() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", p.Line, p.Column)
	}
	if p.Key != "" {
		b.WriteString(": " + p.Key)
	}
	return b.String() + ": " + p.Text
}

// Problems is everything that is wrong in one file, in the order of its lines.
type Problems []Problem

// Error lists the problems, one a line.
func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, problem := range p {
		lines[i] = problem.String()
	}
	return strings.Join(lines, "\n")
}

// sorted puts the problems in the order of the file's lines.
func (p Problems) sorted() Problems {
	slices.SortStableFunc(p, func(a, b Problem) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
	return p
}
