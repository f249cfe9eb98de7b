package main

import (
	"errors"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// onTinyDisk names the folder over which a copy of the program mounts a disk with room
// for four pages. It then does its work in a further copy, and says what is left there.
const onTinyDisk = "WETSIDE_TEST_TINY_DISK"

// workOnTinyDisk ends the program with the answer of the copy that works.
func workOnTinyDisk(dir string) error {
	if err := syscall.Mount("none", dir, "tmpfs", 0, "size=16k"); err != nil {
		return err
	}
	work := exec.Command(os.Args[0], os.Args[1:]...)
	work.Env, work.Stderr = append(os.Environ(), onTinyDisk+"="), os.Stderr
	err := work.Run()
	left, errLeft := filepath.Glob(filepath.Join(dir, "*"))
	if errLeft != nil || work.ProcessState == nil {
		return errors.Join(err, errLeft)
	}
	fmt.Println("left:", left)
	os.Exit(work.ProcessState.ExitCode())
	return nil
}

// succeed runs the program, which must not fail.
func succeed(t *testing.T, args ...string) {
	c := wetside(args...)
	require.NoError(t, c.Run(), c.errs)
}

func TestADiskThatFillsWhileSomethingIsWrittenOutLeavesNoHalfFile(t *testing.T) {
	home, disk := t.TempDir(), t.TempDir()
	running, data, copied := filepath.Join(home, "running"), filepath.Join(home, "data"), filepath.Join(home, "copy.db")
	p := wetside("demo", "--empty", "--class", "--listen", "127.0.0.1:0", "--data", running, "--speed", "600")
	p.serve(t)
	for n := range 60 {
		require.NoError(t, complain(http.DefaultClient, p.url, fmt.Sprintf("invented, number %d", n)))
	}
	succeed(t, "backup", "--data", running, "--to", copied)
	require.NoError(t, p.Process.Signal(syscall.SIGTERM))
	require.NoError(t, p.end())
	succeed(t, "restore", "--from", copied, "--data", data)

	out := func(name string) string { return filepath.Join(disk, name) }
	for name, args := range map[string][]string{
		"report":  {"report", "--data", data, "--from", "2000-01-01", "--to", "2090-01-01", "--out", out("pack")},
		"samples": {"export", "--data", data, "--samples", out("samples.csv")},
		"lines":   {"export", "--data", data, "--samples", out("samples.jsonl"), "--format", "jsonl"},
		"records": {"export", "--data", data, "--records", out("records.csv")},
		"book":    {"export", "--data", data, "--book", out("book.txt")},
		"backup":  {"backup", "--data", data, "--to", out("backup.db")},
		"restore": {"restore", "--from", copied, "--data", out("again")},
	} {
		t.Run(name, func(t *testing.T) {
			c, told := wetside(args...), strings.Builder{}
			c.Env, c.Stdout = append(c.Env, onTinyDisk+"="+disk), &told
			c.SysProcAttr = ofItsOwn()
			require.Error(t, c.Run())
			require.Equal(t, exitFailed, c.ProcessState.ExitCode(), c.errs)
			require.Contains(t, c.errs.String(), "the disk is full: free some space")
			require.NotContains(t, c.errs.String(), "goroutine")
			require.Equal(t, "left: []\n", told.String())
		})
	}
}

func TestAStartOnAFullDiskDoesNotSayThatTheHistoryIsDamaged(t *testing.T) {
	disk := t.TempDir()
	c := wetside("demo", "--empty", "--listen", "127.0.0.1:0", "--data", filepath.Join(disk, "data"))
	c.Env, c.SysProcAttr = append(c.Env, onTinyDisk+"="+disk), ofItsOwn()
	require.Error(t, c.Run())
	require.Contains(t, c.errs.String(), "the disk is full: free some space")
	require.NotContains(t, c.errs.String(), "damaged")
}
