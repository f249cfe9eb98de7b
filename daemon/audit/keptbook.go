package audit

import (
	"bytes"
	"context"
	"encoding/gob"
	"errors"
	"os"
	"path/filepath"

	"wetside/daemon/history"
	"wetside/daemon/history/disk"
	"wetside/daemon/history/pack"
	"wetside/rules/past"
)

// keptBook is what a walk through the whole record book came to: what it leaves for a later walk,
// and what the chronicle took. It stands under the hash of the last record, so it is that of no
// other book.
type keptBook struct {
	Form    int
	Version string
	Trail   history.Trail
	Fold    past.Kept
}

// errOtherBook says that the book is not the one that something was kept of.
var errOtherBook = errors.New("the record book is not what was kept of it")

// resume takes what was kept of the book, unless something was read already. Where nothing was
// kept of this book by this version, or it is damaged, the walk begins anew.
func (c *Chronicle) resume(ctx context.Context, version string) (history.Trail, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.fold.Last() > 0 || c.book.Folder() == "" {
		return history.Trail{}, nil
	}
	stored, err := os.ReadFile(filepath.Join(c.book.Folder(), countedBook))
	if err == nil {
		stored, err = pack.Checked(stored)
	}
	var k keptBook
	if err == nil {
		err = gob.NewDecoder(bytes.NewReader(stored)).Decode(&k)
	}
	if err != nil || k.Form != countedForm || k.Version != version || c.book.Holds(ctx, k.Trail.Last) != nil {
		return history.Trail{}, ctx.Err()
	}
	fold, err := past.Resume(k.Fold)
	if err != nil {
		return history.Trail{}, err
	}
	c.fold = fold
	return k.Trail, nil
}

// forget has the chronicle read the book from its beginning.
func (c *Chronicle) forget() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.fold = past.Fold{}
}

// keep writes down what a walk came to. Whoever may not write there, or has no room, walks as
// far the next time.
func (c *Chronicle) keep(version string, trail history.Trail) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.book.Folder() == "" || c.fold.Last() > trail.Last.Number {
		return
	}
	var text bytes.Buffer
	if gob.NewEncoder(&text).Encode(keptBook{countedForm, version, trail, c.fold.Kept()}) == nil {
		_ = disk.WriteBytes(filepath.Join(c.book.Folder(), countedBook), 0o644, pack.WithCheck(text.Bytes()))
	}
}
