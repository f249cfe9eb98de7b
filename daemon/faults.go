package daemon

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"go.uber.org/zap"
	"go.uber.org/zap/zapcore"

	"wetside/daemon/history/disk"
	"wetside/dashboard/keep"
	"wetside/sensors"
)

// mostFaults is how many different warnings and errors are kept at hand.
const mostFaults = 30

const (
	// faultsFile keeps them in the data folder, for a selfcheck and for the next start.
	faultsFile = "faults.json"
	// faultsEvery is how long the disk is left alone after they were written.
	faultsEvery = 5 * time.Second
)

// faults keeps the newest warnings and errors of the log for the keeper. The same
// words again are counted, not repeated.
type faults struct {
	fresh chan struct{} // holds a word while something is not on disk yet

	mu   sync.Mutex
	list []keep.Fault // the newest first
}

func newFaults() *faults { return &faults{fresh: make(chan struct{}, 1)} }

// recall takes over what the run before kept.
func (f *faults) recall(dir string) error {
	before, err := readFaults(dir)
	f.mu.Lock()
	defer f.mu.Unlock()
	f.list = append(f.list, before...)
	f.list = f.list[:min(len(f.list), mostFaults)]
	return err
}

// run writes what is new into the data folder until ctx ends.
func (f *faults) run(ctx context.Context, clock sensors.Clock, dir string) {
	for {
		select {
		case <-ctx.Done():
			select {
			case <-f.fresh:
				_ = f.write(dir)
			default:
			}
			return
		case <-f.fresh:
			_ = f.write(dir) // on a disk that takes nothing the page and the log still have them
		}
		sensors.Pause(ctx, clock, faultsEvery)
	}
}

func (f *faults) write(dir string) error {
	data, err := json.MarshalIndent(f.newest(), "", "  ")
	if err != nil {
		return err
	}
	return disk.WriteBytes(filepath.Join(dir, faultsFile), 0o600, append(data, '\n'))
}

// readFaults reads what a run kept; without a file there is nothing.
func readFaults(dir string) (list []keep.Fault, err error) {
	data, err := os.ReadFile(filepath.Join(dir, faultsFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err == nil {
		err = json.Unmarshal(data, &list)
	}
	if err != nil {
		return nil, fmt.Errorf("the last errors in %s can't be read: %w", filepath.Join(dir, faultsFile), err)
	}
	return list, nil
}

// watch gives a log that is also kept at hand.
func (f *faults) watch(log *zap.Logger) *zap.Logger {
	return log.WithOptions(zap.WrapCore(func(core zapcore.Core) zapcore.Core { return zapcore.NewTee(core, faultCore{kept: f}) }))
}

func (f *faults) newest() []keep.Fault {
	f.mu.Lock()
	defer f.mu.Unlock()
	return slices.Clone(f.list)
}

func (f *faults) add(e zapcore.Entry, why string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	one := keep.Fault{At: e.Time, Text: e.Message, Why: why, Do: adviceOn(e.Message), Grave: e.Level >= zapcore.ErrorLevel, Count: 1}
	if at := slices.IndexFunc(f.list, func(x keep.Fault) bool { return x.Text == one.Text && x.Why == one.Why }); at >= 0 {
		one.Count += f.list[at].Count
		f.list = slices.Delete(f.list, at, at+1)
	}
	f.list = slices.Insert(f.list, 0, one)
	f.list = f.list[:min(len(f.list), mostFaults)]
	select {
	case f.fresh <- struct{}{}:
	default:
	}
}

// faultCore takes warnings and errors out of a log.
type faultCore struct {
	kept   *faults
	fields []zapcore.Field
}

// Enabled lets warnings and errors through.
func (faultCore) Enabled(l zapcore.Level) bool { return l >= zapcore.WarnLevel }

// With remembers what belongs to every line.
func (c faultCore) With(fields []zapcore.Field) zapcore.Core {
	return faultCore{c.kept, append(slices.Clip(c.fields), fields...)}
}

// Check takes a line that matters.
func (c faultCore) Check(e zapcore.Entry, ce *zapcore.CheckedEntry) *zapcore.CheckedEntry {
	if c.Enabled(e.Level) {
		return ce.AddCore(e, c)
	}
	return ce
}

// Write keeps a line with the error that it tells of.
func (c faultCore) Write(e zapcore.Entry, fields []zapcore.Field) error {
	words := zapcore.NewMapObjectEncoder()
	for _, field := range append(slices.Clip(c.fields), fields...) {
		field.AddTo(words)
	}
	why, _ := words.Fields["error"].(string)
	c.kept.add(e, why)
	return nil
}

// Sync has nothing to do.
func (faultCore) Sync() error { return nil }
