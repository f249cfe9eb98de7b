package report

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"wetside/sensors/quantity/phrase"
)

// File is one file of a pack.
type File struct {
	Name  string
	Write func(io.Writer) error
}

// Names of the files of a pack beside its tables.
const (
	PDFName  = "report.pdf"
	pageName = "report.html"
	SumsName = "SHA256SUMS"
)

// Files are the files of a pack: the document as a PDF and as a page, and the tables. The document is
// laid out once, by whoever writes the first of the two.
func Files(d Data) []File {
	doc := sync.OnceValue(func() Document { return Compose(d) })
	files := []File{
		{PDFName, func(w io.Writer) error { return WritePDF(w, doc(), d.Made) }},
		{pageName, func(w io.Writer) error { return WriteHTML(w, doc()) }},
	}
	for _, t := range Tables(d) {
		files = append(files, File{t.File, t.Write})
	}
	return files
}

// WriteFiles writes files, each where create puts it, and at last their checksums in
// the form of sha256sum. As many are written at a time as there are processors, the longest first: those
// of a pack that stand last. It ends at the first that can't be written as a whole.
func WriteFiles(files []File, create func(name string) (io.WriteCloser, error)) error {
	sums, errs := make([][]byte, len(files)), make([]error, len(files))
	next := make(chan int)
	var writing sync.WaitGroup
	var failed atomic.Bool
	for range runtime.GOMAXPROCS(0) {
		writing.Go(func() {
			for i := range next {
				sum := sha256.New()
				if errs[i] = writeOne(files[i], create, sum); errs[i] != nil {
					failed.Store(true)
				}
				sums[i] = fmt.Appendf(nil, "%x  %s\n", sum.Sum(nil), files[i].Name)
			}
		})
	}
	for i := range slices.Backward(files) {
		if !failed.Load() {
			next <- i
		}
	}
	close(next)
	writing.Wait()
	if err := errors.Join(errs...); err != nil {
		return err
	}
	return writeOne(File{SumsName, func(w io.Writer) error {
		_, err := w.Write(bytes.Join(sums, nil))
		return err
	}}, create, io.Discard)
}

func writeOne(f File, create func(name string) (io.WriteCloser, error), also io.Writer) error {
	out, err := create(f.Name)
	if err != nil {
		return phrase.Errorf("making %s: %w", f.Name, err)
	}
	held := bufio.NewWriterSize(io.MultiWriter(out, also), held) // a page is written word by word
	if err := errors.Join(f.Write(held), held.Flush(), out.Close()); err != nil {
		return phrase.Errorf("writing %s: %w", f.Name, err)
	}
	return nil
}
