package disktest

import (
	"fmt"
	"path/filepath"
	"sync"
	"unsafe"

	"modernc.org/libc"
	sqlite3 "modernc.org/sqlite/lib"
)

// The signatures of SQLite's own file system, from sqlite.org/c3ref/io_methods.html.
type (
	openFunc     = func(tls *libc.TLS, vfs, name, handle uintptr, flags int32, out uintptr) int32
	deleteFunc   = func(tls *libc.TLS, vfs, name uintptr, syncFolder int32) int32
	closeFunc    = func(tls *libc.TLS, handle uintptr) int32
	transferFunc = func(tls *libc.TLS, handle, data uintptr, n int32, at int64) int32
	truncateFunc = func(tls *libc.TLS, handle uintptr, size int64) int32
	syncFunc     = func(tls *libc.TLS, handle uintptr, flags int32) int32
)

// socket is where disks are plugged in: the one file system of this process that
// knows them, and the file system below it.
type socket struct {
	once   sync.Once
	below  openFunc
	unlink deleteFunc
	mu     sync.RWMutex
	disks  map[string]*Disk     // by folder
	handle map[uintptr]onDisk   // open files that are on a disk
	tables map[uintptr]*methods // ours, by the address of those below
	kept   []any                // functions whose addresses SQLite has, kept from the garbage collector
	failed error
}

// methods are the functions of open files: those below and the table in their place.
type methods struct {
	below sqlite3.Tsqlite3_io_methods
	ours  uintptr
}

// onDisk is an open file.
type onDisk struct {
	disk  *Disk
	path  string
	below *sqlite3.Tsqlite3_io_methods
}

// the is the socket of this process: SQLite knows its file systems process-wide.
var the = &socket{disks: map[string]*Disk{}, handle: map[uintptr]onDisk{}, tables: map[uintptr]*methods{}}

func plugIn(d *Disk) error {
	the.once.Do(the.install)
	the.mu.Lock()
	defer the.mu.Unlock()
	the.disks[d.dir] = d
	return the.failed
}

func plugOut(d *Disk) {
	the.mu.Lock()
	defer the.mu.Unlock()
	delete(the.disks, d.dir)
}

// install puts our file system in front of the usual one, as its copy with another
// function for opening.
func (s *socket) install() {
	tls := libc.NewTLS()
	defer tls.Close()
	usual := sqlite3.Xsqlite3_vfs_find(tls, 0)
	size := unsafe.Sizeof(sqlite3.Tsqlite3_vfs{})
	p := libc.Xmalloc(tls, libc.Tsize_t(size))
	name, err := libc.CString("disktest")
	if usual == 0 || p == 0 || err != nil {
		s.failed = fmt.Errorf("no file system to put a disk under: %w", err)
		return
	}
	v := at[sqlite3.Tsqlite3_vfs](p)
	*v = *at[sqlite3.Tsqlite3_vfs](usual)
	s.below, s.unlink = function[openFunc](v.FxOpen), function[deleteFunc](v.FxDelete)
	v.FzName, v.FxOpen, v.FxDelete = name, address(s, openFunc(s.open)), address(s, deleteFunc(s.remove))
	if rc := sqlite3.Xsqlite3_vfs_register(tls, p, 1); rc != sqlite3.SQLITE_OK {
		s.failed = fmt.Errorf("SQLite takes no further file system: code %d", rc)
	}
}

// open opens a file below and, when it is in the folder of a disk, takes its functions over.
func (s *socket) open(tls *libc.TLS, vfs, name, handle uintptr, flags int32, out uintptr) int32 {
	rc := s.below(tls, vfs, name, handle, flags, out)
	if rc != sqlite3.SQLITE_OK || name == 0 {
		return rc
	}
	path := libc.GoString(name)
	s.mu.Lock()
	defer s.mu.Unlock()
	d := s.disks[filepath.Dir(path)]
	if d == nil {
		return rc
	}
	d.open(path)
	m := s.methods(tls, at[sqlite3.Tsqlite3_file](handle).FpMethods)
	s.handle[handle] = onDisk{d, path, &m.below}
	at[sqlite3.Tsqlite3_file](handle).FpMethods = m.ours
	return rc
}

func (s *socket) remove(tls *libc.TLS, vfs, name uintptr, syncFolder int32) int32 {
	path := libc.GoString(name)
	s.mu.RLock()
	d := s.disks[filepath.Dir(path)]
	s.mu.RUnlock()
	if d != nil {
		d.remove(path)
	}
	return s.unlink(tls, vfs, name, syncFolder)
}

// methods makes the table that takes the place of one below, once.
func (s *socket) methods(tls *libc.TLS, below uintptr) *methods {
	if m, ok := s.tables[below]; ok {
		return m
	}
	m := &methods{below: *at[sqlite3.Tsqlite3_io_methods](below)}
	m.ours = libc.Xmalloc(tls, libc.Tsize_t(unsafe.Sizeof(m.below)))
	table := at[sqlite3.Tsqlite3_io_methods](m.ours)
	*table = m.below
	table.FxClose, table.FxSync = address(s, closeFunc(s.close)), address(s, syncFunc(s.sync))
	table.FxRead, table.FxWrite = address(s, transferFunc(s.read)), address(s, transferFunc(s.write))
	table.FxTruncate = address(s, truncateFunc(s.truncate))
	s.tables[below] = m
	return m
}

func (s *socket) file(handle uintptr) onDisk {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return s.handle[handle]
}

func (s *socket) close(tls *libc.TLS, handle uintptr) int32 {
	f := s.file(handle)
	s.mu.Lock()
	delete(s.handle, handle)
	s.mu.Unlock()
	return function[closeFunc](f.below.FxClose)(tls, handle)
}

func (s *socket) read(tls *libc.TLS, handle, data uintptr, n int32, from int64) int32 {
	f := s.file(handle)
	if wrong := f.disk.suffer(Read); wrong.Code != 0 {
		return wrong.code(sqlite3.SQLITE_IOERR_READ)
	}
	return function[transferFunc](f.below.FxRead)(tls, handle, data, n, from)
}

func (s *socket) write(tls *libc.TLS, handle, data uintptr, n int32, to int64) int32 {
	f := s.file(handle)
	wrong := f.disk.suffer(Write)
	if wrong.Torn {
		n /= 2
	} else if wrong.Code != 0 {
		return wrong.code(sqlite3.SQLITE_IOERR_WRITE)
	}
	rc := function[transferFunc](f.below.FxWrite)(tls, handle, data, n, to)
	f.disk.change(f.path, change{to, append(make([]byte, 0, n), unsafe.Slice(at[byte](data), n)...)})
	if wrong.Code != 0 {
		return wrong.code(sqlite3.SQLITE_IOERR_WRITE)
	}
	return rc
}

func (s *socket) truncate(tls *libc.TLS, handle uintptr, size int64) int32 {
	f := s.file(handle)
	if wrong := f.disk.suffer(Truncate); wrong.Code != 0 {
		return wrong.code(sqlite3.SQLITE_IOERR_TRUNCATE)
	}
	f.disk.change(f.path, change{at: size})
	return function[truncateFunc](f.below.FxTruncate)(tls, handle, size)
}

func (s *socket) sync(tls *libc.TLS, handle uintptr, flags int32) int32 {
	f := s.file(handle)
	if wrong := f.disk.suffer(Sync); wrong.Code != 0 {
		f.disk.synced(f.path, false)
		return wrong.code(sqlite3.SQLITE_IOERR_FSYNC)
	}
	rc := function[syncFunc](f.below.FxSync)(tls, handle, flags)
	f.disk.synced(f.path, rc == sqlite3.SQLITE_OK)
	return rc
}

// code is what SQLite is told; a general I/O error is told as that of the operation.
func (f Fault) code(ofOperation int32) int32 {
	if f.Code == IOError {
		return ofOperation
	}
	return f.Code
}

// at is what lies at an address that SQLite gave us, outside of Go's memory.
func at[T any](p uintptr) *T { return *(**T)(unsafe.Pointer(&p)) }

// function is the function at an address, as the translated library keeps them.
func function[F any](p uintptr) F {
	holder := struct{ p uintptr }{p}
	return *(*F)(unsafe.Pointer(&holder))
}

// address is where a function lies; the library calls it from there.
func address[F any](s *socket, f F) uintptr {
	s.kept = append(s.kept, f)
	return *(*uintptr)(unsafe.Pointer(&f))
}
