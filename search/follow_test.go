package search_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/journal"
	"readback/capture/journal/memory"
	"readback/search"
)

// target is an index that only counts, and fails where it is told to.
type target struct {
	mu      sync.Mutex
	last    search.Mark
	batches []int
	resets  int
	fail    error // of the next Put
}

func (x *target) Last() (search.Mark, error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	return x.last, nil
}

func (x *target) Put(entries []journal.Entry) error {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.fail; err != nil {
		x.fail = nil
		return err
	}
	for _, e := range entries {
		if e.Position != x.last.Position+1 {
			return fmt.Errorf("position %d came after %d", e.Position, x.last.Position)
		}
		x.last = search.Mark{Position: e.Position, ID: e.ID}
	}
	x.batches = append(x.batches, len(entries))
	return nil
}

func (x *target) Reset() error {
	x.mu.Lock()
	defer x.mu.Unlock()
	x.last, x.resets = search.Mark{}, x.resets+1
	return nil
}

// at says how far the target is, and by which batches it came there.
func (x *target) at() string {
	x.mu.Lock()
	defer x.mu.Unlock()
	return fmt.Sprintf("at %d by %v, %d resets", x.last.Position, x.batches, x.resets)
}

// follow runs a follower of store into x in a bubble where time is virtual.
func follow(t *testing.T, store *memory.Store, x *target, do func(notice chan struct{})) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		notice := make(chan struct{}, 1)
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error, 1)
		go func() {
			f := search.Follower{
				Source: store, Index: x, Log: zerolog.Nop(),
				Notice: func() <-chan struct{} { return notice },
			}
			done <- f.Run(ctx)
		}()
		do(notice)
		cancel()
		if err := <-done; !errors.Is(err, context.Canceled) {
			t.Errorf("Run ended with %v, want context.Canceled", err)
		}
	})
}

func expect(t *testing.T, x *target, want string) {
	t.Helper()
	synctest.Wait()
	if got := x.at(); got != want {
		t.Errorf("the index is %s, want %s", got, want)
	}
}

func TestFollowerBatches(t *testing.T) {
	store, x := journalOf(t, 2500), &target{}
	follow(t, store, x, func(notice chan struct{}) {
		expect(t, x, "at 2500 by [1000 1000 500], 0 resets")
		more := journalOf(t, 2503)
		entries, err := more.After(t.Context(), 2500, 3)
		if err != nil {
			t.Fatal(err)
		}
		add := func(e journal.Entry) {
			e.Seq = 0
			if _, err := store.Append(t.Context(), []journal.Entry{e}); err != nil {
				t.Fatal(err)
			}
		}
		add(entries[0])
		notice <- struct{}{}
		expect(t, x, "at 2500 by [1000 1000 500], 0 resets") // one note waits for more
		add(entries[1])
		time.Sleep(200 * time.Millisecond)
		expect(t, x, "at 2502 by [1000 1000 500 2], 0 resets")
		add(entries[2]) // and nobody says so
		time.Sleep(6 * time.Second)
		expect(t, x, "at 2503 by [1000 1000 500 2 1], 0 resets")
	})
}

func TestFollowerHeals(t *testing.T) {
	for _, tt := range []struct {
		name  string
		fail  error
		start search.Mark
		want  string
	}{
		{"a full disk is tried again", errors.New("no space left"), search.Mark{}, "at 150 by [150], 0 resets"},
		{"a torn index is built again", fmt.Errorf("put: %w", search.ErrTorn), search.Mark{}, "at 150 by [150], 1 resets"},
		{"an index past the journal is built again", nil, search.Mark{Position: 999, ID: "x"}, "at 150 by [150], 1 resets"},
		{"an index of other notes is built again", nil, search.Mark{Position: 20, ID: "x"}, "at 150 by [150], 1 resets"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			x := &target{fail: tt.fail, last: tt.start}
			follow(t, journalOf(t, 150), x, func(chan struct{}) {
				time.Sleep(5 * time.Second)
				expect(t, x, tt.want)
			})
		})
	}
}

func TestFollowerEndsWithItsJournal(t *testing.T) {
	store := memory.New()
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	f := search.Follower{
		Source: store, Index: &target{}, Log: zerolog.Nop(),
		Notice: func() <-chan struct{} { return nil },
	}
	if err := f.Run(t.Context()); !errors.Is(err, journal.ErrClosed) {
		t.Errorf("Run ended with %v, want ErrClosed", err)
	}
}
