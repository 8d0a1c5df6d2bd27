package journal_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"testing/synctest"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
)

// slow is a store that commits only when it is let: it sends the size of a batch, then
// waits for the word.
type slow struct {
	*memory.Store
	size chan int
	word chan error // nil: commit; else the store's trouble
}

func (s slow) Append(ctx context.Context, batch []journal.Entry) ([]journal.Result, error) {
	s.size <- len(batch)
	if err := <-s.word; err != nil {
		return nil, err
	}
	return s.Store.Append(ctx, batch)
}

func newSlow() slow { return slow{memory.New(), make(chan int), make(chan error)} }

// run starts a Writer into store; the function ends it and returns what Run gave.
func run(t *testing.T, store journal.Store) (*journal.Writer, func() error) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	w := journal.NewWriter(store)
	done := make(chan error, 1)
	go func() { done <- w.Run(ctx) }()
	return w, func() error {
		cancel()
		return <-done
	}
}

func stopWell(t *testing.T, stop func() error) {
	t.Helper()
	if err := stop(); !errors.Is(err, context.Canceled) {
		t.Errorf("Run ended with %v, want context.Canceled", err)
	}
}

func TestWriterCommitsTogetherWhatWaits(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newSlow()
		w, stop := run(t, store)
		var wait sync.WaitGroup
		note := func(n int) {
			wait.Go(func() {
				r, err := w.Append(t.Context(), journaltest.Note("MW-1041", n))
				if err != nil || r.Entry.ID != journaltest.ID(n) {
					t.Errorf("note %d: got entry %s, error %v", n, r.Entry.ID, err)
				}
			})
		}
		note(0)
		if n := <-store.size; n != 1 {
			t.Errorf("the first commit has %d entries, want 1", n)
		}
		for n := 1; n <= 20; n++ {
			note(n)
		}
		synctest.Wait() // all twenty wait behind the commit
		store.word <- nil
		if n := <-store.size; n != 20 {
			t.Errorf("the second commit has %d entries, want 20", n)
		}
		store.word <- nil
		wait.Wait()
		stopWell(t, stop)
	})
}

func TestWriterTellsEachWhatBecameOfIt(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newSlow()
		w, stop := run(t, store)
		go func() {
			for range store.size {
				store.word <- nil
			}
		}()
		append1 := func(job string, n int, seq int64) (journal.Result, error) {
			e := journaltest.Note(job, n)
			e.Seq = seq
			return w.Append(t.Context(), e)
		}
		if _, err := append1("MW-1041", 1, 0); err != nil {
			t.Fatal(err)
		}
		if r, err := append1("MW-1041", 1, 0); err != nil || !r.Known {
			t.Errorf("the same id: known %t, error %v", r.Known, err)
		}
		if _, err := append1("MW-1042", 1, 0); !errors.Is(err, journal.ErrOtherJob) {
			t.Errorf("an id of another job: %v", err)
		}
		if _, err := append1("MW-1041", 2, 9); !errors.Is(err, journal.ErrSeq) {
			t.Errorf("a wrong seq: %v", err)
		}
		stopWell(t, stop)
		close(store.size)
	})
}

func TestWriterGoesOnAfterTheStoreWasInTrouble(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newSlow()
		w, stop := run(t, store)
		for _, trouble := range []error{fmt.Errorf("commit: %w", journal.ErrFull), nil} {
			go func() {
				<-store.size
				store.word <- trouble
			}()
			_, err := w.Append(t.Context(), journaltest.Note("MW-1041", 1))
			if trouble == nil && err != nil || !errors.Is(err, trouble) {
				t.Errorf("append gave %v, want %v", err, trouble)
			}
		}
		stopWell(t, stop)
	})
}

func TestWriterDoesNotCutACommitShort(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newSlow()
		w, stop := run(t, store)
		ctx, leave := context.WithCancel(t.Context())
		done := make(chan error, 1)
		go func() {
			_, err := w.Append(ctx, journaltest.Note("MW-1041", 1))
			done <- err
		}()
		<-store.size
		leave() // the client is gone while its note commits
		synctest.Wait()
		store.word <- nil
		if err := <-done; err != nil {
			t.Errorf("append gave %v, want no error: the entry is kept", err)
		}
		if _, err := store.ByID(t.Context(), "MW-1041", journaltest.ID(1)); err != nil {
			t.Error(err)
		}
		stopWell(t, stop)
	})
}

func TestWriterCommitsWhatWaitsWhenItStops(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newSlow()
		ctx, cancel := context.WithCancel(t.Context())
		w := journal.NewWriter(store)
		done, ran := make(chan error, 5), make(chan error, 1)
		go func() { ran <- w.Run(ctx) }()
		add := func(n int) {
			_, err := w.Append(t.Context(), journaltest.Note("MW-1041", n))
			done <- err
		}
		go add(0)
		<-store.size // it is being committed; the others wait
		for n := range 4 {
			go add(n + 1)
		}
		synctest.Wait()
		cancel()
		store.word <- nil
		<-store.size
		store.word <- nil
		for range 5 {
			if err := <-done; err != nil {
				t.Errorf("append gave %v, want no error", err)
			}
		}
		if err := <-ran; !errors.Is(err, context.Canceled) {
			t.Errorf("Run ended with %v, want context.Canceled", err)
		}
		if _, err := w.Append(t.Context(), journaltest.Note("MW-1041", 9)); !errors.Is(err, journal.ErrClosed) {
			t.Errorf("append after the end gave %v, want ErrClosed", err)
		}
	})
}

func TestWriterKeepsNothingOfOneThatLeftTheQueue(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newSlow()
		w, stop := run(t, store)
		ctx, leave := context.WithCancel(t.Context())
		var wait sync.WaitGroup
		const more = 3000 // more than may wait
		for n := range more {
			wait.Go(func() {
				_, err := w.Append(ctx, journaltest.Note("MW-1041", n))
				if err != nil && !errors.Is(err, context.Canceled) {
					t.Errorf("append gave %v", err)
				}
				_, found := store.ByID(context.WithoutCancel(ctx), "MW-1041", journaltest.ID(n))
				if (err == nil) != (found == nil) {
					t.Errorf("append gave %v, but looking for the entry %v", err, found)
				}
			})
		}
		synctest.Wait() // the queue is full, the rest wait for room
		leave()
		go func() {
			for range store.size {
				store.word <- nil
			}
		}()
		wait.Wait()
		stopWell(t, stop)
		close(store.size)
		if kept, err := store.After(t.Context(), 0, more); err != nil || len(kept) == 0 || len(kept) >= more {
			t.Errorf("%d entries are kept, error %v; want some but not all of %d", len(kept), err, more)
		}
	})
}

func TestNotice(t *testing.T) {
	w, stop := run(t, memory.New())
	defer stopWell(t, stop)
	closedNow := func(c <-chan struct{}) bool {
		select {
		case <-c:
			return true
		default:
			return false
		}
	}
	first := w.Notice()
	if closedNow(first) {
		t.Error("there is a notice before anything was kept")
	}
	add := func(job string) {
		if _, err := w.Append(t.Context(), journaltest.Note(job, 1)); err != nil && !journal.IsRefusal(err) {
			t.Fatal(err)
		}
	}
	add("MW-1041")
	<-first
	second := w.Notice()
	add("MW-1041") // known
	add("MW-1042") // refused
	if closedNow(second) {
		t.Error("there is a notice of an entry that was not kept")
	}
}
