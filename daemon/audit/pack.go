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
// memory, and come into the archive as they are done.
func Archive(out io.Writer, made time.Time, files []report.File) error {
	archive := zip.NewWriter(out)
	var one sync.Mutex
	err := report.WriteFiles(files, func(name string) (io.WriteCloser, error) {
		var packed bytes.Buffer
		alone := zip.NewWriter(&packed)
		alone.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestSpeed) })
		w, err := alone.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: made})
		return entry{w, func() error {
			if err := alone.Close(); err != nil {
				return err
			}
			in, err := zip.NewReader(bytes.NewReader(packed.Bytes()), int64(packed.Len()))
			if err != nil {
				return err
			}
			one.Lock()
			defer one.Unlock()
			return archive.Copy(in.File[0])
		}}, err
	})
	return errors.Join(err, archive.Close())
}

// entry is a file of an archive.
type entry struct {
	io.Writer
	close func() error
}

func (e entry) Close() error { return e.close() }
