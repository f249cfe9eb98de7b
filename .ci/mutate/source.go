package main

import (
	"encoding/json"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// pack is a package whose code is changed.
type pack struct {
	path, dir string
	set       *token.FileSet
	files     []*source
	imports   types.Importer
	types     *types.Info
	checked   *types.Package
}

type source struct {
	of     *pack
	file   string
	text   []byte
	parsed *ast.File
}

func (s *source) at(p token.Pos) token.Position { return s.of.set.Position(p) }

func (s *source) between(from, to token.Pos) string {
	return string(s.text[s.at(from).Offset:s.at(to).Offset])
}

// packsOf reads some packages, without their tests.
func packsOf(patterns []string) ([]*pack, error) {
	list := append([]string{"list", "-export", "-deps", "-json=ImportPath,Dir,GoFiles,Export,DepOnly"}, patterns...)
	out, err := exec.Command("go", list...).Output()
	if err != nil {
		return nil, fmt.Errorf("listing the packages: %w", err)
	}
	var packs []*pack
	exports := map[string]string{}
	for list := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p struct {
			ImportPath, Dir, Export string
			GoFiles                 []string
			DepOnly                 bool
		}
		if err := list.Decode(&p); err == io.EOF {
			break
		} else if err != nil {
			return nil, fmt.Errorf("reading the list of packages: %w", err)
		}
		exports[p.ImportPath] = p.Export
		if !p.DepOnly {
			packs = append(packs, &pack{path: p.ImportPath, dir: p.Dir})
			for _, f := range p.GoFiles {
				packs[len(packs)-1].files = append(packs[len(packs)-1].files, &source{file: filepath.Join(p.Dir, f)})
			}
		}
	}
	for _, p := range packs {
		if err := p.read(exports); err != nil {
			return nil, err
		}
	}
	return packs, nil
}

func (p *pack) read(exports map[string]string) error {
	p.set = token.NewFileSet()
	p.imports = importer.ForCompiler(p.set, "gc", func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) })
	for _, s := range p.files {
		text, err := os.ReadFile(s.file)
		if err != nil {
			return fmt.Errorf("reading the code: %w", err)
		}
		if s.parsed, err = parser.ParseFile(p.set, s.file, text, parser.SkipObjectResolution); err != nil {
			return fmt.Errorf("reading the code: %w", err)
		}
		s.of, s.text = p, text
	}
	p.types = &types.Info{Types: map[ast.Expr]types.TypeAndValue{}}
	var err error
	if p.checked, err = p.check(nil, "", p.types); err != nil {
		return fmt.Errorf("checking the code: %w", err)
	}
	return nil
}

// check type-checks the package, with another text for one of its files.
func (p *pack) check(changed *source, text string, info *types.Info) (*types.Package, error) {
	files := []*ast.File{}
	for _, s := range p.files {
		if s != changed {
			files = append(files, s.parsed)
			continue
		}
		for _, t := range []string{text, p.chooser()} {
			parsed, err := parser.ParseFile(p.set, "", t, parser.SkipObjectResolution)
			if err != nil {
				return nil, err
			}
			files = append(files, parsed)
		}
	}
	return (&types.Config{Importer: p.imports}).Check(p.path, p.set, files, info)
}

// chooser is a file more of the package: which change is on.
func (p *pack) chooser() string {
	return "package " + p.files[0].parsed.Name.Name + `

import "os"
import "strconv"

var changeChosen, _ = strconv.Atoi(os.Getenv("` + chosenBy + `"))

func changeEither[T any](number int, was, is func() T) T {
	if changeChosen == number {
		return is()
	}
	return was()
}

func changeValue[T any](number int, was, is T) T {
	if changeChosen == number {
		return is
	}
	return was
}
`
}

// with is a file that holds some of its changes, each under its number.
func (s *source) with(changes map[int]place) string {
	var numbers []int
	for n, c := range changes {
		if c.of == s {
			numbers = append(numbers, n)
		}
	}
	slices.SortFunc(numbers, func(a, b int) int { return outerFirst(changes[a], changes[b]) })
	return s.written(s.parsed.FileStart, s.parsed.FileEnd, numbers, changes)
}

// outerFirst orders the changes as they lie in the text. Of two of the same text one is the contrary of a
// condition, and takes it as a whole.
func outerFirst(a, b place) int {
	switch {
	case a.from != b.from:
		return int(a.from - b.from)
	case a.to != b.to:
		return int(b.to - a.to)
	case a.is == contrary:
		return -1
	}
	return 1
}

// written is the text between two positions with the changes that lie in it.
func (s *source) written(from, to token.Pos, numbers []int, changes map[int]place) string {
	var out strings.Builder
	for i := 0; i < len(numbers); {
		c := changes[numbers[i]]
		next := i + 1
		for next < len(numbers) && changes[numbers[next]].from < c.to {
			next++
		}
		if c.from >= from && c.to <= to {
			out.WriteString(s.between(from, c.from))
			inside := numbers[i+1 : next]
			out.WriteString(c.both(numbers[i], func(from, to token.Pos) string { return s.written(from, to, inside, changes) }))
			from = c.to
			i = next
			continue
		}
		i++ // it lies in the other operand
	}
	out.WriteString(s.between(from, to))
	return out.String()
}
