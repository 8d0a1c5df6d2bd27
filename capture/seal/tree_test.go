package seal

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/transparency-dev/merkle/rfc6962"
)

func fromHex(t *testing.T, text string) Hash {
	t.Helper()
	var h Hash
	if err := h.UnmarshalText([]byte(text)); err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return h
}

// NIST FIPS 180-4, its example messages.
func TestSHA256(t *testing.T) {
	million := sha256.New()
	for n, size := 0, 1; n < 1_000_000; size = size%65 + 1 {
		size := min(size, 1_000_000-n)
		million.Write(bytes.Repeat([]byte("a"), size))
		n += size
	}
	if got := hex.EncodeToString(million.Sum(nil)); got != "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0" {
		t.Errorf("a million a have the hash %s", got)
	}
	for in, want := range map[string]string{
		"":    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
		"abc": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
		"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq": "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
		"\xbd": "68325720aabd7c82f30f554b313d0570c95accbb7dc4b5aae11204c08ffe732b",
	} {
		if got := hashOf([]byte(in)).String(); got != want {
			t.Errorf("%q has the hash %s, want %s", in, got, want)
		}
	}
}

// The leaves of RFC 6962's well-known test tree, with their hashes and roots.
var known = []struct{ data, leaf, root string }{
	{"", "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d", "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"},
	{"00", "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7", "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"},
	{"10", "0298d122906dcfc10892cb53a73992fc5b9f493ea4c9badb27b791b4127a7fe7", "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77"},
	{"2021", "07506a85fd9dd2f120eb694f86011e5bb4662e5c415a62917033d4a9624487e7", "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"},
	{"3031", "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b", "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4"},
	{"40414243", "4271a26be0d8a84f0bd54c8c302e7cb3a3b5d1fa6780a40bcce2873477dab658", "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef"},
	{"5051525354555657", "b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f", "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c"},
	{"606162636465666768696a6b6c6d6e6f", "46f6ffadd3d06a09ff3c5860d2755c8b9819db7df44251788c7d8e3180de8eb1", "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328"},
}

const (
	n23 = "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e"
	n45 = "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a"
	n67 = "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0"
	n47 = "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"
	n46 = "837dbb152e9b079010717e84e865da4ebc0fa198a806d59d31bf15accef22d0e"
)

// grown is a tree with its whole nodes in memory.
type grown struct {
	tree tree
	all  map[node]Hash
}

func (g grown) nodes(id node) (Hash, error) {
	h, ok := g.all[id]
	if !ok {
		return h, fmt.Errorf("node %v is not there", id)
	}
	return h, nil
}

func (g grown) add(t *testing.T, leaf Hash) {
	t.Helper()
	if err := g.tree.add(leaf, func(id node, h Hash) { g.all[id] = h }); err != nil {
		t.Fatal(err)
	}
}

func grow(t *testing.T, size int) grown {
	t.Helper()
	g := grown{newTree(), map[node]Hash{}}
	for i := range size {
		data, err := hex.DecodeString(known[i].data)
		if err != nil {
			t.Fatal(err)
		}
		g.add(t, LeafHash(data))
	}
	return g
}

func TestTreeRoots(t *testing.T) {
	if got := LeafHash([]byte("L123456")).String(); got != "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56" {
		t.Errorf("leaf L123456 is %s", got)
	}
	if got := Hash(rfc6962.DefaultHasher.HashChildren([]byte("N123"), []byte("N456"))).String(); got != "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb" {
		t.Errorf("node of N123 and N456 is %s", got)
	}
	if root, err := Root(nil); err != nil || root.String() != "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855" {
		t.Errorf("the empty tree has the root %s, error %v", root, err)
	}
	var leaves []Hash
	whole := grow(t, len(known))
	for i, k := range known {
		leaf, err := whole.nodes(node{Level: 0, Index: uint64(i)})
		if err != nil || leaf.String() != k.leaf {
			t.Errorf("leaf %d is %s, error %v, want %s", i, leaf, err, k.leaf)
		}
		leaves = append(leaves, leaf)
		for _, root := range []func() (Hash, error){func() (Hash, error) { return Root(leaves) }, grow(t, i+1).tree.root, func() (Hash, error) { return nodes(whole.nodes).rootAt(uint64(i + 1)) }} {
			if got, err := root(); err != nil || got.String() != k.root {
				t.Errorf("%d leaves have the root %s, error %v, want %s", i+1, got, err, k.root)
			}
		}
	}
}

func TestProofs(t *testing.T) {
	l := func(i int) string { return known[i].leaf }
	r := func(n int) string { return known[n-1].root }
	whole := nodes(grow(t, len(known)).nodes)
	for _, tt := range []struct {
		index, size uint64
		want        []string
	}{
		{0, 1, nil},
		{0, 8, []string{l(1), n23, n47}},
		{5, 8, []string{l(4), n67, r(4)}},
		{2, 3, []string{r(2)}},
		{1, 5, []string{l(0), n23, l(4)}},
	} {
		got, err := whole.inclusion(tt.index, tt.size)
		if err != nil || !same(got, tt.want) {
			t.Errorf("inclusion of %d in %d is %v, error %v, want %v", tt.index, tt.size, got, err, tt.want)
		}
		leaf, root := fromHex(t, l(int(tt.index))), fromHex(t, r(int(tt.size)))
		if err := CheckInclusion(leaf, tt.index, tt.size, got, root); err != nil {
			t.Error(err)
		}
		refuse(t, func(index, size uint64, with []Hash, root Hash) error {
			return CheckInclusion(leaf, index, size, with, root)
		}, tt.index, tt.size, got, root)
		if CheckInclusion(leaf, tt.index, tt.size, got, leaf) == nil && tt.size > 1 {
			t.Error("the leaf is taken for the root")
		}
	}
	for _, tt := range []struct {
		from, to uint64
		want     []string
	}{
		{1, 1, nil},
		{1, 8, []string{l(1), n23, n47}},
		{6, 8, []string{n45, n67, r(4)}},
		{2, 5, []string{n23, l(4)}},
		{6, 7, []string{n45, l(6), r(4)}},
		{3, 7, []string{l(2), l(3), r(2), n46}},
		{4, 7, []string{n46}},
	} {
		got, err := whole.consistency(tt.from, tt.to)
		if err != nil || !same(got, tt.want) {
			t.Errorf("consistency from %d to %d is %v, error %v, want %v", tt.from, tt.to, got, err, tt.want)
		}
		before, after := fromHex(t, r(int(tt.from))), fromHex(t, r(int(tt.to)))
		if err := CheckConsistency(tt.from, tt.to, got, before, after); err != nil {
			t.Error(err)
		}
		if tt.from == tt.to {
			continue
		}
		refuse(t, func(from, to uint64, with []Hash, root Hash) error {
			return CheckConsistency(from, to, with, before, root)
		}, tt.from, tt.to, got, after)
		if CheckConsistency(tt.from, tt.to, got, after, before) == nil || CheckConsistency(tt.to, tt.from, got, before, after) == nil {
			t.Errorf("from %d to %d: roots or sizes the other way round are taken", tt.from, tt.to)
		}
	}
	one, two := fromHex(t, r(1)), fromHex(t, r(2))
	if CheckConsistency(1, 1, []Hash{one}, one, one) == nil || CheckConsistency(1, 1, nil, one, two) == nil {
		t.Error("equal sizes with a proof, or with other roots, are taken")
	}
	if CheckConsistency(0, 1, []Hash{one}, fromHex(t, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"), one) == nil || CheckConsistency(0, 1, nil, two, one) == nil {
		t.Error("size 0 with a proof, or with another root, is taken")
	}
}

func same(got []Hash, want []string) bool {
	return slices.EqualFunc(got, want, func(h Hash, text string) bool { return h.String() == text })
}

// refuse changes a proof that holds in each way of the public test data, and wants each refused.
func refuse(t *testing.T, check func(at, size uint64, with []Hash, root Hash) error, at, size uint64, with []Hash, root Hash) {
	t.Helper()
	never := func(what string, err error) {
		t.Helper()
		if !errors.Is(err, ErrProof) {
			t.Errorf("%d in %d: %s gives %v, want ErrProof", at, size, what, err)
		}
	}
	never("an index too high", check(at+1, size, with, root))
	if at > 0 {
		never("an index too low", check(at-1, size, with, root))
	}
	if size > 1 {
		never("twice the size", check(at, size*2, with, root))
		never("half the size", check(at, size/2, with, root))
	}
	never("an empty root", check(at, size, with, Hash{}))
	never("the root of an empty tree", check(at, size, with, hashOf(nil)))
	never("a random root", check(at, size, with, hashOf([]byte("random"))))
	never("something behind", check(at, size, append(slices.Clone(with), Hash{}), root))
	never("the root behind", check(at, size, append(slices.Clone(with), root), root))
	never("the root in front", check(at, size, append([]Hash{root}, with...), root))
	for i := range with {
		for bit := range 256 {
			changed := slices.Clone(with)
			changed[i][bit/8] ^= 1 << (bit % 8)
			never("a bit flipped", check(at, size, changed, root))
		}
		never("one left out", check(at, size, slices.Delete(slices.Clone(with), i, i+1), root))
		never("one twice", check(at, size, slices.Insert(slices.Clone(with), i, with[i]), root))
		never("one more", check(at, size, slices.Insert(slices.Clone(with), i, Hash{}), root))
	}
}

// Every proof of every size up to 70 holds, and trees that are read back go on as they were.
func TestAllSmallTrees(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 0))
	g := grown{newTree(), map[node]Hash{}}
	var leaves []Hash
	var roots []Hash
	for size := range uint64(71) {
		root, err := Root(leaves)
		if err != nil {
			t.Fatal(err)
		}
		roots = append(roots, root)
		kept := nodes(g.nodes)
		for i := range size {
			with, err := kept.inclusion(i, size)
			if err != nil || CheckInclusion(leaves[i], i, size, with, root) != nil {
				t.Fatalf("leaf %d of %d: %v", i, size, err)
			}
			with, err = kept.consistency(i, size)
			if err != nil || CheckConsistency(i, size, with, roots[i], root) != nil {
				t.Fatalf("from %d to %d: %v", i, size, err)
			}
		}
		if g.tree, err = treeOf(size, kept); err != nil {
			t.Fatal(err)
		}
		leaf := hashOf([]byte{byte(random.Uint32())})
		leaves = append(leaves, leaf)
		g.add(t, leaf)
	}
}

func TestHashIsReadAsItIsWritten(t *testing.T) {
	h := hashOf([]byte("x"))
	text := h.String()
	for _, wrong := range []string{"", text[:63], text + "0", "g" + text[1:], "A" + text[1:], " " + text[1:]} {
		var got Hash
		if err := got.UnmarshalText([]byte(wrong)); err == nil {
			t.Errorf("%q is read as %s", wrong, got)
		}
	}
}
