package seal

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"readback/capture/folder"
	"readback/capture/journal"
)

// prepare goes on from where the trees in the file are, if they are those of this journal and of the newest
// head. Otherwise they are built again from the journal.
func (s *Sealer) prepare(ctx context.Context) error {
	s.sound = false
	b, err := newBuilder(ctx, s.trees, s.chain)
	if err == nil {
		err = s.same(ctx, b)
	}
	if ctx.Err() != nil || errors.Is(err, journal.ErrClosed) {
		return err
	}
	if err != nil {
		s.cfg.Log.Warn().Err(err).Msg("trees of the seal are built again from the journal")
		return s.rebuild(ctx)
	}
	s.begin(b)
	return nil
}

func (s *Sealer) begin(b *builder) {
	b.seen = func(e journal.Entry, _ Hash, fault error) {
		if fault != nil && !s.told[e.Job] {
			s.told[e.Job] = true
			s.mu.Lock()
			s.unsealed = append(s.unsealed, e.Job)
			s.mu.Unlock()
			s.cfg.Log.Error().Err(fault).Str("job", e.Job).Int64("seq", e.Seq).Msg("job is sealed up to here and no further")
		}
	}
	s.build = b
}

// same checks that the last entry in the trees is where the journal has it, and that the trees are those of
// the newest head, if they have come so far.
func (s *Sealer) same(ctx context.Context, b *builder) error {
	if h := s.head.Head; h.Size > 0 && b.shop.size() >= h.Size {
		root, err := s.trees.of(ctx, shopTree).rootAt(h.Size)
		if err != nil {
			return err
		}
		if root != h.Root {
			return errors.New("they are not those of the newest head")
		}
	}
	if b.at == 0 {
		return nil
	}
	entries, err := s.cfg.Source.After(ctx, b.at-1, 1)
	if err != nil {
		return fmt.Errorf("seal: %w", err)
	}
	if len(entries) == 0 || entries[0].Position != b.at {
		return errors.New("the journal does not have the last entry")
	}
	e := entries[0]
	sealed, err := s.trees.entries(ctx, e.Job)
	if err != nil || uint64(e.Seq) > sealed {
		return err // that job is not sealed so far
	}
	leaf, err := leafOf(e)
	if err != nil {
		return err
	}
	kept, err := s.trees.of(ctx, e.Job)(node{Level: 0, Index: uint64(e.Seq - 1)})
	if err != nil {
		return err
	}
	shop, err := s.trees.place(ctx, e.Job, uint64(e.Seq))
	if err == nil && (kept != leaf || shop != s.chain.lastEntry(b.shop.size())) {
		err = errors.New("the journal has another last entry")
	}
	return err
}

// rebuild builds the trees again from the journal, beside those that are there. They take their place only
// if they are what the newest head was signed of. Otherwise the record was changed.
func (s *Sealer) rebuild(ctx context.Context) error {
	began := time.Now()
	b, fault, err := rebuilt(ctx, s.cfg.Source, s.chain, s.head.Head, s.trees, s.path(treesFile)+".new")
	if err != nil {
		return err
	}
	if fault != "" {
		return errors.Join(changed("%s", fault), b.trees.close(), removeTrees(s.path(treesFile)+".new"))
	}
	if err := errors.Join(b.trees.close(), s.trees.close(), removeTrees(s.path(treesFile)), os.Rename(s.path(treesFile)+".new", s.path(treesFile)), folder.Sync(s.path(""))); err != nil {
		return fmt.Errorf("put the trees in their place: %w", err)
	}
	fresh, err := openTrees(ctx, s.path(treesFile))
	if err != nil {
		return err
	}
	s.mu.Lock()
	s.trees = fresh
	s.mu.Unlock()
	if b, err = newBuilder(ctx, fresh, s.chain); err != nil {
		return err
	}
	s.begin(b)
	s.cfg.Log.Info().Uint64("size", b.shop.size()).Dur("took", time.Since(began)).Msg("trees of the seal were built from the journal")
	return s.settle(ctx, false)
}

// rebuilt builds trees from the journal into a new file, and says in words what is not as the head has it,
// and at which entry as far as the old trees tell.
func rebuilt(ctx context.Context, from Source, c chain, head Head, old *trees, path string) (*builder, string, error) {
	if err := removeTrees(path); err != nil {
		return nil, "", err
	}
	t, err := openTrees(ctx, path)
	if err != nil {
		return nil, "", err
	}
	b, err := newBuilder(ctx, t, c)
	if err != nil {
		return nil, "", errors.Join(err, t.close())
	}
	first := compare(ctx, b, head, old)
	for n := readAtOnce; n == readAtOnce; {
		if n, err = b.advance(ctx, from); err == nil {
			err = context.Cause(ctx)
		}
		if err != nil {
			return nil, "", errors.Join(err, t.close())
		}
	}
	switch root, err := rootOf(ctx, b, head.Size); {
	case b.shop.size() < head.Size && *first == "":
		return b, fmt.Sprintf("the journal has fewer entries than were sealed: the log has %d leaves and had %d", b.shop.size(), head.Size), nil
	case err != nil:
		return nil, "", errors.Join(err, t.close())
	case head.Size > 0 && root != head.Root && *first == "":
		return b, "the journal is not what was sealed, and which entry it is cannot be told: the trees are lost", nil
	case head.Size > 0 && root != head.Root:
		return b, *first, nil
	}
	return b, "", nil
}

func rootOf(ctx context.Context, b *builder, size uint64) (Hash, error) {
	if size == 0 || b.shop.size() < size {
		return Hash{}, nil
	}
	return b.trees.of(ctx, shopTree).rootAt(size)
}

// compare makes the builder say at which entry the journal first differs from the old trees, if those are
// what the head was signed of.
func compare(ctx context.Context, b *builder, head Head, old *trees) *string {
	first := new(string)
	if old == nil || head.Size == 0 {
		return first
	}
	if root, err := old.of(ctx, shopTree).rootAt(head.Size); err != nil || root != head.Root {
		return first
	}
	b.seen = func(e journal.Entry, leaf Hash, fault error) {
		if *first != "" {
			return
		}
		shop, err := old.place(ctx, e.Job, uint64(e.Seq))
		switch {
		case fault != nil && err == nil:
			*first = fmt.Sprintf("entry %d of job %s is not what was sealed: %v", e.Seq, e.Job, fault)
		case err != nil || shop >= head.Size:
			return // it is newer than the head
		case shop != b.shop.size():
			*first = fmt.Sprintf("entry %d of job %s is not where it was sealed: entries before it are missing, or were added", e.Seq, e.Job)
		default:
			if was, err := old.of(ctx, e.Job)(node{Level: 0, Index: uint64(e.Seq - 1)}); err == nil && was != leaf {
				*first = fmt.Sprintf("entry %d of job %s is not what was sealed", e.Seq, e.Job)
			}
		}
	}
	return first
}

// removeTrees removes a file of trees with what SQLite keeps beside it.
func removeTrees(path string) error {
	for _, behind := range []string{"", "-wal", "-shm"} {
		if err := os.Remove(path + behind); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("remove the old trees: %w", err)
		}
	}
	return nil
}
