package main

import (
	"cmp"
	"fmt"
	"go/ast"
	"go/token"
	"go/types"
	"path/filepath"
	"strconv"
)

// place is one change of a file.
type place struct {
	of       *source
	from, to token.Pos
	was, is  string
	// both is Go that does what was there, or the change where that of this number is chosen; the
	// text between two positions may hold changes itself.
	both func(number int, text func(from, to token.Pos) string) string
}

// String says where the change is, and what was there.
func (p place) String() string {
	file := filepath.Join(filepath.Base(p.of.of.dir), filepath.Base(p.of.file))
	return fmt.Sprintf("%s:%d: %s became %s", file, p.of.at(p.from).Line, p.was, p.is)
}

// others are what an operator becomes.
var others = map[token.Token]token.Token{
	token.LAND: token.LOR, token.LOR: token.LAND,
	token.LSS: token.LEQ, token.LEQ: token.LSS, token.GTR: token.GEQ, token.GEQ: token.GTR,
	token.EQL: token.NEQ, token.NEQ: token.EQL,
	token.ADD: token.SUB, token.SUB: token.ADD, token.MUL: token.QUO, token.QUO: token.MUL,
}

// contrary is what a condition becomes.
const contrary = "its contrary"

type finder struct {
	*source
	places []place
	// nobodys are the numbers that are returned beside an error or a false: nobody may use them, so
	// another one makes no difference.
	nobodys map[ast.Node]bool
	// steps are those to which a figure is told: its digits are all that shows of one.
	steps map[ast.Node]bool
}

func placesOf(s *source) []place {
	f := &finder{source: s, nobodys: map[ast.Node]bool{}, steps: map[ast.Node]bool{}}
	for _, d := range s.parsed.Decls {
		if function, is := d.(*ast.FuncDecl); is && function.Body != nil {
			ast.Inspect(function.Body, f.look)
		}
	}
	return f.places
}

func (f *finder) look(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.BinaryExpr:
		if other, known := others[n.Op]; known {
			f.operator(n, other)
		}
	case *ast.ReturnStmt:
		f.returns(n)
	case *ast.CallExpr:
		if told, is := n.Fun.(*ast.SelectorExpr); is && told.Sel.Name == "To" && len(n.Args) == 1 {
			f.steps[n.Args[0]] = true
		}
	case *ast.BasicLit:
		if !f.nobodys[n] {
			f.number(n)
		}
	case *ast.IfStmt:
		f.places = append(f.places, place{f.source, n.Cond.Pos(), n.Cond.End(), f.between(n.Cond.Pos(), n.Cond.End()), contrary,
			func(number int, text func(from, to token.Pos) string) string {
				return fmt.Sprintf("(%s) != (changeChosen == %d)", text(n.Cond.Pos(), n.Cond.End()), number)
			}})
	case *ast.BlockStmt:
		f.statements(n.List)
	case *ast.CaseClause:
		f.statements(n.Body)
	}
	return true
}

// returns notes the numbers beside an error or a false.
func (f *finder) returns(n *ast.ReturnStmt) {
	if len(n.Results) < 2 {
		return
	}
	last := n.Results[len(n.Results)-1]
	name, _ := last.(*ast.Ident)
	failed := types.TypeString(f.of.types.TypeOf(last), nil) == "error" || name != nil && name.Name == "false"
	for _, r := range n.Results {
		f.nobodys[r] = failed
	}
}

func (f *finder) operator(n *ast.BinaryExpr, other token.Token) {
	kind := f.kind(n)
	f.places = append(f.places, place{f.source, n.Pos(), n.End(), n.Op.String() + " in " + f.between(n.Pos(), n.End()), other.String(),
		func(number int, text func(from, to token.Pos) string) string {
			x, y := text(n.X.Pos(), n.X.End()), text(n.Y.Pos(), n.Y.End())
			return fmt.Sprintf("changeEither(%d, func() %s { return (%s) %s (%s) }, func() %s { return (%s) %s (%s) })",
				number, kind, x, n.Op, y, kind, x, other, y)
		}})
}

// number changes a number by one, a fraction by half, and a step to which a figure is told by a digit.
func (f *finder) number(n *ast.BasicLit) {
	is := ""
	switch v, err := strconv.ParseFloat(n.Value, 64); {
	case err == nil && f.steps[n]:
		is = strconv.FormatFloat(cmp.Or(v, 1)/10, 'g', -1, 64)
	case n.Kind == token.INT:
		if v, err := strconv.ParseInt(n.Value, 0, 64); err == nil {
			is = strconv.FormatInt(v+1, 10)
		}
	case n.Kind == token.FLOAT && v != 0:
		is = strconv.FormatFloat(v*1.5, 'g', -1, 64)
	}
	if is == "" {
		return
	}
	kind := f.kind(n)
	f.places = append(f.places, place{f.source, n.Pos(), n.End(), n.Value, is, func(number int, _ func(from, to token.Pos) string) string {
		return fmt.Sprintf("changeValue[%s](%d, %s, %s)", kind, number, n.Value, is)
	}})
}

// statements leaves out what changes something.
func (f *finder) statements(list []ast.Stmt) {
	for _, s := range list {
		switch s := s.(type) {
		case *ast.ExprStmt, *ast.IncDecStmt:
		case *ast.AssignStmt:
			if s.Tok == token.DEFINE {
				continue
			}
		default:
			continue
		}
		f.places = append(f.places, place{f.source, s.Pos(), s.End(), f.between(s.Pos(), s.End()), "nothing",
			func(number int, text func(from, to token.Pos) string) string {
				return fmt.Sprintf("if changeChosen != %d { %s }", number, text(s.Pos(), s.End()))
			}})
	}
}

// kind is the type of an expression, as its file writes it.
func (f *finder) kind(e ast.Expr) string {
	return types.TypeString(types.Default(f.of.types.TypeOf(e)), func(p *types.Package) string {
		if p == f.of.checked {
			return ""
		}
		return p.Name()
	})
}
