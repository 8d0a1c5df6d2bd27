package wall

import (
	"context"
	"slices"
	"time"

	"readback/capture/wire"
)

// Watcher is one wall. It is used by one goroutine.
type Watcher struct {
	hub     *Hub
	wake    chan struct{}   // has room for one
	pending map[string]bool // guarded by hub.mu: jobs that have changed since it was told; never more than there are jobs
	begun   bool
}

// Watch adds a wall, which gets all there is first. It waits until the hub has looked at what is
// stale, or ctx ends, whose cause it returns. The caller ends it with [Watcher.Close].
func (h *Hub) Watch(ctx context.Context) (*Watcher, error) {
	w := &Watcher{hub: h, wake: make(chan struct{}, 1), pending: map[string]bool{}}
	h.mu.Lock()
	h.walls[w] = true // before it is looked at, so that nothing is missed
	h.mu.Unlock()
	done := make(chan struct{})
	select {
	case h.asks <- done:
		select {
		case <-done:
			return w, nil
		case <-ctx.Done():
		}
	case <-ctx.Done():
	}
	w.Close()
	return nil, context.Cause(ctx)
}

// Close takes the wall away.
func (w *Watcher) Close() {
	w.hub.mu.Lock()
	defer w.hub.mu.Unlock()
	delete(w.hub.walls, w)
}

// Next waits for what has changed, for [Pulse] at most, and returns it: all there is the first
// time, and nothing but the time where nothing has changed. What changed twice comes once, as it
// is now.
func (w *Watcher) Next(ctx context.Context) (wire.Wall, error) {
	if !w.begun {
		w.begun = true
		return w.take(true), nil
	}
	pulse := time.NewTimer(Pulse)
	defer pulse.Stop()
	select {
	case <-ctx.Done():
		return wire.Wall{}, context.Cause(ctx)
	case <-w.wake:
	case <-pulse.C:
	}
	return w.take(false), nil
}

func (w *Watcher) take(whole bool) wire.Wall {
	h := w.hub
	h.mu.Lock()
	defer h.mu.Unlock()
	out := wire.Wall{Now: h.Now(), Whole: whole, Quiet: int(Quiet / time.Second), Rest: h.jobs}
	for id, on := range h.shown {
		if on {
			out.Rest--
		}
		switch {
		case !whole && !w.pending[id]:
		case on:
			out.Benches = append(out.Benches, h.known[id])
		case !whole:
			out.Gone = append(out.Gone, id)
		}
	}
	clear(w.pending)
	slices.SortFunc(out.Benches, func(a, b wire.Bench) int { return a.Opened.Compare(b.Opened) })
	slices.Sort(out.Gone)
	return out
}
