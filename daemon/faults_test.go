package daemon

import (
	"context"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/sensors"
)

func TestTheSameFaultAgainIsCounted(t *testing.T) {
	kept := newFaults()
	log := kept.watch(zap.NewNop())
	log.Info("all is well")
	for range 3 {
		log.Warn("a line is gone", zap.Error(os.ErrNotExist))
	}
	log.With(zap.Error(os.ErrClosed)).Error("a page failed")
	list := kept.newest()
	require.Len(t, list, 2)
	require.Equal(t, "a page failed", list[0].Text)
	require.Equal(t, os.ErrClosed.Error(), list[0].Why)
	require.True(t, list[0].Grave)
	require.Equal(t, 3, list[1].Count)
	for i := range 2 * mostFaults {
		log.Warn("another", zap.Error(&os.PathError{Op: "open", Path: string(rune('a' + i)), Err: os.ErrExist}))
	}
	require.Len(t, kept.newest(), mostFaults)
}

func TestTheLastErrorsAreThereAfterTheProgramHasEnded(t *testing.T) {
	dir := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		kept := newFaults()
		ctx, stop := context.WithCancel(t.Context())
		ended := make(chan struct{})
		go func() { kept.run(ctx, sensors.NewSystemClock(1), dir); close(ended) }()
		log := kept.watch(zap.NewNop())
		log.Error("history is not being kept", zap.Error(os.ErrPermission))
		synctest.Wait()
		list, err := readFaults(dir)
		require.NoError(t, err)
		require.Len(t, list, 1, "the first is written at once")
		log.Warn("no backup was made")
		synctest.Wait()
		list, err = readFaults(dir)
		require.NoError(t, err)
		require.Len(t, list, 1, "the disk is left alone for a moment")
		time.Sleep(faultsEvery)
		synctest.Wait()
		list, err = readFaults(dir)
		require.NoError(t, err)
		require.Len(t, list, 2)
		log.Warn("an old backup can't be removed")
		stop()
		<-ended
	})
	next := newFaults()
	require.NoError(t, next.recall(dir))
	list := next.newest()
	require.Len(t, list, 3, "the end writes what was left")
	require.Equal(t, "an old backup can't be removed", list[0].Text)
	require.Equal(t, adviseHistory, list[2].Do)

	info, err := os.Stat(filepath.Join(dir, faultsFile))
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	require.NoError(t, os.WriteFile(filepath.Join(dir, faultsFile), []byte("{"), 0o600))
	require.ErrorContains(t, newFaults().recall(dir), faultsFile)
}

func TestASelfcheckTellsTheLastErrorsAndWhatToDoUntilTheyAreOld(t *testing.T) {
	dir, now := t.TempDir(), time.Now()
	require.Equal(t, SelfCheck{What: "last errors", Good: true, Detail: "none"}, checkFaults(dir, now))
	kept := newFaults()
	log := kept.watch(zap.NewNop())
	log.Error("history is not being kept", zap.Error(os.ErrPermission))
	log.Warn("no backup was made")
	require.NoError(t, kept.write(dir))
	c := checkFaults(dir, now)
	require.False(t, c.Good)
	require.Contains(t, c.Detail, "history is not being kept: permission denied")
	require.Contains(t, c.Detail, "no backup was made\n")
	require.Contains(t, c.Do, adviseHistory)
	require.Contains(t, c.Do, "disk of the backups")
	old := checkFaults(dir, now.Add(25*time.Hour))
	require.True(t, old.Good)
	require.Empty(t, old.Do)
	require.Contains(t, old.Detail, "history is not being kept")
	require.NoError(t, os.WriteFile(filepath.Join(dir, faultsFile), []byte("{"), 0o600))
	require.Contains(t, checkFaults(dir, now).Do, "makes it again")
}

// logged finds every warning and error that the program can log.
func logged(t *testing.T) map[string]bool {
	found := map[string]bool{}
	for _, room := range []string{".", "../dashboard"} {
		require.NoError(t, filepath.WalkDir(room, func(path string, _ fs.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") || strings.HasSuffix(path, "wetside/demo.go") {
				return err
			}
			if strings.HasPrefix(path, "centre"+string(filepath.Separator)) || strings.HasPrefix(path, "sites"+string(filepath.Separator)) {
				return nil // a centre has a log of its own and no keeper's page
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			ast.Inspect(file, func(n ast.Node) bool {
				if text, ok := faultText(n); ok {
					found[text] = true
				}
				return true
			})
			return err
		}))
	}
	return found
}

func faultText(n ast.Node) (string, bool) {
	call, ok := n.(*ast.CallExpr)
	if !ok || len(call.Args) == 0 {
		return "", false
	}
	f, isMethod := call.Fun.(*ast.SelectorExpr)
	text, isText := call.Args[0].(*ast.BasicLit)
	if !isMethod || !isText || f.Sel.Name != "Warn" && f.Sel.Name != "Error" {
		return "", false
	}
	said, err := strconv.Unquote(text.Value)
	return said, err == nil
}

func TestEveryWarningAndErrorHasAdviceOfItsOwnAndNoAdviceIsLeftOver(t *testing.T) {
	found, have := logged(t), map[string]bool{}
	for message, advice := range advices(upkeepOn("linux")) {
		require.NotEmpty(t, advice)
		have[message] = true
	}
	require.Equal(t, found, have)
	require.Contains(t, adviceOn("something new"), "whoever looks after")
}

func TestASelfcheckMissesTheDiskOfTheBackups(t *testing.T) {
	dir := t.TempDir()
	require.True(t, checkBackups(dir).Good)
	gone := checkBackups(filepath.Join(dir, "disk"))
	require.False(t, gone.Good)
	require.Contains(t, gone.Do, "mount the disk")
}
