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
		var shows atomic.Uint64
		draw := func(d *Drawing, _ topic) { d.parts = append(d.parts, part{id: "clock", sum: shows.Load()}) }
		h := newHub(v, draw, func(of topic) bool { return of.page == "probes" })
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
		change := func(differs uint64, times int, every time.Duration) {
			for range times {
				time.Sleep(every)
				shows.Add(differs)
				v.changes <- struct{}{}
			}
		}
		told("what there is at first", 1, 1)
		change(1, 1, beat/2)
		change(0, 9, beat)
		told("once a second where a room ticks, and no beat beside", 11, 11)
		change(1, 50, beat/10)
		told("every change of a board, a calm page once a second", 61, 16)
		change(0, 50, beat/10)
		told("once a second what shows the same", 66, 21)
		time.Sleep(10*(beat+leeway) + time.Millisecond)
		told("a beat where nothing changes", 76, 31)
		cancel()
	})
}
