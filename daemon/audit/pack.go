package audit

import (
	"archive/zip"
	"compress/flate"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
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
	err := report.WriteFiles(Files(ctx, book, d), runtime.NumCPU(), func(name string) (io.WriteCloser, error) {
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

// Archive writes files as one archive, with their checksums.
func Archive(out io.Writer, made time.Time, files []report.File) error {
	archive := zip.NewWriter(out)
	archive.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestSpeed) })
	err := report.WriteFiles(files, 1, func(name string) (io.WriteCloser, error) {
		w, err := archive.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: made})
		return entry{w}, err
	})
	return errors.Join(err, archive.Close())
}

// entry is a file of an archive, which the next one ends.
type entry struct{ io.Writer }

// Close does nothing.
func (entry) Close() error { return nil }
