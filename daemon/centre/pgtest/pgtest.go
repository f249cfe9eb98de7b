//go:build linux

// Package pgtest runs a PostgreSQL server for the tests of a package: unprivileged, in a
// temporary folder, reached by a socket in that folder alone.
//
//	func TestMain(m *testing.M) { os.Exit(pgtest.Run(m)) }
//
// gives the package one server, and [Database] gives each test a database of its own.
package pgtest

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// folderVariable passes the folder of the server of a package on to its tests.
const folderVariable = "WETSIDE_TEST_POSTGRES"

const (
	// superuser rules a server.
	superuser = "wetside"
	// owner owns every database of a server, may make more, and nothing else: what is forbidden by the
	// database is forbidden to its owner as well.
	owner = "owner_of_tests"
)

// startWithin is how long a server may take until it answers.
const startWithin = time.Minute

// Run starts a server, runs the tests of a package, and stops the server.
func Run(m *testing.M) int {
	server, err := Start()
	if err == nil {
		err = os.Setenv(folderVariable, server.folder)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	code := m.Run()
	if err := server.Stop(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return code
}

// Database makes a database for a test and gives its address. It goes with the server.
func Database(t testing.TB) string {
	folder := os.Getenv(folderVariable)
	require.NotEmpty(t, folder, "no server runs: have TestMain of this package call pgtest.Run")
	address, err := (&Server{folder: folder}).Create("test_" + strconv.FormatInt(time.Now().UnixNano(), 36))
	require.NoError(t, err)
	return address
}

// Server is a server that runs.
type Server struct {
	folder  string
	command *exec.Cmd
}

// Start makes a server in a temporary folder and waits until it answers.
func Start() (*Server, error) {
	folder, err := os.MkdirTemp("", "wetside-pg-") // short, since the path of a socket is bounded
	if err != nil {
		return nil, err
	}
	s := &Server{folder: folder}
	if err := s.start(); err != nil {
		return nil, errors.Join(err, s.Stop())
	}
	return s, nil
}

func (s *Server) start() error {
	as, err := unprivileged()
	if err != nil {
		return err
	}
	if as != nil {
		if err := os.Chown(s.folder, int(as.Uid), int(as.Gid)); err != nil {
			return err
		}
	}
	initdb, err := program("initdb", "-D", s.data(), "-U", superuser, "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
	if err != nil {
		return err
	}
	initdb.SysProcAttr = &syscall.SysProcAttr{Credential: as}
	if out, err := initdb.CombinedOutput(); err != nil {
		return fmt.Errorf("making the database server: %w: %s", err, out)
	}
	if err := s.Serve(); err != nil {
		return err
	}
	return s.Tell("postgres", "CREATE ROLE "+owner+" LOGIN CREATEDB")
}

// Serve starts the server in its folder, also once more, and waits until it answers.
func (s *Server) Serve() error {
	as, err := unprivileged()
	if err != nil {
		return err
	}
	// Nothing has to outlive the computer, so nothing waits for the disk.
	s.command, err = program("postgres", "-D", s.data(), "-k", s.folder, "-c", "listen_addresses=", "-c", "fsync=off",
		"-c", "shared_buffers=32MB", "-c", "log_destination=stderr")
	if err != nil {
		return err
	}
	// The server ends with the tests, also when they are killed.
	s.command.SysProcAttr = &syscall.SysProcAttr{Credential: as, Pdeathsig: syscall.SIGQUIT}
	log, err := os.OpenFile(s.logFile(), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer log.Close()
	s.command.Stdout, s.command.Stderr = log, log
	if err := s.command.Start(); err != nil {
		return err
	}
	return s.answers()
}

// Kill ends the server and every process of it on the spot, as when its memory ran out, and
// waits until none is left.
func (s *Server) Kill() error {
	if err := s.command.Process.Signal(syscall.SIGSTOP); err != nil { // it starts no further process
		return err
	}
	parts, err := s.parts()
	if err != nil {
		return err
	}
	for _, pid := range parts {
		_ = syscall.Kill(pid, syscall.SIGKILL) // it may have ended
	}
	if err := s.command.Process.Kill(); err != nil {
		return err
	}
	_ = s.command.Wait() // it was killed
	for begun := time.Now(); slices.ContainsFunc(parts, runs); time.Sleep(10 * time.Millisecond) {
		if time.Since(begun) > startWithin {
			return errors.New("a process of the database server does not end")
		}
	}
	return nil
}

// runs says whether a process is there and has not ended.
func runs(pid int) bool {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	_, state, _ := strings.Cut(string(text), ") ")
	return err == nil && !strings.HasPrefix(state, "Z")
}

// parts are the processes that the server has started.
func (s *Server) parts() (pids []int, err error) {
	pid := s.command.Process.Pid
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/task/%d/children", pid, pid))
	for _, part := range strings.Fields(string(text)) {
		pid, err := strconv.Atoi(part)
		if err != nil {
			return nil, err
		}
		pids = append(pids, pid)
	}
	return pids, err
}

// Processor is how much processor time each process of the server that runs now has used.
func (s *Server) Processor() (used map[int]time.Duration, err error) {
	parts, err := s.parts()
	used = map[int]time.Duration{}
	for _, pid := range parts {
		text, err := os.ReadFile(fmt.Sprintf("/proc/%d/schedstat", pid))
		if err != nil {
			continue // it has ended
		}
		var ns int64
		if _, err := fmt.Sscan(string(text), &ns); err != nil {
			return nil, err
		}
		used[pid] = time.Duration(ns)
	}
	return used, err
}

// Dump writes a copy of a database to a file, by pg_dump as its owner. Every table makes its
// owner follow the rules of its rows, which pg_dump has to be told.
func (s *Server) Dump(database, file string) error {
	return s.run("pg_dump", "--enable-row-security", "--format=custom", "--file="+file, "--dbname="+s.Address(database))
}

// Restore makes a database of a copy, by pg_restore as its owner, in the place of one of the same name.
func (s *Server) Restore(file, database string) error {
	if err := s.Tell("postgres", "DROP DATABASE IF EXISTS "+database+" WITH (FORCE)"); err != nil {
		return err
	}
	address, err := s.Create(database)
	if err != nil {
		return err
	}
	return s.run("pg_restore", "--exit-on-error", "--dbname="+address, file)
}

func (s *Server) data() string { return filepath.Join(s.folder, "data") }

func (s *Server) logFile() string { return filepath.Join(s.folder, "log") }

// answers waits until the server answers.
func (s *Server) answers() error {
	var err error
	for begun := time.Now(); time.Since(begun) < startWithin; time.Sleep(50 * time.Millisecond) {
		if err = s.Tell("postgres", "SELECT 1"); err == nil {
			return nil
		}
	}
	log, _ := os.ReadFile(s.logFile()) // what can't be read is not shown
	return fmt.Errorf("the database server does not answer: %w: %s", err, log)
}

// Address is that of a database, for its owner.
func (s *Server) Address(database string) string { return s.addressFor(owner, database) }

func (s *Server) addressFor(role, database string) string {
	return fmt.Sprintf("postgres://%s@/%s?host=%s", role, database, s.folder)
}

// Create makes a database and gives its address.
func (s *Server) Create(database string) (string, error) {
	return s.Address(database), s.Tell("postgres", "CREATE DATABASE "+database+" OWNER "+owner)
}

// Tell has the server carry out a statement in a database, whatever is forbidden to others.
func (s *Server) Tell(database, statement string) error {
	return s.run("psql", "-X", "-q", "-v", "ON_ERROR_STOP=1", "-d", s.addressFor(superuser, database), "-c", statement)
}

// run runs a program of PostgreSQL; its output is part of the error.
func (s *Server) run(name string, args ...string) error {
	command, err := program(name, args...)
	if err != nil {
		return err
	}
	if out, err := command.CombinedOutput(); err != nil {
		return fmt.Errorf("%s: %w: %s", name, err, out)
	}
	return nil
}

// Stop stops the server and removes its folder.
func (s *Server) Stop() error {
	if s.command != nil && s.command.Process != nil {
		_ = s.command.Process.Signal(syscall.SIGINT) // it may have ended
		_ = s.command.Wait()                         // how it ended matters to nobody
	}
	return os.RemoveAll(s.folder)
}

// program is a program of PostgreSQL, of the newest version that is installed.
func program(name string, args ...string) (*exec.Cmd, error) {
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/" + name)
	if err != nil {
		return nil, err
	}
	if onPath, err := exec.LookPath(name); err == nil {
		found = append(found, onPath)
	}
	if len(found) == 0 {
		return nil, fmt.Errorf("this test needs PostgreSQL, and there is no %s: install Debian's package postgresql", name)
	}
	version := func(path string) int {
		n, _ := strconv.Atoi(strings.Split(strings.TrimPrefix(path, "/usr/lib/postgresql/")+"/", "/")[0])
		return n // 0 where the path says no version
	}
	newest := slices.MaxFunc(found, func(a, b string) int { return version(a) - version(b) })
	return exec.Command(newest, args...), nil
}

// unprivileged is the user as whom the server runs, as it refuses to run as root; nil for the
// user of the tests.
func unprivileged() (*syscall.Credential, error) {
	if os.Geteuid() != 0 {
		return nil, nil
	}
	who, err := user.Lookup("postgres")
	if err != nil {
		who, err = user.Lookup("nobody")
	}
	if err != nil {
		return nil, fmt.Errorf("a database server does not run as root: add a user postgres: %w", err)
	}
	uid, err := strconv.ParseUint(who.Uid, 10, 32)
	if err != nil {
		return nil, err
	}
	gid, err := strconv.ParseUint(who.Gid, 10, 32)
	return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}, err
}
