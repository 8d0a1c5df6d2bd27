// Package search finds notes by their words, over all jobs.
//
// The index follows the journal and is a cache: what it holds comes from there, and one
// that is missing, torn, of another mapping or of another journal is built again from
// there by itself. It is never in the way of a note: a note is searchable a moment after
// its commit. It knows nothing of pages or people's rights.
//
// Start reading at [Index.Search]; [Follower] keeps the index up to date.
package search

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/index/scorch"
	"github.com/blevesearch/bleve/v2/mapping"

	"readback/capture/facts"
	"readback/capture/journal"
	"readback/parse/symptom"
)

// Errors of an index.
var (
	ErrClosed = errors.New("search: the index is closed")
	ErrTorn   = errors.New("search: the index is torn, it is being built again")
	ErrInUse  = errors.New("search: another program uses the index")
)

// Keys of what is kept beside the notes.
var (
	keyMapping = []byte("mapping") // fingerprint of the mapping that it was made with
	keyLast    = []byte("last")    // the last entry that it holds, as a Mark
)

// Mark is the last entry that an index holds. The id tells whether the journal is still
// the same one.
type Mark struct {
	Position journal.Position
	ID       string
}

// Index is a full-text index in a folder of its own, or in memory. It is safe for
// concurrent use; one [Follower] fills it.
type Index struct {
	dir     string // "" for one in memory
	mapping *mapping.IndexMappingImpl
	print   string

	words atomic.Pointer[Words]

	mu    sync.RWMutex // held to write while the index itself is replaced
	index bleve.Index  // nil once closed

	numbers atomic.Pointer[facts.Store] // beside it; as old or newer
	torn    atomic.Bool                 // something was found torn: only Reset helps

	moved struct { // what those wait for who wait for an entry
		sync.Mutex
		last   journal.Position
		signal chan struct{} // closed and replaced when last moves
	}
}

// Open opens the index in dir, which is its own, or makes an empty one if there is none
// or what is there cannot be used.
func Open(dir string) (*Index, error) { return open(dir, true) }

// OpenMemory returns an empty index that is never on the disk.
func OpenMemory() (*Index, error) { return open("", true) }

func open(dir string, stems bool) (*Index, error) {
	m, err := newMapping(stems)
	if err != nil {
		return nil, fmt.Errorf("open search index: %w", err)
	}
	x := &Index{dir: dir, mapping: m}
	x.moved.signal = make(chan struct{})
	if x.print, err = fingerprint(m); err != nil {
		return nil, fmt.Errorf("open search index: %w", err)
	}
	if x.index, err = x.load(); err != nil {
		return nil, fmt.Errorf("open search index in %s: %w", dir, err)
	}
	beside, err := x.factsBeside(x.index)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("open search index in %s: %w", dir, err), x.index.Close())
	}
	x.numbers.Store(beside)
	x.Use(symptom.Groups())
	last, err := x.Last()
	if err != nil {
		return nil, errors.Join(err, x.Close())
	}
	x.reached(last.Position)
	return x, nil
}

// load opens what is there, or makes a new one where that cannot be used.
func (x *Index) load() (bleve.Index, error) {
	if x.dir != "" {
		index, err := x.existing()
		if err == nil || errors.Is(err, ErrInUse) {
			return index, err
		}
	}
	return x.fresh()
}

// existing opens the index in the folder if it is whole and has this mapping.
func (x *Index) existing() (bleve.Index, error) {
	if err := dropTorn(x.dir); err != nil {
		return nil, err
	}
	index, err := openSafely(x.dir)
	if err != nil {
		return nil, err
	}
	kept, err := index.GetInternal(keyMapping)
	if err == nil && string(kept) != x.print {
		err = errors.New("it has another mapping")
	}
	if err != nil {
		return nil, errors.Join(err, index.Close())
	}
	return index, nil
}

// Use makes searches go by these synonyms from now on.
func (x *Index) Use(groups []symptom.Group) {
	x.words.Store(newWords(groups, x.stems))
}

// stems returns the stems of a text.
func (x *Index) stems(text string) []string {
	tokens, err := x.mapping.AnalyzeText(stemmed, []byte(text))
	if err != nil {
		return nil // there is no such analyzer: newMapping made it
	}
	return terms(tokens)
}

// factsFile lies beside the index.
const factsFile = "facts.db"

// factsBeside opens the facts of an index; those of an empty one are begun anew with it.
func (x *Index) factsBeside(index bleve.Index) (*facts.Store, error) {
	if last, err := index.GetInternal(keyLast); err == nil && len(last) == 0 {
		if err := clearFacts(x.dir); err != nil {
			return nil, err
		}
	}
	return x.openFacts()
}

// openFacts opens the facts, or makes empty ones where they cannot be used: then the follower begins
// anew, since [Index.Last] is the lesser of both.
func (x *Index) openFacts() (*facts.Store, error) {
	if x.dir == "" {
		return facts.Open(context.Background(), "")
	}
	path := filepath.Join(x.dir, factsFile)
	s, err := facts.Open(context.Background(), path)
	if errors.Is(err, facts.ErrStale) {
		if err := clearFacts(x.dir); err != nil {
			return nil, err
		}
		s, err = facts.Open(context.Background(), path)
	}
	return s, err
}

func clearFacts(dir string) error {
	if dir == "" {
		return nil
	}
	for _, more := range []string{"", "-wal", "-shm"} {
		if err := os.RemoveAll(filepath.Join(dir, factsFile+more)); err != nil {
			return fmt.Errorf("clear the folder: %w", err)
		}
	}
	return nil
}

// fresh makes an empty index. Of what is in the folder it removes only what an index
// makes there.
func (x *Index) fresh() (index bleve.Index, err error) {
	if x.dir == "" {
		index, err = bleve.NewUsing("", x.mapping, scorch.Name, scorch.Name, nil) // the same engine as on the disk
	} else {
		if err := clearFolder(x.dir); err != nil {
			return nil, err
		}
		index, err = bleve.New(x.dir, x.mapping)
	}
	if err == nil {
		err = index.SetInternal(keyMapping, []byte(x.print))
	}
	if err != nil {
		return nil, fmt.Errorf("make an empty index: %w", err)
	}
	return index, nil
}

func clearFolder(dir string) error {
	for _, name := range []string{metaFile, storeFolder} {
		if err := os.RemoveAll(filepath.Join(dir, name)); err != nil {
			return fmt.Errorf("clear the folder: %w", err)
		}
	}
	return nil
}

// Last returns the last entry that the index and the facts hold; the zero Mark if it is none.
func (x *Index) Last() (Mark, error) {
	var text []byte
	var kept facts.Mark
	err := x.use(func(index bleve.Index) (err error) {
		kept = x.numbers.Load().Last()
		text, err = index.GetInternal(keyLast)
		return err
	})
	if err != nil || len(text) == 0 {
		return Mark{}, err
	}
	var m Mark
	if _, err := fmt.Sscanf(string(text), "%d %s", &m.Position, &m.ID); err != nil {
		return Mark{}, fmt.Errorf("%w: its last entry: %w", ErrTorn, err)
	}
	if kept.Position < m.Position {
		m = Mark(kept)
	}
	return m, nil
}

// Put adds entries, in the journal's order. They and the position of the last are on the
// disk together, or neither is. The facts go first: what is found by its words has its numbers.
func (x *Index) Put(entries []journal.Entry) error {
	if len(entries) == 0 {
		return nil
	}
	last := entries[len(entries)-1]
	err := x.use(func(index bleve.Index) error {
		err := x.numbers.Load().Put(context.Background(), entries)
		if errors.Is(err, facts.ErrStale) {
			return fmt.Errorf("%w: %w", ErrTorn, err)
		}
		if err != nil {
			return err
		}
		batch := index.NewBatch()
		for _, e := range entries {
			job, _ := x.numbers.Load().Job(e.Job)
			if d, ok := documentOf(e, job); ok {
				if err := batch.Index(documentID(e.Position), d); err != nil {
					return fmt.Errorf("entry %s: %w", e.ID, err)
				}
			}
		}
		batch.SetInternal(keyLast, fmt.Appendf(nil, "%d %s", last.Position, last.ID))
		return index.Batch(batch)
	})
	if err != nil {
		return fmt.Errorf("index %d entries: %w", len(entries), err)
	}
	x.reached(last.Position)
	return nil
}

// Reset throws everything away; a Follower then fills the index from the beginning.
func (x *Index) Reset() error {
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.index == nil {
		return ErrClosed
	}
	_ = safely(x.index.Close) // it may be torn: what it says does not matter any more
	_ = x.numbers.Load().Close()
	x.torn.Store(false)
	index, err := x.fresh()
	x.index = index
	if err != nil {
		x.index = nil
		return fmt.Errorf("build the search index again: %w", err)
	}
	beside, err := x.factsBeside(index)
	if err != nil {
		x.index = nil
		return fmt.Errorf("build the search index again: %w", errors.Join(err, index.Close()))
	}
	x.numbers.Store(beside)
	x.reached(0)
	return nil
}

// Close frees the folder.
func (x *Index) Close() error {
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.index == nil {
		return nil
	}
	err := errors.Join(safely(x.index.Close), x.numbers.Load().Close())
	x.index = nil
	if err != nil {
		return fmt.Errorf("close search index: %w", err)
	}
	return nil
}

// Await waits until the index holds the entry at this position.
func (x *Index) Await(ctx context.Context, at journal.Position) error {
	for {
		x.moved.Lock()
		last, signal := x.moved.last, x.moved.signal
		x.moved.Unlock()
		if last >= at {
			return nil
		}
		select {
		case <-signal:
		case <-ctx.Done():
			return fmt.Errorf("wait for the search index: %w", context.Cause(ctx))
		}
	}
}

func (x *Index) reached(at journal.Position) {
	x.moved.Lock()
	defer x.moved.Unlock()
	x.moved.last = at
	close(x.moved.signal)
	x.moved.signal = make(chan struct{})
}

// use runs do on the index while nobody replaces it.
func (x *Index) use(do func(bleve.Index) error) error {
	x.mu.RLock()
	defer x.mu.RUnlock()
	if x.index == nil {
		return ErrClosed
	}
	if x.torn.Load() {
		return ErrTorn
	}
	err := safely(func() error { return do(x.index) })
	if errors.Is(err, ErrTorn) {
		x.torn.Store(true)
	}
	return err
}
