package main

import (
	"os"
	"path/filepath"
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTheLicencesOfEverythingInTheProgramArePrinted(t *testing.T) {
	got := say(t, "version", "--notices")
	require.Equal(t, exitDone, got.code)
	info, ok := debug.ReadBuildInfo()
	require.True(t, ok)
	require.NotEmpty(t, info.Deps)
	tested := map[string]bool{"github.com/stretchr/testify": true, "go.uber.org/goleak": true, "pgregory.net/rapid": true,
		"github.com/davecgh/go-spew": true, "github.com/pmezard/go-difflib": true, "gopkg.in/yaml.v3": true}
	for _, m := range info.Deps {
		if !tested[m.Path] {
			require.Contains(t, got.out, "\n"+m.Path+" "+m.Version+" (", "run: go run ./.ci/notices daemon/wetside/notices.txt")
		}
	}
	for _, other := range []string{"Go, its runtime and library", "the font of the pages"} {
		require.Contains(t, got.out, other)
	}
}

func TestThePageOfTheManualNamesEveryCommandAndWhatItTakes(t *testing.T) {
	got := say(t, "manual")
	require.Equal(t, exitDone, got.code)
	require.Contains(t, got.out, ".TH WETSIDE 1\n")
	for _, line := range []string{".SS wetside selfcheck", ".SS wetside air changes", ".B \\-\\-first\\-run", ".B \\-\\-remove=99%"} {
		require.Contains(t, got.out, line+"\n")
	}
	require.NotContains(t, got.out, "wetside manual", "what is for makers of packages alone is not shown")
}

func TestAShellCompletesACommandAndItsFlags(t *testing.T) {
	complete := func(line string) string {
		t.Setenv("COMP_LINE", line)
		t.Setenv("COMP_POINT", "")
		got := say(t)
		require.Equal(t, exitDone, got.code, got.errs)
		return got.out
	}
	require.Equal(t, "selfcheck\n", complete("wetside sel"))
	require.Contains(t, complete("wetside run --f"), "--first-run\n")
	require.NoError(t, os.Unsetenv("COMP_LINE"))
	got := say(t, "completion", "--code", "bash")
	require.Equal(t, exitDone, got.code)
	program, err := os.Executable()
	require.NoError(t, err)
	require.Contains(t, got.out, "complete -o default -o bashdefault -C "+filepath.Clean(program)+" wetside")
}
