package words_test

import (
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write told.txt anew from the sources")

// sources parses the programs of some rooms.
func sources(t *testing.T, rooms []string, each func(path string, file *ast.File, place func(ast.Node) string)) {
	t.Helper()
	for _, room := range rooms {
		require.NoError(t, filepath.WalkDir(filepath.Join("..", "..", room), func(path string, _ fs.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			set := token.NewFileSet()
			file, err := parser.ParseFile(set, path, nil, 0)
			each(strings.TrimPrefix(filepath.ToSlash(path), "../../"), file, func(n ast.Node) string { return set.Position(n.Pos()).String() })
			return err
		}))
	}
}

// saying gives the form of a call that makes a sentence.
func saying(n ast.Node) (form ast.Expr, is bool) {
	call, is := n.(*ast.CallExpr)
	if !is {
		return nil, false
	}
	selected, is := call.Fun.(*ast.SelectorExpr)
	if !is || len(call.Args) == 0 {
		return nil, false
	}
	if handed, is := call.Args[0].(*ast.Ident); is && handed.Name == "form" {
		return nil, false // it is said where it was handed over
	}
	room, is := selected.X.(*ast.Ident)
	if !is || !(room.Name == "phrase" && slices.Contains([]string{"Say", "Measured", "Errorf"}, selected.Sel.Name) ||
		selected.Sel.Name == "say" && slices.Contains([]string{"d", "g"}, room.Name)) { // of a report
		return nil, false
	}
	return call.Args[0], true
}

func literal(e ast.Expr) (string, bool) {
	l, is := e.(*ast.BasicLit)
	if !is || l.Kind != token.STRING {
		return "", false
	}
	text, err := strconv.Unquote(l.Value)
	return text, err == nil
}

// A sentence that is not in the list could not be told in another language, and nobody
// would read it beside the others.
func TestToldHoldsEverySentenceByItsEnglishForm(t *testing.T) {
	listed, err := os.ReadFile("told.txt")
	require.NoError(t, err)
	var list strings.Builder
	list.WriteString("# Every sentence that is made in the chemistry, the rules and beside them, by its English form and by its file.\n" +
		"# Another language writes \"= text\" below each. Made by: go test ./dashboard/words -run Told -update\n")
	known := map[string]bool{}
	sources(t, []string{"chem", "rules", "sensors", "daemon", "dashboard"}, func(path string, file *ast.File, place func(ast.Node) string) {
		head := "\n# " + path + "\n"
		ast.Inspect(file, func(n ast.Node) bool {
			form, is := saying(n)
			if !is {
				return true
			}
			text, is := literal(form)
			require.True(t, is, "%s: the form of a sentence is written where it is said", place(n))
			text = strings.ReplaceAll(text, "%w", "%v")
			if strings.Trim(text, "%sdv ,.:;()–-") != "" && !known[text] {
				known[text] = true
				fmt.Fprintf(&list, "%s> %s\n", head, strings.ReplaceAll(text, "\n", `\n`))
				head = ""
			}
			return true
		})
	})
	require.Greater(t, len(known), 300)
	if *update {
		require.NoError(t, os.WriteFile("told.txt", []byte(list.String()), 0o644))
		return
	}
	require.Equal(t, list.String(), string(listed), "write it anew: go test ./dashboard/words -run Told -update")
}

// recorded is what record book, JSON and files keep as text, and the values that a person
// chooses from, whose words are said by ledger.Seen.
func recorded() []string {
	return []string{
		"nobody has stated them: a forum post for the coating, memory for the rest (unverified)", "as on the label", "use as it is", "discard and start again",
		"no darker than the comparison", "darker than the comparison", "as black as the first strip", "weaker than the first strip",
		"alarm out of service", "alarm put back", "air change test", ", times %.2f for a shift of %s (Brief and Scala)",
		"alarms are armed while a tray is filled or a session is open", "air moved for %.0f min", "account %s %t", "at or above",
	}
}

// worded is a text of three words or more, which is for a person.
var worded = regexp.MustCompile(`[a-z]{2,}[ ,]+[a-z0-9%]+[ ,]+[a-z%]{2,}`)

// values gives the texts in a piece of source that are kept or compared: each has its words
// elsewhere, as [ledger.Said] has for those of the book.
func values(n ast.Node) (out []ast.Node) {
	switch n := n.(type) {
	case *ast.ValueSpec:
		for _, v := range n.Values {
			out = append(out, v)
		}
	case *ast.CaseClause:
		for _, v := range n.List {
			out = append(out, v)
		}
	case *ast.KeyValueExpr:
		out = append(out, n.Key)
	case *ast.CallExpr: // a sort of problem, for errors.Is, and what goes into the log
		if to, is := n.Fun.(*ast.SelectorExpr); is && slices.Contains([]string{"New", "Info", "Warn", "Error"}, to.Sel.Name) && len(n.Args) > 0 {
			out = append(out, n.Args[0])
		}
	}
	return out
}

func TestNoSentenceOfTheseRoomsIsSaidPastTheList(t *testing.T) {
	sources(t, []string{"chem", "rules", "daemon/people", "daemon/discover", "daemon/firstrun.go", "daemon/audit", "dashboard/report", "sensors/serialport"}, func(path string, file *ast.File, place func(ast.Node) string) {
		said := map[ast.Node]bool{}
		ast.Inspect(file, func(n ast.Node) bool {
			if form, is := saying(n); is {
				said[form] = true
			}
			for _, value := range values(n) {
				said[value] = true
			}
			if text, is := n.(*ast.BasicLit); is && text.Kind == token.STRING && !said[n] && !slices.Contains(recorded(), strings.Trim(text.Value, "\"`")) {
				require.NotRegexp(t, worded, text.Value, "%s: say it by phrase.Say, Measured or Errorf", place(n))
			}
			return true
		})
	})
}
