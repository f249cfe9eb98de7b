package daemon

import (
	"context"
	"sync"
)

// listeners tells any number of receivers that something is new. It never waits:
// a receiver that is busy finds one word waiting, which stands for all it missed.
type listeners struct {
	mu   sync.Mutex
	list map[chan struct{}]struct{}
}

// add listens until ctx ends. The channel is never closed: its receiver has the same ctx.
func (l *listeners) add(ctx context.Context) <-chan struct{} {
	c := make(chan struct{}, 1)
	l.mu.Lock()
	if l.list == nil {
		l.list = map[chan struct{}]struct{}{}
	}
	l.list[c] = struct{}{}
	l.mu.Unlock()
	context.AfterFunc(ctx, func() {
		l.mu.Lock()
		delete(l.list, c)
		l.mu.Unlock()
	})
	return c
}

func (l *listeners) tell() {
	l.mu.Lock()
	defer l.mu.Unlock()
	for c := range l.list {
		select {
		case c <- struct{}{}:
		default:
		}
	}
}
