//go:build cleanroot && linux

package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// cleanRoot is a computer of which nothing is known but that it runs Debian: a fresh
// system in a folder, started by its own systemd in namespaces of its own. These tests
// need root, debootstrap, systemd-nspawn and the network.
type cleanRoot struct {
	*testing.T
	dir    string
	leader int // process 1 of it, as seen from here
	client http.Client
}

func newCleanRoot(t *testing.T) *cleanRoot {
	r := &cleanRoot{T: t, dir: filepath.Join(t.TempDir(), "root")}
	if kept := os.Getenv("WETSIDE_CLEANROOT"); kept != "" { // made before in the same way
		r.here("cp", "--archive", kept, r.dir)
	} else {
		r.here("debootstrap", "--variant=minbase", "--include=systemd,systemd-sysv,udev,dbus,sudo", "bookworm", r.dir)
	}
	r.client = http.Client{Timeout: 5 * time.Second, Transport: &http.Transport{DialContext: r.dial, DisableKeepAlives: true}}
	return r
}

// here runs a program on this computer.
func (r *cleanRoot) here(name string, args ...string) {
	out, err := exec.CommandContext(r.Context(), name, args...).CombinedOutput()
	require.NoError(r, err, "%s", out)
}

// nspawn prepares a program in the clean root that is started by a manager of namespaces.
func (r *cleanRoot) nspawn(ctx context.Context, args ...string) *exec.Cmd {
	c := exec.CommandContext(ctx, "systemd-nspawn", append([]string{"--quiet", "--register=no", "--keep-unit", "--private-network",
		"--directory", r.dir}, args...)...)
	c.Cancel = func() error { return c.Process.Signal(unix.SIGTERM) }
	c.WaitDelay = 20 * time.Second
	return c
}

// boot starts its systemd and gives what shuts it down.
func (r *cleanRoot) boot() (shut func()) {
	ctx, stop := context.WithCancel(context.Background())
	c := r.nspawn(ctx, "--boot")
	var told bytes.Buffer
	c.Stdout, c.Stderr = &told, &told
	require.NoError(r, c.Start())
	shut = func() { stop(); _ = c.Wait() }
	r.Cleanup(shut)
	require.Eventually(r, func() bool {
		r.leader = firstOf(c.Process.Pid)
		return r.leader != 0 && r.try("systemctl", "is-system-running", "--wait").code != -1 && r.try("systemctl", "is-active",
			"multi-user.target").code == 0
	}, time.Minute, time.Second, "%s", &told)
	return shut
}

// firstOf finds process 1 of a namespace among the descendants of a process; 0 when there is none yet.
func firstOf(pid int) int {
	status, _ := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	_, line, _ := strings.Cut(string(status), "NSpid:")
	line, _, _ = strings.Cut(line, "\n")
	if f := strings.Fields(line); len(f) > 1 && f[len(f)-1] == "1" {
		return pid
	}
	children, _ := os.ReadFile(fmt.Sprintf("/proc/%d/task/%d/children", pid, pid))
	for _, c := range strings.Fields(string(children)) {
		if n, err := strconv.Atoi(c); err == nil {
			if found := firstOf(n); found != 0 {
				return found
			}
		}
	}
	return 0
}

// try runs a program in the running clean root, as its root.
func (r *cleanRoot) try(args ...string) said {
	c := exec.CommandContext(r.Context(), "nsenter", append([]string{"--target", strconv.Itoa(r.leader), "--all", "--wdns=/root", "--"},
		args...)...)
	c.Env = []string{"PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin", "LANG=C.UTF-8"}
	out, err := c.CombinedOutput()
	if exit := new(exec.ExitError); err != nil && !errors.As(err, &exit) {
		return said{string(out), err.Error(), -1}
	}
	return said{string(out), "", c.ProcessState.ExitCode()}
}

// run is try for what has to succeed.
func (r *cleanRoot) run(args ...string) string {
	r.Helper()
	got := r.try(args...)
	require.Zero(r, got.code, "%v: %s%s", args, got.out, got.errs)
	return got.out
}

// dial reaches a port of the clean root, whose network is its own.
func (r *cleanRoot) dial(_ context.Context, network, address string) (conn net.Conn, err error) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		runtime.LockOSThread() // and never unlocked: a thread that moved ends with its goroutine
		var space *os.File
		if space, err = os.Open(fmt.Sprintf("/proc/%d/ns/net", r.leader)); err != nil {
			return
		}
		defer space.Close()
		if err = unix.Setns(int(space.Fd()), unix.CLONE_NEWNET); err == nil {
			conn, err = net.Dial(network, address)
		}
	}()
	<-done
	return conn, err
}

// page is what a browser on the clean root shows; empty while nobody answers.
func (r *cleanRoot) page(path string) string {
	answer, err := r.client.Get("http://127.0.0.1:8420" + path)
	if err != nil {
		return ""
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	require.NoError(r, err)
	return string(text)
}

func (r *cleanRoot) shows(path, want string, within time.Duration) {
	r.Helper()
	require.Eventually(r, func() bool { return strings.Contains(r.page(path), want) }, within, 200*time.Millisecond, "%s", r.page(path))
}

func (r *cleanRoot) mainPID() string {
	return strings.TrimSpace(r.run("systemctl", "show", "--property=MainPID", "--value", "wetside"))
}

// restartsAfter waits until the service runs under another number and answers again.
func (r *cleanRoot) restartsAfter(before string, within time.Duration) {
	r.Helper()
	require.Eventually(r, func() bool {
		now := r.try("systemctl", "show", "--property=MainPID", "--value", "wetside").out
		return strings.TrimSpace(now) != before && strings.TrimSpace(r.try("systemctl", "is-active", "wetside").out) == "active"
	}, within, time.Second)
	r.shows("/healthz", "ok", 20*time.Second)
}

func TestANewcomerInstallsOnACleanComputer(t *testing.T) {
	r := newCleanRoot(t)
	build := exec.Command("go", "build", "-o", filepath.Join(r.dir, "root", "wetside"), "wetside/daemon/wetside")
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	out, err := build.CombinedOutput()
	require.NoError(t, err, "%s", out)
	shut := r.boot()
	r.installs()
	r.survives()
	r.leaves()
	r.comesAsAPackage()
	shut()
	r.startsByHand()
}

// installs follows the README to the letter.
func (r *cleanRoot) installs() {
	require.Contains(r, r.run("sudo", "./wetside", "install"), "Installed and started.")
	r.shows("/", "There is no configuration yet", 20*time.Second)
	require.Equal(r, "wetside wetside 770\n", r.run("stat", "--format=%U %G %a", "/etc/wetside"))
	require.Equal(r, "wetside wetside 750\n", r.run("stat", "--format=%U %G %a", "/var/lib/wetside"))
	require.Contains(r, r.run("id", "wetside"), "dialout")
	require.Empty(r, r.run("systemd-analyze", "verify", "/etc/systemd/system/wetside.service"))

	early := r.try("sudo", "-u", "wetside", "wetside", "selfcheck", "--config", "/etc/wetside/site.toml")
	require.Contains(r, early.out, "page of the first start")
	r.run("sudo", "-u", "wetside", "cp", "/etc/wetside/one-room.toml", "/etc/wetside/site.toml")
	r.run("systemctl", "restart", "wetside")
	r.shows("/healthz", "ok", 20*time.Second)
	check := r.try("sudo", "-u", "wetside", "wetside", "selfcheck", "--config", "/etc/wetside/site.toml", "--data", "/var/lib/wetside")
	require.Equal(r, exitFailed, check.code, "no probe is plugged in")
	for _, want := range []string{"ok   configuration", "plug the probe in", "ok   data folder        /var/lib/wetside", "records verified",
		"ok   running program    answers at http://127.0.0.1:8420: ok"} {
		require.Contains(r, check.out, want)
	}
	require.Contains(r, r.try("runuser", "-u", "nobody", "--", "wetside", "selfcheck", "--config", "/etc/wetside/site.toml").out,
		"sudo -u wetside")
}

// survives is killed, hangs, and is upgraded.
func (r *cleanRoot) survives() {
	before := r.mainPID()
	r.run("systemctl", "reload", "wetside")
	require.Equal(r, before, r.mainPID())
	r.run("systemctl", "kill", "--kill-who=main", "--signal=KILL", "wetside")
	r.restartsAfter(before, 20*time.Second)

	before = r.mainPID()
	began := time.Now()
	r.run("systemctl", "kill", "--kill-who=main", "--signal=STOP", "wetside") // nothing of it turns any more
	r.restartsAfter(before, 90*time.Second)
	r.Logf("a program that stood still was started anew after %v", time.Since(began).Round(time.Second))
	require.Contains(r, r.run("journalctl", "-u", "wetside", "--no-pager"), "Watchdog timeout")

	before = r.mainPID()
	r.run("sudo", "./wetside", "install") // an upgrade is the same command
	r.restartsAfter(before, 20*time.Second)
	require.Contains(r, r.run("sudo", "-u", "wetside", "wetside", "verify", "--data", "/var/lib/wetside"), "Every record is verified.")
}

// leaves takes everything away but what belongs to the place.
func (r *cleanRoot) leaves() {
	require.Contains(r, r.run("sudo", "wetside", "uninstall"), "stay")
	require.Empty(r, r.page("/healthz"), "nobody answers")
	for _, gone := range []string{ownPlaces().program, ownPlaces().unit, ownPlaces().rules} {
		require.NoFileExists(r, filepath.Join(r.dir, gone))
	}
	require.FileExists(r, filepath.Join(r.dir, configFolder, "site.toml"))
	require.NotEmpty(r, r.run("ls", dataFolder))
}

func (r *cleanRoot) comesAsAPackage() {
	r.here(filepath.Join("..", "..", ".ci", "package"), filepath.Join(r.dir, "root"))
	require.Contains(r, r.run("dpkg", "--install", "wetside_amd64.deb"), "Installed and started.")
	r.shows("/healthz", "ok", 20*time.Second)
	listed := r.run("dpkg", "--listfiles", "wetside")
	for _, path := range append(packagePlaces().files(), "/usr/share/man/man1/wetside.1.gz", "/usr/share/doc/wetside/copyright",
		"/usr/share/bash-completion/completions/wetside") {
		require.Contains(r, listed, path)
	}
	for _, path := range ownPlaces().files() {
		require.NoFileExists(r, filepath.Join(r.dir, path), "what was installed by hand gives way")
	}
	before := r.mainPID()
	r.run("dpkg", "--install", "wetside_amd64.deb")
	r.restartsAfter(before, 20*time.Second)
	require.Contains(r, r.run("dpkg", "--remove", "wetside"), "stay")
	require.Empty(r, r.page("/healthz"))
	require.NoFileExists(r, filepath.Join(r.dir, packagePlaces().program))
	require.FileExists(r, filepath.Join(r.dir, configFolder, "site.toml"))
}

// startsByHand is a computer that systemd does not run; the kept data are found again.
func (r *cleanRoot) startsByHand() {
	out, err := r.nspawn(r.Context(), "/root/wetside", "install").CombinedOutput()
	require.NoError(r, err, "%s", out)
	command := regexp.MustCompile(`runuser .*--first-run`).FindString(string(out))
	require.NotEmpty(r, command, "%s", out)
	ctx, stop := context.WithCancel(r.Context())
	defer stop()
	c := r.nspawn(ctx, "--as-pid2", "sh", "-c", "exec "+command)
	require.NoError(r, c.Start())
	require.Eventually(r, func() bool { r.leader = firstOf(c.Process.Pid); return r.leader != 0 }, 10*time.Second, 100*time.Millisecond)
	r.shows("/healthz", "ok", 20*time.Second)
	stop()
	_ = c.Wait()
	require.Eventually(r, func() bool { _, err := os.Stat(fmt.Sprintf("/proc/%d", r.leader)); return err != nil }, 20*time.Second,
		100*time.Millisecond)
}
