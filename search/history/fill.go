package history

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"golang.org/x/sync/errgroup"

	"readback/capture/journal"
)

// batch is how many entries are kept in one commit.
const batch = 1000

// ErrNotEmpty says that a journal has jobs already: an invented past is never put among what happened.
var ErrNotEmpty = errors.New("history: the journal is not empty")

// Fill puts n jobs, over before until, into a store that is empty. What it has put when it fails stays
// there.
func Fill(ctx context.Context, store journal.Store, seed uint64, n int, until time.Time) error {
	jobs, err := store.Jobs(ctx)
	if err != nil {
		return fmt.Errorf("history: %w", err)
	}
	if len(jobs) > 0 {
		return ErrNotEmpty
	}
	told := make(chan []journal.Entry, 2)
	work, ctx := errgroup.WithContext(ctx)
	work.Go(func() error { // one tells while the other keeps
		defer close(told)
		return tell(seed, n, until, func(entries []journal.Entry) error {
			select {
			case told <- entries:
				return nil
			case <-ctx.Done():
				return context.Cause(ctx)
			}
		})
	})
	work.Go(func() error {
		for entries := range told {
			if err := put(ctx, store, entries); err != nil {
				return err
			}
		}
		return nil
	})
	return work.Wait()
}

// tell gives the entries of n jobs in batches.
func tell(seed uint64, n int, until time.Time, give func([]journal.Entry) error) error {
	teller, err := NewTeller()
	if err != nil {
		return err
	}
	var waiting []journal.Entry
	for j := range Jobs(seed, n, until) {
		entries, err := teller.Entries(j)
		if err != nil {
			return err
		}
		if waiting = append(waiting, entries...); len(waiting) >= batch {
			if err := give(waiting); err != nil {
				return err
			}
			waiting = nil
		}
	}
	return give(waiting)
}

func put(ctx context.Context, store journal.Store, entries []journal.Entry) error {
	results, err := store.Append(ctx, entries)
	if err != nil {
		return fmt.Errorf("history: %w", err)
	}
	if i := slices.IndexFunc(results, func(r journal.Result) bool { return r.Err != nil }); i >= 0 {
		return fmt.Errorf("history: %w", results[i].Err)
	}
	return nil
}
