// Package memory keeps a journal in memory, for tests and for a job that is only being
// tried: it keeps the contract of journal.Store except that a kill forgets all.
package memory

import (
	"context"
	"fmt"
	"sort"
	"sync"

	"readback/capture/journal"
)

// Store is a journal in memory. Use [New].
type Store struct {
	mu     sync.RWMutex
	all    []journal.Entry // at Position i+1; never changed once there
	jobs   map[string][]int
	order  []string // jobs as they were opened
	ids    map[string]int
	closed bool
}

// New returns an empty Store.
func New() *Store {
	return &Store{jobs: map[string][]int{}, ids: map[string]int{}}
}

// Append keeps the batch; see [journal.Store].
func (s *Store) Append(ctx context.Context, batch []journal.Entry) ([]journal.Result, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.ready(ctx); err != nil {
		return nil, fmt.Errorf("append %d entries: %w", len(batch), err)
	}
	results := make([]journal.Result, len(batch))
	for i, e := range batch {
		results[i] = s.add(e)
	}
	return results, nil
}

func (s *Store) add(e journal.Entry) journal.Result {
	e, err := journal.Prepare(e)
	if err != nil {
		return journal.Result{Err: err}
	}
	if at, known := s.ids[e.ID]; known {
		return s.again(e, at)
	}
	next := int64(len(s.jobs[e.Job])) + 1
	if e.Seq != 0 && e.Seq != next {
		return journal.Result{Err: fmt.Errorf("%w: job %s is at %d, not %d", journal.ErrSeq, e.Job, next, e.Seq)}
	}
	e.Seq, e.Position = next, journal.Position(len(s.all)+1)
	if next == 1 {
		s.order = append(s.order, e.Job)
	}
	s.ids[e.ID] = len(s.all)
	s.jobs[e.Job] = append(s.jobs[e.Job], len(s.all))
	s.all = append(s.all, e)
	return s.result(e, false)
}

func (s *Store) again(e journal.Entry, at int) journal.Result {
	if s.all[at].Job != e.Job {
		return journal.Result{Err: journal.ErrOtherJob}
	}
	return s.result(s.all[at], true)
}

func (s *Store) result(e journal.Entry, known bool) journal.Result {
	kept, err := e.Clone()
	return journal.Result{Entry: kept, Known: known, Err: err}
}

// After returns entries past the position; see [journal.Store].
func (s *Store) After(ctx context.Context, at journal.Position, limit int) ([]journal.Entry, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return nil, fmt.Errorf("read journal after %d: %w", at, err)
	}
	from := min(max(int(at), 0), len(s.all))
	to := min(from+max(limit, 0), len(s.all))
	return clones(s.all[from:to])
}

// Entries returns entries of one job; see [journal.Store].
func (s *Store) Entries(ctx context.Context, job string, afterSeq int64, limit int) ([]journal.Entry, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	err := s.ready(ctx)
	if err == nil && len(s.jobs[job]) == 0 {
		err = journal.ErrNotFound
	}
	if err != nil {
		return nil, fmt.Errorf("read job %s: %w", job, err)
	}
	var found []journal.Entry
	at := s.jobs[job]
	from := sort.Search(len(at), func(i int) bool { return s.all[at[i]].Seq > afterSeq })
	for _, i := range at[from:min(from+max(limit, 0), len(at))] {
		found = append(found, s.all[i])
	}
	return clones(found)
}

// ByID returns one entry of a job; see [journal.Store].
func (s *Store) ByID(ctx context.Context, job, id string) (journal.Entry, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	err := s.ready(ctx)
	at, known := s.ids[id]
	if err == nil && (!known || s.all[at].Job != job) {
		err = journal.ErrNotFound
	}
	if err != nil {
		return journal.Entry{}, fmt.Errorf("read entry %s of job %s: %w", id, job, err)
	}
	return s.all[at].Clone()
}

// Jobs lists the jobs; see [journal.Store].
func (s *Store) Jobs(ctx context.Context) ([]journal.Job, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return nil, fmt.Errorf("list jobs: %w", err)
	}
	jobs := make([]journal.Job, len(s.order))
	for i, id := range s.order {
		at := s.jobs[id]
		first, err := s.all[at[0]].Clone()
		if err != nil {
			return nil, err
		}
		jobs[i] = journal.Job{
			ID: id, Spec: first.Spec, Options: first.Options, Person: first.Person,
			First: first.At, Last: s.all[at[len(at)-1]].At, Entries: int64(len(at)),
		}
	}
	return jobs, nil
}

// People lists who said notes; see [journal.Store].
func (s *Store) People(ctx context.Context, limit int) ([]string, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return nil, fmt.Errorf("list people: %w", err)
	}
	var found []string
	known := map[string]bool{journal.NotStated: true}
	for i := len(s.all) - 1; i >= 0 && len(found) < limit; i-- {
		if e := s.all[i]; e.Kind == journal.Note && !known[e.Person] {
			known[e.Person] = true
			found = append(found, e.Person)
		}
	}
	return found, nil
}

// Close ends the store and forgets nothing that was handed out.
func (s *Store) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closed = true
	return nil
}

func (s *Store) ready(ctx context.Context) error {
	if s.closed {
		return journal.ErrClosed
	}
	return ctx.Err()
}

func clones(entries []journal.Entry) ([]journal.Entry, error) {
	var out []journal.Entry
	for _, e := range entries {
		c, err := e.Clone()
		if err != nil {
			return nil, err
		}
		out = append(out, c)
	}
	return out, nil
}
