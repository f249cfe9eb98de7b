package audit

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"sync"
	"time"

	"wetside/daemon/history"
	"wetside/daemon/history/disk"
	"wetside/dashboard/report"
	"wetside/sensors/quantity/phrase"
)

// Files are the files of a pack, with every record of the time as the last table.
func Files(ctx context.Context, book *history.Reader, d report.Data) []report.File {
	return append(report.Files(d), report.File{Name: "records.csv", Write: func(w io.Writer) error {
		return book.ExportRecordTable(ctx, w, history.RecordExport{Query: history.Query{From: d.From, To: d.To}})
	}})
}

// WriteFolder writes a pack into a folder that is not there yet or is empty. A pack
// that could not be written as a whole is removed.
func WriteFolder(ctx context.Context, book *history.Reader, d report.Data, dir string) error {
	dir = filepath.Clean(dir)
	if entries, err := os.ReadDir(dir); err == nil && len(entries) > 0 {
		return phrase.Errorf("the folder %s is not empty: choose another for the report", dir)
	}
	half := dir + ".part"
	if err := errors.Join(os.RemoveAll(half), os.MkdirAll(half, 0o750)); err != nil {
		return phrase.Errorf("the folder of the report can't be made: %w", err)
	}
	err := report.WriteFiles(Files(ctx, book, d), func(name string) (io.WriteCloser, error) {
		return os.OpenFile(filepath.Join(half, name), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o640)
	})
	if err == nil {
		err = inPlace(half, dir)
	}
	if err != nil {
		return errors.Join(phrase.Errorf("the report could not be written; the unfinished file was removed: %w", disk.Told(err)),
			os.RemoveAll(half))
	}
	return nil
}

// inPlace gives a finished folder its name, in the place of an empty one if there is one.
func inPlace(from, to string) error {
	if err := os.Remove(to); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return disk.InPlace(from, to)
}

// WriteZip writes a pack as one archive.
func WriteZip(ctx context.Context, book *history.Reader, d report.Data, out io.Writer) error {
	return Archive(out, d.Made, Files(ctx, book, d))
}

// Archive writes files as one archive, with their checksums. Several are packed at a time, each into
// memory, and written when those before it are.
func Archive(out io.Writer, made time.Time, files []report.File) error {
	a := &archive{out: zip.NewWriter(out), made: made, packed: map[string]*bytes.Buffer{}}
	for _, f := range files {
		a.left = append(a.left, f.Name)
	}
	a.left = append(a.left, report.SumsName)
	return errors.Join(report.WriteFiles(files, a.create), a.out.Close())
}

type archive struct {
	made time.Time

	mu     sync.Mutex
	out    *zip.Writer
	left   []string // names of the files that are not written yet, in their order
	packed map[string]*bytes.Buffer
}

// create gives the file an archive of its own, whose content goes into the one of all.
func (a *archive) create(name string) (io.WriteCloser, error) {
	var own bytes.Buffer
	alone := zip.NewWriter(&own)
	alone.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestSpeed) })
	w, err := alone.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: a.made})
	return entry{w, func() error {
		if err := alone.Close(); err != nil {
			return err
		}
		a.mu.Lock()
		defer a.mu.Unlock()
		a.packed[name] = &own
		return a.write()
	}}, err
}

// write writes the files whose turn it is.
func (a *archive) write() error {
	for len(a.left) > 0 && a.packed[a.left[0]] != nil {
		own := a.packed[a.left[0]].Bytes()
		in, err := zip.NewReader(bytes.NewReader(own), int64(len(own)))
		if err == nil {
			err = a.out.Copy(in.File[0])
		}
		if err != nil {
			return err
		}
		delete(a.packed, a.left[0])
		a.left = a.left[1:]
	}
	return nil
}

// entry is a file of an archive.
type entry struct {
	io.Writer
	close func() error
}

func (e entry) Close() error { return e.close() }
