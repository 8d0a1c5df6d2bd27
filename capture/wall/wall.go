// Package wall keeps what the wall of a shop shows: how every bench stands that is at work.
// It follows the journal and hands each wall what has changed.
//
// It promises that a wall costs the benches nothing: a note is committed and answered before
// anything here hears of it; however many walls there are, a job is looked at once for all of
// them, and a wall that is slow to read gets the newest state later and not a queue. With
// nobody looking, no job is looked at. It knows no sockets.
//
// Start reading at [Hub.Run]; a wall is a [Watcher].
package wall

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/wire"
	"readback/rules"
)

const (
	// Quiet is the silence from which a bench is called quiet.
	Quiet = 10 * time.Minute
	// Pulse is how often a wall is told that the line is up, with nothing new to tell.
	Pulse = 5 * time.Second

	staysFor   = 4 * 24 * time.Hour  // a job on which nothing is said leaves the wall: after a long weekend it is still there
	endedFor   = 12 * time.Hour      // one that was handed over
	looksBack  = 30 * 24 * time.Hour // how old a job may be whose stop nobody has answered
	linger     = 40 * time.Millisecond
	sweepEvery = 30 * time.Second // between looks at what has left the wall by itself
	again      = time.Second      // after a fault of the journal
	batch      = 500              // entries read at a time
)

// Source is what the wall reads of a journal.
type Source interface {
	After(ctx context.Context, at journal.Position, limit int) ([]journal.Entry, error)
	Jobs(ctx context.Context) ([]journal.Job, error)
}

// Benches says how a job stands: a [floor.Floor].
type Benches interface {
	Bench(ctx context.Context, job string) (wire.Bench, error)
}

// Config is what a hub is made of. Every field must be set.
type Config struct {
	Source  Source
	Benches Benches
	Notice  func() <-chan struct{} // closed at the next commit: see [journal.Writer.Notice]
	Now     func() time.Time
	Log     zerolog.Logger
}

// Hub is what all walls of a shop share. Use [New]; it is safe for concurrent use.
type Hub struct {
	Config
	asks chan chan struct{} // a wall that comes waits for a look at what is stale

	mu    sync.Mutex
	known map[string]wire.Bench // that were looked at
	shown map[string]bool       // those of them that are on the wall
	jobs  int                   // in the list
	walls map[*Watcher]bool
}

// New returns a hub. It shows nothing until [Hub.Run].
func New(c Config) *Hub {
	return &Hub{Config: c, asks: make(chan chan struct{}), known: map[string]wire.Bench{}, shown: map[string]bool{}, walls: map[*Watcher]bool{}}
}

// follower is what only Run knows.
type follower struct {
	*Hub
	last  journal.Position
	asked []chan struct{}        // who waits for a look
	stale map[string]bool        // jobs to be looked at
	lines map[string]journal.Job // of the list, when it was read last
}

// Run follows the journal until ctx is done, and returns the cause of the end. A fault of the
// journal is logged, and it goes on from where it was.
func (h *Hub) Run(ctx context.Context) error {
	f := &follower{Hub: h, stale: map[string]bool{}}
	for ctx.Err() == nil {
		err := f.follow(ctx)
		if ctx.Err() != nil {
			break
		}
		h.Log.Error().Err(err).Msg("wall cannot follow the journal")
		f.lines = nil
		_ = journal.Wait(ctx, nil, again) // ctx is looked at above
	}
	return fmt.Errorf("follow for the wall: %w", context.Cause(ctx))
}

// follow goes on until something fails.
func (f *follower) follow(ctx context.Context) (err error) {
	if f.lines == nil {
		if err := f.begin(ctx); err != nil {
			return err
		}
	}
	sweep := time.NewTicker(sweepEvery)
	defer sweep.Stop()
	for {
		notice := f.Notice() // before reading, so that nothing is missed in between
		if err := f.read(ctx); err != nil {
			return err
		}
		if len(f.asked) > 0 || f.watched() {
			if err := f.look(ctx); err != nil {
				return err
			}
			f.sweep()
		} else {
			notice = nil // nobody looks: the next wall, or the sweep, reads on
		}
		for _, done := range f.asked {
			close(done)
		}
		f.asked = nil
		select {
		case <-ctx.Done():
			return context.Cause(ctx)
		case <-notice:
			_ = journal.Wait(ctx, nil, linger) // ctx is looked at below; what comes together is looked at together
		case <-sweep.C:
		case done := <-f.asks:
			f.asked = append(f.asked, done)
		}
	}
}

// begin finds the end of the journal, and which jobs may be on the wall.
func (f *follower) begin(ctx context.Context) error {
	last, err := f.head(ctx)
	if err != nil {
		return err
	}
	f.last = last
	if err := f.list(ctx); err != nil {
		return err
	}
	for id, j := range f.lines {
		if f.Now().Sub(j.Last.Time()) < looksBack {
			f.stale[id] = true
		}
	}
	return nil
}

// head returns the position of the journal's last entry, 0 where it has none, without reading
// what is before it: twice as far ahead until nothing is there, then between the two.
func (f *follower) head(ctx context.Context) (low journal.Position, err error) {
	beyond := func(at journal.Position) (journal.Position, error) {
		entries, err := f.Source.After(ctx, at, 1)
		if err != nil {
			return 0, fmt.Errorf("find the end of the journal: %w", err)
		}
		if len(entries) == 0 {
			return 0, nil
		}
		return entries[0].Position, nil
	}
	var high journal.Position // nothing is beyond it, once it is set
	for step := journal.Position(1); ; step *= 2 {
		next, err := beyond(low + step - 1)
		if err != nil {
			return 0, err
		}
		if next == 0 {
			high = low + step - 1
			break
		}
		low = next
	}
	for low < high {
		mid := low + (high-low)/2
		next, err := beyond(mid)
		if err != nil {
			return 0, err
		}
		if next == 0 {
			high = mid
		} else {
			low = next
		}
	}
	return low, nil
}

// list reads the list of jobs.
func (f *follower) list(ctx context.Context) error {
	all, err := f.Source.Jobs(ctx)
	if err != nil {
		return fmt.Errorf("list jobs: %w", err)
	}
	f.lines = map[string]journal.Job{}
	for _, j := range all {
		f.lines[j.ID] = j
	}
	f.mu.Lock()
	f.jobs = len(all)
	f.mu.Unlock()
	return nil
}

// read notes which jobs have changed since it read last.
func (f *follower) read(ctx context.Context) error {
	unknown := false
	for {
		entries, err := f.Source.After(ctx, f.last, batch)
		if err != nil {
			return fmt.Errorf("read journal: %w", err)
		}
		for i := range entries {
			f.last = entries[i].Position
			f.stale[entries[i].Job] = true
			if _, ok := f.lines[entries[i].Job]; !ok {
				unknown = true
			}
		}
		if len(entries) < batch {
			break
		}
	}
	if unknown {
		return f.list(ctx)
	}
	return nil
}

func (h *Hub) watched() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.walls) > 0
}

// look looks at what is stale, and tells the walls of each job as soon as it is known. A job that
// cannot be read is shown as such and holds up no other; unless it can never be read it stays stale,
// for the next look.
func (f *follower) look(ctx context.Context) error {
	for id := range f.stale {
		b, err := f.Benches.Bench(ctx, id)
		switch {
		case ctx.Err() != nil:
			return context.Cause(ctx)
		case errors.Is(err, journal.ErrNotFound):
			delete(f.stale, id)
			continue
		case err != nil:
			f.Log.Error().Err(err).Str("job", id).Msg("job cannot be shown on the wall")
			b = floor.BrokenBench(f.lines[id])
		}
		if err == nil || errors.Is(err, floor.ErrBroken) {
			delete(f.stale, id)
		}
		f.put(b)
	}
	return nil
}

// put takes how a job stands now.
func (h *Hub) put(b wire.Bench) {
	h.mu.Lock()
	defer h.mu.Unlock()
	was := h.shown[b.Job]
	h.known[b.Job], h.shown[b.Job] = b, shows(b, h.Now())
	if was || h.shown[b.Job] {
		h.tell(b.Job)
	}
}

// sweep takes off the wall what has left it by the passing of time.
func (h *Hub) sweep() {
	h.mu.Lock()
	defer h.mu.Unlock()
	now := h.Now()
	for id, b := range h.known {
		if on := shows(b, now); on != h.shown[id] {
			h.shown[id] = on
			h.tell(id)
		}
	}
}

// tell marks a job as new to every wall. It never blocks.
func (h *Hub) tell(job string) {
	for w := range h.walls {
		w.pending[job] = true
		select {
		case w.wake <- struct{}{}:
		default:
		}
	}
}

// shows reports whether a job is on the wall: while it is worked on, and for a while after; with
// a stop that nobody has answered however long ago that was.
func shows(b wire.Bench, now time.Time) bool {
	if slices.ContainsFunc(b.Findings, Unanswered) {
		return true
	}
	if b.Over != nil {
		return now.Sub(b.Spoke) < endedFor
	}
	return now.Sub(b.Spoke) < staysFor
}

// Unanswered reports whether a finding is a stop that nobody has answered.
func Unanswered(s wire.Standing) bool { return s.Severity == rules.Stop && s.Heeded == nil }
