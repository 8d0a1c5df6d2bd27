package journal

import (
	"context"
	"fmt"
	"sync"
	"time"
)

const (
	queueLen = 1024 // entries that may wait for a commit; past that Append waits for room
	batchMax = 256  // entries in one commit
)

// Writer puts the entries of many benches into few commits: it takes whatever waits into
// one batch and answers each waiter after the commit. There is no timer. Under light load
// an entry commits alone; under heavy load batches grow, since more arrives while the
// disk syncs.
type Writer struct {
	store interface {
		Append(ctx context.Context, batch []Entry) ([]Result, error)
	}
	queue   chan request
	stopped chan struct{} // closed when Run has answered its last

	mu     sync.Mutex
	notice chan struct{} // closed and replaced at each commit
}

type request struct {
	entry  Entry
	answer chan outcome // has room for one
}

type outcome struct {
	result Result
	err    error
}

// NewWriter returns a Writer into store. Nothing is written until [Writer.Run].
func NewWriter(store Store) *Writer {
	return &Writer{
		store:   store,
		queue:   make(chan request, queueLen),
		stopped: make(chan struct{}),
		notice:  make(chan struct{}),
	}
}

// Append waits until e is committed and returns it as kept. The error wraps what refused
// the entry or what ails the store; then e was not kept. ctx bounds the wait for a place
// in the queue. From then on the commit is not cut short, and Append waits for it even if
// ctx ends, so that its caller always knows what became of the entry.
func (w *Writer) Append(ctx context.Context, e Entry) (Result, error) {
	r := request{entry: e, answer: make(chan outcome, 1)}
	select {
	case w.queue <- r:
	case <-ctx.Done():
		return Result{}, fmt.Errorf("append entry %s: %w", e.ID, context.Cause(ctx))
	case <-w.stopped:
		return Result{}, fmt.Errorf("append entry %s: %w", e.ID, ErrClosed)
	}
	out := r.wait(w.stopped)
	if out.err == nil {
		out.err = out.result.Err
	}
	if out.err != nil {
		return Result{}, fmt.Errorf("append entry %s: %w", e.ID, out.err)
	}
	return out.result, nil
}

// wait returns what became of the request. One that came in after the writer's last look
// at the queue was never written.
func (r request) wait(stopped <-chan struct{}) outcome {
	select {
	case out := <-r.answer:
		return out
	case <-stopped:
	}
	select {
	case out := <-r.answer:
		return out
	default:
		return outcome{err: ErrClosed}
	}
}

// Notice returns a channel that is closed when the next commit has kept something. Take
// it before reading the journal, then wait for it: nothing is missed in between.
func (w *Writer) Notice() <-chan struct{} {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.notice
}

// Wait is for who follows the journal: it ends at the notice, if that is not nil, after d, or with the error of ctx.
func Wait(ctx context.Context, notice <-chan struct{}, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-notice:
	case <-timer.C:
	}
	return nil
}

// Run commits what comes in until ctx is done, then what still waits, and returns the
// cause of the end. It may be called once.
func (w *Writer) Run(ctx context.Context) error {
	defer close(w.stopped)
	for {
		select {
		case r := <-w.queue:
			w.commit(ctx, w.drain(r))
		case <-ctx.Done():
			w.finish(ctx)
			return fmt.Errorf("write journal: %w", context.Cause(ctx))
		}
	}
}

func (w *Writer) finish(ctx context.Context) {
	for {
		select {
		case r := <-w.queue:
			w.commit(ctx, w.drain(r))
		default:
			return
		}
	}
}

// drain returns first and what waits behind it.
func (w *Writer) drain(first request) []request {
	batch := []request{first}
	for len(batch) < batchMax {
		select {
		case r := <-w.queue:
			batch = append(batch, r)
		default:
			return batch
		}
	}
	return batch
}

// commit writes the batch and answers everyone in it.
func (w *Writer) commit(ctx context.Context, batch []request) {
	entries := make([]Entry, len(batch))
	for i, r := range batch {
		entries[i] = r.entry
	}
	results, err := w.store.Append(context.WithoutCancel(ctx), entries)
	kept := false
	for i, r := range batch {
		out := outcome{err: err}
		if err == nil {
			out.result = results[i]
			kept = kept || (out.result.Err == nil && !out.result.Known)
		}
		r.answer <- out
	}
	if kept {
		w.tell()
	}
}

// tell wakes everyone who waits for a notice.
func (w *Writer) tell() {
	w.mu.Lock()
	defer w.mu.Unlock()
	close(w.notice)
	w.notice = make(chan struct{})
}
