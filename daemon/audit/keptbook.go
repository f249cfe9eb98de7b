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

// keptBook is what a walk through the whole record book leaves for a later walk. In its file what the
// chronicle took follows. It stands under the hash of the last record, so it is that of no other book.
type keptBook struct {
	Form    int
	Version string
	Trail   history.Trail
}

var errOtherBook = errors.New("the saved totals belong to another record book")

// resume takes what was kept of the book, unless something was read already. Where nothing was
// kept of this book by this version, or it is damaged, the walk begins anew. What the chronicle took
// is read while the walk goes on: whoever asks the chronicle waits for it.
func (c *Chronicle) resume(ctx context.Context, version string) (history.Trail, error) {
	c.mu.Lock()
	if c.fold.Last() > 0 || c.book.Folder() == "" {
		c.mu.Unlock()
		return history.Trail{}, nil
	}
	stored, err := os.ReadFile(filepath.Join(c.book.Folder(), countedBook))
	if err == nil {
		stored, err = pack.Checked(stored)
	}
	var k keptBook
	file := gob.NewDecoder(bytes.NewReader(stored))
	if err == nil {
		err = file.Decode(&k)
	}
	if err != nil || k.Form != countedForm || k.Version != version || c.book.Holds(ctx, k.Trail.Last) != nil {
		c.mu.Unlock()
		return history.Trail{}, ctx.Err()
	}
	go func() {
		defer c.mu.Unlock()
		var kept past.Kept
		err := file.Decode(&kept)
		if err == nil {
			c.fold, err = past.Resume(kept)
		}
		c.unread = err != nil
	}()
	return k.Trail, nil
}

// forget has the chronicle read the book from its beginning.
func (c *Chronicle) forget() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.fold, c.read, c.unread = past.Fold{}, 0, false
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
	file := gob.NewEncoder(&text)
	if errors.Join(file.Encode(keptBook{countedForm, version, trail}), file.Encode(c.fold.Kept())) == nil {
		_ = disk.WriteBytes(filepath.Join(c.book.Folder(), countedBook), 0o644, pack.WithCheck(text.Bytes()))
	}
}
