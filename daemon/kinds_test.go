package daemon_test

import (
	"context"
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"iter"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon"
	"wetside/daemon/history"
	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/sensors/clocktest"
)

// TestTheNameOfAKindOfRecordIsWrittenOnce walks the whole program: who needs the name of a
// kind takes it from its declaration, so that no list of kinds can fall behind. A name of
// one word, such as "session", is also plain English: it counts only where it names a kind.
func TestTheNameOfAKindOfRecordIsWrittenOnce(t *testing.T) {
	kinds, err := daemon.Kinds()
	require.NoError(t, err)
	written := map[string][]string{}
	for _, name := range kinds.Names(func(record.Kind) bool { return true }) {
		written[name] = nil
	}
	require.Greater(t, len(written), 60)
	require.NoError(t, filepath.WalkDir("..", func(path string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path, nil, 0)
		if err != nil {
			return err
		}
		for text, at := range namesIn(file) {
			if _, is := written[text]; is {
				written[text] = append(written[text], set.Position(at).String())
			}
		}
		return nil
	}))
	for name, places := range written {
		require.LessOrEqual(t, len(places), 1, "%q is written in %v: take it from its declaration", name, places)
		require.True(t, len(places) == 1 || !strings.Contains(name, " "), "%q", name)
	}
}

// namesIn gives the texts of a file that may name a kind of record: what stands in no
// sentence and, for a single word, what a Kind method returns or is compared with a Kind.
func namesIn(file *ast.File) iter.Seq2[string, token.Pos] {
	return func(yield func(string, token.Pos) bool) {
		prose, named := map[ast.Node]bool{}, map[ast.Node]bool{}
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr:
				if f, is := n.Fun.(*ast.SelectorExpr); is && len(n.Args) > 0 && slices.Contains([]string{"Say", "Measured"}, f.Sel.Name) {
					prose[n.Args[0]] = true
				}
			case *ast.FuncDecl:
				if n.Name.Name == "Kind" && n.Recv != nil {
					markAll(n.Body, named)
				}
			case *ast.KeyValueExpr:
				if key, is := n.Key.(*ast.Ident); is && (key.Name == "Kind" || key.Name == "Kinds") {
					markAll(n.Value, named)
				}
			case *ast.BinaryExpr:
				if s, is := n.X.(*ast.SelectorExpr); is && s.Sel.Name == "Kind" {
					named[n.Y] = true
				}
			case *ast.BasicLit:
				text, err := strconv.Unquote(n.Value)
				if err == nil && n.Kind == token.STRING && !prose[n] && (named[n] || strings.Contains(text, " ")) {
					return yield(text, n.Pos())
				}
			}
			return true
		})
	}
}

func markAll(n ast.Node, named map[ast.Node]bool) {
	ast.Inspect(n, func(n ast.Node) bool {
		named[n] = true
		return true
	})
}

func TestARecordOfAKindThatNobodyDeclaredIsRefused(t *testing.T) {
	kinds, err := daemon.Kinds()
	require.NoError(t, err)
	store, err := history.Open(t.Context(), history.Options{Dir: t.TempDir(),
		Clock: clocktest.New(time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC)), Zone: time.UTC, Kinds: kinds})
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	_, err = store.Record(t.Context(), history.Entry{Kind: "lamp changed", Person: "Ada"})
	require.ErrorIs(t, err, history.ErrBadEntry)
	require.ErrorContains(t, err, `nobody has declared records of the kind "lamp changed"`)
}

// TestEveryKindOfRecordIsForWhoItSays writes a record of every declared kind as a person of
// every role: whoever has no right to it is refused at the book itself, whatever page asked.
func TestEveryKindOfRecordIsForWhoItSays(t *testing.T) {
	kinds, err := daemon.Kinds()
	require.NoError(t, err)
	store, err := history.Open(t.Context(), history.Options{Dir: t.TempDir(),
		Clock: clocktest.New(time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC)), Zone: time.UTC, Kinds: kinds})
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	for _, role := range append(access.Roles(), access.Reader) {
		ctx := access.With(t.Context(), access.Person{Name: "Ada", Role: role})
		for _, kind := range kinds.Names(func(record.Kind) bool { return true }) {
			_, err := store.Record(ctx, history.Entry{Kind: kind, Person: "Ada", Content: json.RawMessage(`{}`)})
			require.Equal(t, role.Covers(kinds.Least(kind)), err == nil, "%q by a %s: %v", kind, role, err)
		}
	}
}

func TestAnActIsRefusedBeforeItIsReadWhereTheRoleDoesNotCoverIt(t *testing.T) {
	d, err := daemon.New(t.Context(), options(t))
	require.NoError(t, err)
	defer func() {
		ended, end := context.WithCancel(context.Background())
		end()
		require.NoError(t, d.Run(ended))
	}()
	ctx := access.With(context.Background(), access.Person{Name: "Ada", Role: access.Volunteer})
	_, err = d.Do(ctx, rules.Command{Room: "darkroom", Person: "Ada", Act: rules.LimitGas{}})
	require.ErrorContains(t, err, "this is for the role manager")
	reader := access.With(context.Background(), access.Person{Name: "Ada", Role: access.Reader})
	_, err = d.Enter(reader, daemon.ShelfEntry{Person: "Ada", Act: ledger.SessionOpened{Session: "s", Title: "s", Lead: "Ada"}})
	require.ErrorContains(t, err, "this is for the role volunteer")
}
