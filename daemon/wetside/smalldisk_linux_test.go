package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/sensors"
)

// onSmallDisk names the folder over which a copy of the program mounts a disk of
// its own, of two megabytes, before it begins.
const (
	onSmallDisk = "WETSIDE_TEST_SMALL_DISK"
	smallDisk   = "size=2m"
)

// beforeProgram mounts the small disk; nobody outside of this program sees it.
func beforeProgram() error {
	if dir := os.Getenv(onTinyDisk); dir != "" {
		return workOnTinyDisk(dir)
	}
	dir := os.Getenv(onSmallDisk)
	if dir == "" {
		return nil
	}
	return syscall.Mount("none", dir, "tmpfs", 0, smallDisk)
}

// serveOnSmallDisk runs a simulated room whose data folder is a small disk. The
// folder that it gives is the way to that disk from outside.
func serveOnSmallDisk(t *testing.T) (p *program, data string) {
	dir := t.TempDir()
	p = wetside("demo", "--empty", "--class", "--listen", "127.0.0.1:0", "--data", filepath.Join(dir, "disk"), "--speed", "20")
	require.NoError(t, os.Mkdir(filepath.Join(dir, "disk"), 0o750))
	p.Env = append(p.Env, onSmallDisk+"="+filepath.Join(dir, "disk"))
	p.SysProcAttr = ofItsOwn()
	p.serve(t)
	t.Cleanup(func() { _ = p.Process.Kill() })
	return p, filepath.Join("/proc", fmt.Sprint(p.Process.Pid), "root", dir, "disk")
}

// ofItsOwn lets a program mount what nobody else sees.
func ofItsOwn() *syscall.SysProcAttr {
	return &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
		UidMappings: []syscall.SysProcIDMap{{HostID: os.Getuid(), Size: 1}}, GidMappings: []syscall.SysProcIDMap{{HostID: os.Getgid(), Size: 1}}}
}

// fillUp leaves no room on a disk, and gives what makes room again.
func fillUp(t *testing.T, data string) (free func()) {
	name := filepath.Join(data, "somebody's films")
	f, err := os.Create(name)
	require.NoError(t, err)
	for block := make([]byte, 4096); err == nil; {
		_, err = f.Write(block)
	}
	require.ErrorIs(t, err, syscall.ENOSPC)
	require.NoError(t, f.Close())
	return func() { require.NoError(t, os.Remove(name)) }
}

func TestAFullDiskIsSaidOnTheBoardAndEverythingElseGoesOn(t *testing.T) {
	p, data := serveOnSmallDisk(t)
	client := &http.Client{Timeout: 20 * time.Second}
	defer client.CloseIdleConnections()
	get := func(path string) string {
		answer, err := client.Get(p.url + path)
		require.NoError(t, err)
		body, err := io.ReadAll(answer.Body)
		require.NoError(t, errors.Join(err, answer.Body.Close()))
		return string(body)
	}
	var before shown
	live := func() bool { // and newer than when it was last looked at
		s, err := look(client, p.url)
		newer := err == nil && s.live() && s.At.After(before.At)
		before = s
		return newer
	}
	require.Eventually(t, live, 10*time.Second, 10*time.Millisecond)
	require.NoError(t, complain(client, p.url, "before"))

	free := fillUp(t, data)
	told, refusal := []string{"before"}, error(nil)
	for n := 0; refusal == nil && n < 1000; n++ {
		what := fmt.Sprintf("while it fills up, %d", n)
		if refusal = complain(client, p.url, what); refusal == nil {
			told = append(told, what)
		}
	}
	require.ErrorContains(t, refusal, "Nothing was recorded")
	require.ErrorContains(t, refusal, "the disk is full: free some space")
	// The board names one alarm; on a busy computer another one may have come first.
	require.Eventually(t, func() bool {
		return strings.Contains(get("/rooms/practice/board")+get("/rooms/practice/alarms"), "the disk is full")
	}, 40*time.Second, 10*time.Millisecond)
	require.Contains(t, get("/healthz"), "history is not being kept")
	require.Eventually(t, live, time.Second, 10*time.Millisecond, "readings go on")

	free()
	require.Eventually(t, func() bool { return get("/healthz") == "ok\n" }, 10*time.Second, 10*time.Millisecond, "by itself")
	require.NoError(t, complain(client, p.url, "after"))
	requireRecorded(t, p, data, append(told, "after"))
}

// requireRecorded ends a program without mercy and holds that its disk has what people were told.
func requireRecorded(t *testing.T, p *program, data string, told []string) {
	dir := t.TempDir()
	require.NoError(t, p.Process.Signal(syscall.SIGSTOP))
	for _, name := range []string{"wetside.db", "wetside.db-wal"} {
		content, err := os.ReadFile(filepath.Join(data, name))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), content, 0o640))
	}
	require.NoError(t, p.Process.Kill())
	require.Error(t, p.end())
	report, err := history.Verify(t.Context(), dir)
	require.NoError(t, errors.Join(err, report.Err()))
	book, err := history.OpenReader(t.Context(), history.Options{Dir: dir, Clock: sensors.NewSystemClock(1), Zone: time.UTC})
	require.NoError(t, err)
	defer func() { require.NoError(t, book.Close()) }()
	var recorded []string
	for r, err := range book.EachRecord(t.Context(), history.Query{Kinds: []string{"complaint"}}) {
		require.NoError(t, err)
		var c struct{ What string }
		require.NoError(t, json.Unmarshal(r.Content, &c))
		recorded = append(recorded, c.What)
	}
	require.Subset(t, recorded, told)
}
