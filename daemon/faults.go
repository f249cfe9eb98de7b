package daemon

import (
	"slices"
	"sync"

	"go.uber.org/zap"
	"go.uber.org/zap/zapcore"

	"wetside/dashboard"
)

// mostFaults is how many different warnings and errors are kept at hand.
const mostFaults = 30

// faults keeps the newest warnings and errors of the log for the keeper's page. The
// same words again are counted, not repeated.
type faults struct {
	mu   sync.Mutex
	list []dashboard.Fault // the newest first
}

// watch gives a log that is also kept at hand.
func (f *faults) watch(log *zap.Logger) *zap.Logger {
	return log.WithOptions(zap.WrapCore(func(core zapcore.Core) zapcore.Core { return zapcore.NewTee(core, faultCore{kept: f}) }))
}

// newest are the warnings and errors, the newest first.
func (f *faults) newest() []dashboard.Fault {
	f.mu.Lock()
	defer f.mu.Unlock()
	return slices.Clone(f.list)
}

func (f *faults) add(e zapcore.Entry, why string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	one := dashboard.Fault{At: e.Time, Text: e.Message, Why: why, Grave: e.Level >= zapcore.ErrorLevel, Count: 1}
	if at := slices.IndexFunc(f.list, func(x dashboard.Fault) bool { return x.Text == one.Text && x.Why == one.Why }); at >= 0 {
		one.Count += f.list[at].Count
		f.list = slices.Delete(f.list, at, at+1)
	}
	f.list = slices.Insert(f.list, 0, one)
	f.list = f.list[:min(len(f.list), mostFaults)]
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
