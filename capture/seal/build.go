package seal

import (
	"context"
	"encoding/json"
	"fmt"

	"readback/capture/journal"
)

// readAtOnce is how many entries are sealed in one go.
const readAtOnce = 1000

// jobsAtHand is how many jobs' trees are kept in memory.
const jobsAtHand = 1000

// Source is the journal that is sealed.
type Source interface {
	After(ctx context.Context, at journal.Position, limit int) ([]journal.Entry, error)
}

// builder adds entries to trees. After an error it is of no more use: the trees in the file are whole, its
// own are not.
type builder struct {
	trees *trees
	chain chain // every event; those past the end of the log are still to come
	at    journal.Position
	shop  tree
	jobs  map[string]tree
	// seen is called with each entry that is added, and with each that cannot be and why.
	seen func(e journal.Entry, leaf Hash, fault error)
}

// newBuilder goes on from where the trees are.
func newBuilder(ctx context.Context, t *trees, c chain) (*builder, error) {
	b := &builder{trees: t, chain: c, jobs: map[string]tree{}, seen: func(journal.Entry, Hash, error) {}}
	at, size, err := t.progress(ctx)
	if err != nil {
		return nil, err
	}
	b.at = at
	b.shop, err = treeOf(size, t.of(ctx, shopTree))
	return b, err
}

// advance adds the next entries of the journal, and returns how many it has read.
func (b *builder) advance(ctx context.Context, from Source) (int, error) {
	entries, err := from.After(ctx, b.at, readAtOnce)
	if err != nil {
		return 0, fmt.Errorf("seal: %w", err)
	}
	if len(entries) == 0 && !b.due() {
		return 0, nil
	}
	if len(b.jobs) > jobsAtHand { // between two batches, when the file has all of them
		clear(b.jobs)
	}
	ctx = context.WithoutCancel(ctx)
	to, err := b.trees.begin(ctx)
	if err != nil {
		return 0, err
	}
	for _, e := range entries {
		if to.err == nil {
			to.err = b.add(ctx, to, e)
		}
		b.at = e.Position
	}
	if to.err == nil {
		to.err = b.events(ctx, to)
	}
	return len(entries), to.commit(ctx, b.at, b.shop.size())
}

// due reports whether an event of the key comes next in the shop log.
func (b *builder) due() bool {
	for _, e := range b.chain {
		if e.Index == b.shop.size() {
			return true
		}
	}
	return false
}

// events adds the events of the key that come next in the shop log.
func (b *builder) events(ctx context.Context, to *batch) error {
	for _, e := range b.chain {
		if e.Index != b.shop.size() {
			continue
		}
		leaf, err := e.Entry.leaf()
		if err != nil {
			return err
		}
		if err := b.shop.add(leaf, to.put(ctx, shopTree)); err != nil {
			return err
		}
	}
	return nil
}

// add adds an entry to the tree of its job, and the job's head to the shop log. An entry without a
// canonical form cannot be sealed, nor can those behind it: a job is sealed up to there.
func (b *builder) add(ctx context.Context, to *batch, e journal.Entry) error {
	if err := b.events(ctx, to); err != nil {
		return err
	}
	job, err := b.job(ctx, e.Job)
	if err != nil {
		return err
	}
	if have := job.size(); uint64(e.Seq) != have+1 {
		b.seen(e, Hash{}, fmt.Errorf("it follows on entry %d", have))
		return nil
	}
	leaf, err := leafOf(e)
	if err != nil {
		b.seen(e, Hash{}, err)
		return nil
	}
	b.seen(e, leaf, nil)
	if err := job.add(leaf, to.put(ctx, e.Job)); err != nil {
		return err
	}
	root, err := job.root()
	if err != nil {
		return err
	}
	head, err := JobHead{Job: e.Job, Root: root, Size: job.size()}.leaf()
	if err != nil {
		return err
	}
	to.sealed(ctx, e.Job, e.Seq, b.shop.size())
	return b.shop.add(head, to.put(ctx, shopTree))
}

// leafOf returns the leaf of an entry as it is kept.
func leafOf(e journal.Entry) (Hash, error) {
	text, err := json.Marshal(e)
	if err != nil {
		return Hash{}, fmt.Errorf("entry %d of job %s: %w", e.Seq, e.Job, err)
	}
	return EntryHash(text)
}

// job returns the tree of a job.
func (b *builder) job(ctx context.Context, name string) (tree, error) {
	if t, ok := b.jobs[name]; ok {
		return t, nil
	}
	size, err := b.trees.entries(ctx, name)
	if err != nil {
		return tree{}, err
	}
	t, err := treeOf(size, b.trees.of(ctx, name))
	if err == nil {
		b.jobs[name] = t
	}
	return t, err
}
