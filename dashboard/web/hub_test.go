package web

import (
	"context"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
)

// told is a view that says itself when it is new.
type told struct {
	View
	changes chan struct{}
}

func (told) Now() *Site { return &Site{} }

func (v told) Changes(context.Context) <-chan struct{} { return v.changes }

func TestABeatGoesWithTheTickOfARoom(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		v := told{changes: make(chan struct{})}
		h := newHub(v, func(*Drawing, topic) {}, func(of topic) bool { return of.page == "probes" })
		go h.run(ctx)
		heard := map[string]*atomic.Int64{"board": {}, "probes": {}}
		for page, times := range heard {
			r, _ := h.enter(ctx, topic{page: page})
			go func() {
				for range r.frames {
					times.Add(1)
				}
			}()
		}
		told := func(why string, board, probes int64) {
			synctest.Wait()
			require.Equal(t, []int64{board, probes}, []int64{heard["board"].Load(), heard["probes"].Load()}, why)
		}
		change := func(times int, every time.Duration) {
			for range times {
				time.Sleep(every)
				v.changes <- struct{}{}
			}
		}
		told("what there is at first", 1, 1)
		change(1, beat/2)
		change(9, beat)
		told("once a second where a room ticks, and no beat beside", 11, 11)
		change(50, beat/10)
		told("every change of a board, a calm page once a second", 61, 16)
		time.Sleep(10*(beat+leeway) + time.Millisecond)
		told("a beat where nothing changes", 71, 26)
		cancel()
	})
}
