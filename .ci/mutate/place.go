package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strconv"
)

// place is one change of a file.
type place struct {
	file, was, is string
	line          int
	text          []byte // of the file with the change
}

// String says where the change is, and what was there.
func (p place) String() string {
	return fmt.Sprintf("%s:%d: %s became %s", filepath.Join(filepath.Base(filepath.Dir(p.file)), filepath.Base(p.file)), p.line, p.was, p.is)
}

// others are what an operator becomes.
var others = map[token.Token]token.Token{
	token.LAND: token.LOR, token.LOR: token.LAND,
	token.LSS: token.LEQ, token.LEQ: token.LSS, token.GTR: token.GEQ, token.GEQ: token.GTR,
	token.EQL: token.NEQ, token.NEQ: token.EQL,
	token.ADD: token.SUB, token.SUB: token.ADD, token.MUL: token.QUO, token.QUO: token.MUL,
}

// finder collects the places of a file.
type finder struct {
	file   string
	source []byte
	set    *token.FileSet
	places []place
}

// placesOf are all changes that can be tried in a file.
func placesOf(file string) ([]place, error) {
	source, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	f := &finder{file: file, source: source, set: token.NewFileSet()}
	parsed, err := parser.ParseFile(f.set, file, source, parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	for _, d := range parsed.Decls {
		if function, is := d.(*ast.FuncDecl); is && function.Body != nil {
			ast.Inspect(function.Body, f.look)
		}
	}
	return f.places, nil
}

func (f *finder) look(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.BinaryExpr:
		if other, known := others[n.Op]; known {
			f.add(n.OpPos, n.OpPos+token.Pos(len(n.Op.String())), other.String())
		}
	case *ast.BasicLit:
		f.number(n)
	case *ast.IfStmt:
		f.add(n.Cond.Pos(), n.Cond.End(), "!("+f.between(n.Cond.Pos(), n.Cond.End())+")")
	case *ast.BlockStmt:
		for _, s := range n.List {
			f.statement(s)
		}
	}
	return true
}

// number changes a number by one, and a fraction by half.
func (f *finder) number(n *ast.BasicLit) {
	switch n.Kind {
	case token.INT:
		if v, err := strconv.ParseInt(n.Value, 0, 64); err == nil {
			f.add(n.Pos(), n.End(), strconv.FormatInt(v+1, 10))
		}
	case token.FLOAT:
		if v, err := strconv.ParseFloat(n.Value, 64); err == nil {
			f.add(n.Pos(), n.End(), strconv.FormatFloat(v*1.5, 'g', -1, 64))
		}
	}
}

// statement leaves out what changes something.
func (f *finder) statement(s ast.Stmt) {
	switch s := s.(type) {
	case *ast.ExprStmt, *ast.IncDecStmt:
		f.add(s.Pos(), s.End(), "{}")
	case *ast.AssignStmt:
		if s.Tok != token.DEFINE {
			f.add(s.Pos(), s.End(), "{}")
		}
	}
}

func (f *finder) between(from, to token.Pos) string {
	return string(f.source[f.set.Position(from).Offset:f.set.Position(to).Offset])
}

func (f *finder) add(from, to token.Pos, is string) {
	start, end := f.set.Position(from).Offset, f.set.Position(to).Offset
	text := append(append(append([]byte{}, f.source[:start]...), is...), f.source[end:]...)
	f.places = append(f.places, place{f.file, f.between(from, to), is, f.set.Position(from).Line, text})
}
