package config

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// document is a parsed file that remembers where each key stands, so that a
// value that is well written but wrong can be pointed at like a slip of the pen.
type document struct {
	file     string
	values   map[string]any
	places   map[string]place // by full path, such as "room[0].line[1].baud"
	problems Problems
	opened   []section
	astray   Problems // headings that nothing knows: what stands below them is read as another table's
}

type place struct{ line, column int }

// parse reads TOML. A file that is not TOML is one problem, at the place where it stops being so.
func parse(file string, data []byte) (*document, error) {
	d := &document{file: file, places: map[string]place{}}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")) // as some editors begin a file
	if bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")) {
		return nil, Problems{{File: file, Text: "the file is saved as UTF-16: save it as UTF-8"}}
	}
	if err := toml.Unmarshal(data, &d.values); err != nil {
		p := Problem{File: file, Text: err.Error()}
		if slip, ok := errors.AsType[*toml.DecodeError](err); ok {
			p.Line, p.Column = slip.Position()
			p.Text = strings.TrimPrefix(slip.Error(), "toml: ")
			p.Text += mend(p.Text)
			if above, found := d.astrayAbove(data, p.Line); found {
				p = above
			}
		}
		return nil, Problems{p}
	}
	d.locate(data)
	return d, nil
}

// mend says what is behind a complaint of the language that names signs and tables alone.
func mend(complaint string) string {
	switch about := func(sign string) bool { return strings.Contains(complaint, sign) }; {
	case about("escape"):
		return `: a path with backslashes stands between single quotes, such as 'C:\wetside\data'`
	case about("expected newline"), about("start of value"):
		return ": text, and a number with its unit, stands between straight quotation marks, such as \"30 m3\""
	case about("already exists as a table"):
		return ": a heading above it is misspelt, or has one bracket where this one has two"
	case about("already exists as an array"):
		return ": a list of tables has two brackets in every heading"
	}
	return ""
}

// astrayAbove is the heading before the first one that belongs below the heading of a line: a table whose own heading
// comes after those of its parts had another one, which was misspelt.
func (d *document) astrayAbove(data []byte, line int) (Problem, bool) {
	p := unstable.Parser{}
	p.Reset(data)
	type heading struct {
		path string
		place
	}
	var all []heading
	for p.NextExpression() {
		e := p.Expression()
		if e.Kind != unstable.Table && e.Kind != unstable.ArrayTable {
			continue
		}
		path := withoutIndexes(d.mark(&p, nil, e, ""))
		at := d.places[path]
		if all = append(all, heading{path, at}); at.line < line {
			continue
		}
		part := slices.IndexFunc(all, func(h heading) bool { return strings.HasPrefix(h.path, path+".") })
		if part < 1 || e.Kind == unstable.Table {
			break
		}
		above := all[part-1]
		return Problem{File: d.file, Line: above.line, Column: above.column, Key: above.path,
			Text: fmt.Sprintf("expected [[%s]] here, as [[%s]] follows", path, all[part].path)}, true
	}
	return Problem{}, false
}

// locate walks the file once more for the places of its keys.
func (d *document) locate(data []byte) {
	p := unstable.Parser{}
	p.Reset(data)
	tables := map[string]int{}
	prefix := ""
	for p.NextExpression() {
		switch e := p.Expression(); e.Kind {
		case unstable.Table:
			prefix = d.mark(&p, tables, e, "")
		case unstable.ArrayTable:
			prefix = d.mark(&p, tables, e, "")
			tables[prefix]++
			d.places[fmt.Sprintf("%s[%d]", prefix, tables[prefix]-1)] = d.places[prefix]
			prefix = fmt.Sprintf("%s[%d]", prefix, tables[prefix]-1)
		case unstable.KeyValue:
			d.keyValue(&p, tables, e, prefix)
		}
	}
}

// keyValue marks a key, and those of an inline table below it.
func (d *document) keyValue(p *unstable.Parser, tables map[string]int, e *unstable.Node, prefix string) {
	path := d.mark(p, tables, e, prefix)
	if v := e.Value(); v.Kind == unstable.InlineTable {
		for it := v.Children(); it.Next(); {
			d.keyValue(p, tables, it.Node(), path)
		}
	}
}

// mark notes the place of the last part of a key and gives its full path. A part
// that names a list of tables means its newest member.
func (d *document) mark(p *unstable.Parser, tables map[string]int, e *unstable.Node, prefix string) string {
	path := prefix
	for it := e.Key(); it.Next(); {
		if n := tables[path]; n > 0 && !strings.HasSuffix(path, "]") {
			path = fmt.Sprintf("%s[%d]", path, n-1)
		}
		path = join(path, string(it.Node().Data))
		at := p.Shape(it.Node().Raw).Start
		d.places[path] = place{at.Line, at.Column}
	}
	return path
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// complain notes a problem at a path, or at the nearest table above it that has a place.
func (d *document) complain(path, format string, args ...any) {
	at, known := d.places[path]
	for above := path; !known && above != ""; {
		above = above[:max(strings.LastIndexByte(above, '.'), 0)]
		at, known = d.places[above]
	}
	d.problems = append(d.problems, Problem{File: d.file, Line: at.line, Column: at.column,
		Key: withoutIndexes(path), Text: fmt.Sprintf(format, args...)})
}

// found is everything that is wrong once all is read, or the headings that nothing knows alone: the rest may follow from
// them. It is nil where nothing is wrong.
func (d *document) found() error {
	for _, s := range d.opened {
		s.close()
	}
	switch {
	case len(d.astray) > 0:
		return d.astray.sorted()
	case len(d.problems) > 0:
		return d.problems.sorted()
	}
	return nil
}

func withoutIndexes(path string) string {
	var b strings.Builder
	inside := false
	for _, r := range path {
		switch {
		case r == '[':
			inside = true
		case r == ']':
			inside = false
		case !inside:
			b.WriteRune(r)
		}
	}
	return b.String()
}

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
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	return p
}
