package seal

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"

	"readback/capture/journal"
)

// Examine reads every entry of a data folder and compares it with what was sealed: with the newest signed
// head, and with the last one that the witness has, if it is named. It changes nothing, and goes on beside a
// server; scratch is a folder for a file of the size of the trees. Without a seal it gives [ErrNone].
func Examine(ctx context.Context, data, witness, scratch string, from Source) (report Report, err error) {
	known := sync.OnceValues(func() (SignedHead, error) { return ReadHead(witness) })
	if witness != "" {
		_, _ = known() // before the journal, which grows beside: a later head would have more than was read
	}
	record, err := openHead(data, "", nil)
	if errors.Is(err, ErrChanged) {
		report.wrong(0, "%s", err)
		return report, nil
	}
	if err != nil {
		return report, err
	}
	if record.trees, err = readTrees(ctx, filepath.Join(data, sealFolder, treesFile)); err == nil {
		defer func() { err = errors.Join(err, record.Close()) }()
	} else {
		report.notChecked("which entry it is, if one was changed: the trees of the seal are torn or gone, and the next start of the server builds them again")
	}
	x := examination{ctx: ctx, record: record, report: &report, unsealed: map[string]int64{}}
	b, err := x.read(from, filepath.Join(scratch, treesFile))
	if err != nil {
		return report, err
	}
	defer func() { err = errors.Join(err, b.trees.close()) }()
	if err := x.compareHead(b); err != nil {
		return report, err
	}
	if witness == "" {
		report.notChecked("whether a witness knows more: name its file with --witness")
		return report, nil
	}
	return report, x.compareWitness(b, known)
}

// examination is one that is going on.
type examination struct {
	ctx      context.Context //nolint:containedctx // it lives as long as one examination
	record   *Record
	report   *Report
	unsealed map[string]int64 // of each job that could not be sealed whole: the first entry
	shown    int
}

// read builds the trees from the journal into a file, and tells of each entry that is not what the trees of
// the folder have.
func (x *examination) read(from Source, path string) (*builder, error) {
	t, err := openTrees(x.ctx, path)
	if err != nil {
		return nil, err
	}
	b, err := newBuilder(x.ctx, t, x.record.chain)
	if err != nil {
		return nil, errors.Join(err, t.close())
	}
	b.seen = x.look
	for n := readAtOnce; n == readAtOnce; {
		if n, err = b.advance(x.ctx, from); err == nil {
			err = context.Cause(x.ctx)
		}
		if err != nil {
			return nil, errors.Join(err, t.close())
		}
	}
	return b, nil
}

// look compares an entry with its leaf in the trees of the folder. Those are a cache: where they have none,
// the heads alone decide.
func (x *examination) look(e journal.Entry, leaf Hash, fault error) {
	x.report.Entries++
	if fault != nil {
		if _, told := x.unsealed[e.Job]; !told {
			x.unsealed[e.Job] = e.Seq
			x.wrong(e, "%v: the job is sealed up to here and no further", fault)
		}
		return
	}
	if x.record.trees == nil {
		return
	}
	was, err := x.record.trees.of(x.ctx, e.Job)(node{Level: 0, Index: uint64(e.Seq - 1)})
	if err == nil && was != leaf {
		x.wrong(e, "it is not what was sealed")
	}
}

func (x *examination) wrong(e journal.Entry, format string, args ...any) {
	if x.shown++; x.shown <= faultsShown {
		x.report.wrong(e.Seq, "job %s: %s", e.Job, fmt.Sprintf(format, args...))
	}
}

func (x *examination) compareHead(b *builder) error {
	if more := x.shown - faultsShown; more > 0 {
		x.report.wrong(0, "%d more entries are wrong", more)
	}
	head := x.record.head.Head
	if b.shop.size() < head.Size {
		x.report.wrong(0, "the journal has fewer entries than were sealed: the log has %d leaves and had %d", b.shop.size(), head.Size)
		return nil
	}
	root, err := rootOf(x.ctx, b, head.Size)
	if err != nil {
		return err
	}
	if root != head.Root {
		x.report.wrong(0, "the journal is not what the newest head was signed of (%d leaves, %s)", head.Size, clock(head.At))
		return nil
	}
	if e := x.record.chain.lost(); e != nil {
		x.report.Told = append(x.report.Told, e.words())
	}
	x.report.checked("the journal is what key %s signed last: %d leaves, %s", head.Key, head.Size, clock(head.At))
	if more := b.shop.size() - head.Size; more > 0 {
		x.report.notChecked("the last %d entries, which are not sealed yet", more)
	}
	return nil
}

func (x *examination) compareWitness(b *builder, known func() (SignedHead, error)) error {
	head, err := known()
	if err != nil {
		x.report.wrong(0, "the witness cannot be asked: %v", err)
		return nil
	}
	if x.record.chain.gaveUp(head) {
		x.report.checked("what the witness knows last is what was lost; it gets the next head when the server starts")
		return nil
	}
	if err := x.record.chain.checkHead(head); err != nil {
		x.report.wrong(0, "the last head of the witness is not of this log")
		return nil //nolint:nilerr // it is told
	}
	root, err := rootOf(x.ctx, b, head.Head.Size)
	switch {
	case err != nil:
		return err
	case b.shop.size() < head.Head.Size:
		x.report.wrong(0, "the witness has a head of %d leaves, and the log has %d: the record was put back from an older copy, or its end was cut off. If a newer copy is nowhere, `readback loss` writes down what is lost", head.Head.Size, b.shop.size())
	case root != head.Head.Root:
		x.report.wrong(0, "the witness has another head of %d leaves: the record was changed since %s", head.Head.Size, clock(head.Head.At))
	default:
		x.report.checked("the journal is what the witness knows: %d leaves, %s", head.Head.Size, clock(head.Head.At))
	}
	return nil
}

// Scratch makes a folder for [Examine]; the function removes it.
func Scratch() (path string, remove func() error, err error) {
	path, err = os.MkdirTemp("", "readback-doctor-")
	if err != nil {
		return "", nil, fmt.Errorf("make room for the trees: %w", err)
	}
	return path, func() error { return os.RemoveAll(path) }, nil
}
