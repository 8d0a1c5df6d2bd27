package seal

import (
	"errors"
	"fmt"

	"github.com/transparency-dev/merkle/compact"
	"github.com/transparency-dev/merkle/proof"
	"github.com/transparency-dev/merkle/rfc6962"
)

// ErrProof is of a proof that does not hold.
var ErrProof = errors.New("the proof does not hold")

var ranges = compact.RangeFactory{Hash: rfc6962.DefaultHasher.HashChildren}

// LeafHash returns SHA-256(00 || data), the hash of a leaf.
func LeafHash(data []byte) Hash { return Hash(rfc6962.DefaultHasher.HashLeaf(data)) }

// EntryHash returns the leaf of an entry, of its JSON.
func EntryHash(text []byte) (Hash, error) {
	data, err := Canonical(text)
	if err != nil {
		return Hash{}, err
	}
	return LeafHash(data), nil
}

// node names a node of a tree: level 0 are the leaves. Each is whole: it has two children that are whole.
type node = compact.NodeID

// nodes are the whole nodes of one tree, as far as they are kept.
type nodes func(id node) (Hash, error)

// tree is one that grows: what is needed of a tree to append to it.
type tree struct{ right *compact.Range }

func newTree() tree { return tree{ranges.NewEmptyRange(0)} }

// treeOf returns a tree of that size, of which the nodes are kept.
func treeOf(size uint64, kept nodes) (tree, error) {
	hashes, err := kept.all(compact.RangeNodes(0, size, nil))
	if err != nil {
		return tree{}, err
	}
	right, err := ranges.NewRange(0, size, hashes)
	if err != nil {
		return tree{}, fmt.Errorf("tree of %d leaves: %w", size, err)
	}
	return tree{right}, nil
}

func (t tree) size() uint64 { return t.right.End() }

// add appends a leaf, and calls made with each node that is whole now.
func (t tree) add(leaf Hash, made func(node, Hash)) error {
	err := t.right.Append(leaf[:], func(id node, hash []byte) { made(id, Hash(hash)) })
	if err != nil {
		return fmt.Errorf("append to a tree of %d leaves: %w", t.size(), err)
	}
	return nil
}

func (t tree) root() (Hash, error) {
	if t.size() == 0 {
		return Hash(rfc6962.DefaultHasher.EmptyRoot()), nil
	}
	root, err := t.right.GetRootHash(nil)
	if err != nil {
		return Hash{}, fmt.Errorf("root of %d leaves: %w", t.size(), err)
	}
	return Hash(root), nil
}

// Root returns the root of a tree with these leaves.
func Root(leaves []Hash) (Hash, error) {
	t := newTree()
	for _, leaf := range leaves {
		if err := t.add(leaf, func(node, Hash) {}); err != nil {
			return Hash{}, err
		}
	}
	return t.root()
}

// all reads nodes.
func (n nodes) all(ids []node) ([][]byte, error) {
	out := make([][]byte, len(ids))
	for i, id := range ids {
		hash, err := n(id)
		if err != nil {
			return nil, err
		}
		out[i] = hash[:]
	}
	return out, nil
}

// rootAt returns the root that the tree had when it had size leaves.
func (n nodes) rootAt(size uint64) (Hash, error) {
	t, err := treeOf(size, n)
	if err != nil {
		return Hash{}, err
	}
	return t.root()
}

// inclusion proves that a leaf is in the tree of that size.
func (n nodes) inclusion(index, size uint64) ([]Hash, error) {
	need, err := proof.Inclusion(index, size)
	if err != nil {
		return nil, fmt.Errorf("leaf %d of %d: %w", index, size, err)
	}
	return n.prove(need)
}

// consistency proves that the tree of one size begins as that of a smaller one.
func (n nodes) consistency(from, to uint64) ([]Hash, error) {
	need, err := proof.Consistency(from, to)
	if err != nil {
		return nil, fmt.Errorf("from %d to %d leaves: %w", from, to, err)
	}
	return n.prove(need)
}

func (n nodes) prove(need proof.Nodes) ([]Hash, error) {
	hashes, err := n.all(need.IDs)
	if err != nil {
		return nil, err
	}
	hashes, err = need.Rehash(hashes, rfc6962.DefaultHasher.HashChildren)
	if err != nil {
		return nil, fmt.Errorf("make a proof: %w", err)
	}
	out := make([]Hash, len(hashes))
	for i, hash := range hashes {
		out[i] = Hash(hash)
	}
	return out, nil
}

// CheckInclusion checks that a leaf stands at index in the tree of size leaves with that root. The error
// is [ErrProof], wrapped.
func CheckInclusion(leaf Hash, index, size uint64, with []Hash, root Hash) error {
	if err := proof.VerifyInclusion(rfc6962.DefaultHasher, index, size, leaf[:], bytesOf(with), root[:]); err != nil {
		return fmt.Errorf("%w: %w", ErrProof, err)
	}
	return nil
}

// CheckConsistency checks that the tree of to leaves with one root begins as that of from leaves with the
// other. The error is [ErrProof], wrapped. Everything begins as an empty tree.
func CheckConsistency(from, to uint64, with []Hash, before, after Hash) error {
	if from == 0 && before != Hash(rfc6962.DefaultHasher.EmptyRoot()) {
		return fmt.Errorf("%w: an empty tree has another root", ErrProof)
	}
	if err := proof.VerifyConsistency(rfc6962.DefaultHasher, from, to, bytesOf(with), before[:], after[:]); err != nil {
		return fmt.Errorf("%w: %w", ErrProof, err)
	}
	return nil
}

func bytesOf(hashes []Hash) [][]byte {
	out := make([][]byte, len(hashes))
	for i := range hashes {
		out[i] = hashes[i][:]
	}
	return out
}
