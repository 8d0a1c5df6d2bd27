package search

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/journal"
)

const (
	enough = 100                    // entries that are put without waiting for more
	most   = 1000                   // entries put at a time, when there is much to catch up with
	linger = 200 * time.Millisecond // how long fewer may wait for more
	idle   = 5 * time.Second        // what a missed notice costs at most
	rest   = 2 * time.Second        // before trying again after an error
)

// Source is the journal that is followed.
type Source interface {
	After(ctx context.Context, at journal.Position, limit int) ([]journal.Entry, error)
}

// Target is what follows it: an [Index].
type Target interface {
	Last() (Mark, error)
	Put(entries []journal.Entry) error
	Reset() error
}

// Follower copies a journal into an index.
type Follower struct {
	Source Source
	Index  Target
	Notice func() <-chan struct{} // gives a channel that is closed at the next commit
	Log    zerolog.Logger
}

// Run follows until ctx is done, and returns its cause, wrapped. Nothing else ends it but
// a closed journal or index: an index in trouble is built again, and the notes do not wait
// for it.
func (f Follower) Run(ctx context.Context) error {
	for {
		err := f.follow(ctx)
		switch {
		case ctx.Err() != nil:
			return fmt.Errorf("follow journal: %w", context.Cause(ctx))
		case errors.Is(err, ErrClosed), errors.Is(err, journal.ErrClosed):
			return fmt.Errorf("follow journal: %w", err)
		}
		f.Log.Warn().Err(err).Msg("search index fell behind")
		select {
		case <-ctx.Done():
		case <-time.After(rest):
		}
	}
}

// follow goes on from where the index is, until something fails.
func (f Follower) follow(ctx context.Context) error {
	last, err := f.start(ctx)
	for err == nil {
		notice := f.Notice() // before reading, so that nothing is missed in between
		var entries []journal.Entry
		if entries, err = f.Source.After(ctx, last, most); err != nil {
			return fmt.Errorf("read journal: %w", err)
		}
		if len(entries) == 0 {
			if err = journal.Wait(ctx, notice, idle); err == nil {
				err = f.whole()
			}
			continue
		}
		if len(entries) < enough {
			if entries, err = f.more(ctx, last); err != nil {
				return err
			}
		}
		if last, err = entries[len(entries)-1].Position, f.Index.Put(entries); err != nil {
			return f.heal(err)
		}
	}
	return err
}

// whole notices what a search has found torn meanwhile.
func (f Follower) whole() error {
	if _, err := f.Index.Last(); err != nil {
		return f.heal(err)
	}
	return nil
}

// more reads again after what came last has had time to grow to a batch.
func (f Follower) more(ctx context.Context, last journal.Position) ([]journal.Entry, error) {
	if err := journal.Wait(ctx, nil, linger); err != nil {
		return nil, err
	}
	entries, err := f.Source.After(ctx, last, most)
	if err != nil {
		return nil, fmt.Errorf("read journal: %w", err)
	}
	return entries, nil
}

// start returns the position to go on from. An index that the journal does not know, as
// after a backup was put back, is built again.
func (f Follower) start(ctx context.Context) (journal.Position, error) {
	mark, err := f.Index.Last()
	if err != nil {
		return 0, f.heal(err)
	}
	if mark.Position == 0 {
		return 0, nil
	}
	entries, err := f.Source.After(ctx, mark.Position-1, 1)
	if err != nil {
		return 0, fmt.Errorf("read journal: %w", err)
	}
	if len(entries) == 1 && entries[0].Position == mark.Position && entries[0].ID == mark.ID {
		return mark.Position, nil
	}
	f.Log.Warn().Msg("search index is of another journal and is built again")
	return 0, f.Index.Reset()
}

// heal empties a torn index, and returns err if that did not help.
func (f Follower) heal(err error) error {
	if !errors.Is(err, ErrTorn) {
		return err
	}
	return errors.Join(err, f.Index.Reset())
}
