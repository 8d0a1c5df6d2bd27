package seal_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"io"
	"maps"
	"slices"
	"strings"
	"testing"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/seal"
)

// soundOf is the sound of a note, of three parts and of one.
func soundOf(n int) []byte {
	return bytes.Repeat([]byte{byte(n), 0xff, 'f'}, 10+n%2*40_000)
}

func hashText(data []byte) string { return seal.Hash(sha256.Sum256(data)).String() }

type part = map[string]any

func fileOf(data []byte) part {
	var parts []any
	for piece := range slices.Chunk(data, seal.FilePart) {
		parts = append(parts, base64.StdEncoding.EncodeToString(piece))
	}
	return part{"hash": hashText(data), "parts": parts}
}

// inside is a sealed job of 8 entries, and its bundle: the sounds of 3 and 5 and the photo of 6 are inside, that of 2 was
// purged by 7, those of 1 and 4 are kept by their hash alone. If it is not signed, nobody says which were inside.
func inside(t *testing.T, signed bool, soundOf func(int) []byte) (*seal.Sealer, []byte) {
	t.Helper()
	s := newShop(t)
	entries := []journal.Entry{journaltest.Opening("MW-1041", 1)}
	for n := 2; n <= 5; n++ {
		entries = append(entries, journaltest.Note("MW-1041", n))
		if n != 4 {
			entries[n-1].Sound = hashText(soundOf(n))
		}
	}
	photo := journaltest.Photo("MW-1041", 6, 5)
	photo.Photo = hashText(soundOf(6))
	purge := journaltest.Purge("MW-1041", 7, 2)
	purge.Purge.Items[0].Hash = entries[1].Sound
	last := journaltest.Note("MW-1041", 8)
	last.Sound = ""
	s.keep(append(entries, photo, purge, last)...)
	sealer, end := s.open()
	t.Cleanup(end)
	s.until(sealer, "all", size(9))
	proof, err := sealer.Prove(t.Context(), "MW-1041", 8, 0)
	must(t, err)
	rest := map[string]json.RawMessage{}
	if signed {
		rest["evidence"] = json.RawMessage(`[{"seq":2,"state":"purged"},{"seq":3,"state":"kept","inside":true},{"seq":4,"state":"missing"},{"seq":5,"state":"kept","inside":true},{"seq":6,"state":"kept","inside":true}]`)
		must(t, sealer.Sign(t.Context(), proof, rest))
	}
	text, err := json.Marshal([]any{fileOf(soundOf(3)), fileOf(soundOf(5)), fileOf(soundOf(6))})
	must(t, err)
	rest["files"] = text
	return sealer, write(t, s.entries("MW-1041"), proof, rest)
}

func TestFilesInside(t *testing.T) {
	_, text := inside(t, true, soundOf)
	r, err := verify(t, text, seal.Expect{})
	if err != nil || !r.Holds() {
		t.Fatalf("error %v\n%s", err, words(r))
	}
	for _, want := range []string{
		"inside, and what the entries name by hash: 2 sounds and 1 photo (entries 3, 5, 6)",
		`purged, as entry 7 says ("older than 90 days"): 1 sound (entry 2)`,
		"that are not in the bundle, though their hashes are: 2 sounds (entries 1, 4)",
	} {
		if !strings.Contains(words(r), want) {
			t.Errorf("it does not say %q:\n%s", want, words(r))
		}
	}
	list := func(b part) []any { return b["files"].([]any) }
	parts := func(b part, i int) []any { return list(b)[i].(part)["parts"].([]any) }
	for _, tt := range []struct {
		name   string
		change func(b part)
		says   string // a fault, or why it cannot be read
	}{
		{"another sound", func(b part) { list(b)[1] = part{"hash": hashText(soundOf(5)), "parts": fileOf(soundOf(9))["parts"]} }, "5: the sound that is inside is not the one whose hash was sealed"},
		{"another photo", func(b part) { parts(b, 2)[0] = "AAAA" }, "6: the photo that is inside is not the one"},
		{"a sound of no entry", func(b part) { b["files"] = append(list(b), fileOf(soundOf(9))) }, "0: a file is inside that no entry names: " + hashText(soundOf(9))},
		{"a sound less", func(b part) { b["files"] = list(b)[1:] }, "3: its sound was inside when the bundle was made, and is missing"},
		{"no files", func(b part) { delete(b, "files") }, "6: its photo was inside when the bundle was made, and is missing"},
		{"one twice", func(b part) { b["files"] = append(list(b), list(b)[0]) }, "3: its sound is inside twice, or behind that of a later entry"},
		{"moved", func(b part) { list(b)[0], list(b)[1] = list(b)[1], list(b)[0] }, "3: its sound is inside twice, or behind that of a later entry"},
		{"one that was purged", func(b part) { b["files"] = slices.Insert(list(b), 0, any(fileOf(soundOf(2)))) }, "2: the record says that its sound was purged, and it is inside"},
		{"one marked as inside", func(b part) { b["evidence"].([]any)[0].(part)["inside"] = true }, "0: what the bundle says beside its entries"},
		{"a part less", func(b part) { list(b)[1].(part)["parts"] = parts(b, 1)[1:] }, "5: the sound that is inside is not the one"},
		{"parts cut otherwise", func(b part) {
			var p []any
			for piece := range slices.Chunk(soundOf(5), 30_000) {
				p = append(p, base64.StdEncoding.EncodeToString(piece))
			}
			list(b)[1].(part)["parts"] = p
		}, "its files are none"},
		{"an empty part", func(b part) { list(b)[0].(part)["parts"] = append(parts(b, 0), "") }, "its files are none"},
		{"a line break in it", func(b part) { parts(b, 0)[0] = parts(b, 0)[0].(string) + "\n" }, "its files are none"},
		{"no base64", func(b part) { parts(b, 0)[0] = "?" }, "its files are none"},
		{"one more member", func(b part) { list(b)[0].(part)["name"] = "../../x" }, "its files are none"},
		{"no hash", func(b part) { delete(list(b)[0].(part), "hash") }, "its files are none"},
		{"no parts", func(b part) { delete(list(b)[0].(part), "parts") }, "its files are none"},
		{"an empty list", func(b part) { b["files"] = []any{} }, "its files are none"},
		{"null", func(b part) { b["files"] = nil }, "its files are none"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := parsed(t, text)
			tt.change(b)
			changed, err := json.Marshal(b)
			must(t, err)
			r, err := verify(t, changed, seal.Expect{})
			if err == nil && (r.Holds() || !strings.Contains("\n"+words(r), "\n"+tt.says)) || err != nil && (!errors.Is(err, seal.ErrUnreadable) || !strings.Contains(err.Error(), tt.says)) {
				t.Errorf("error %v, want %q:\n%s", err, tt.says, words(r))
			}
		})
	}
}

// ordered writes the members of a bundle in an order: of JSON that is no change.
func ordered(t *testing.T, b part, names ...string) []byte {
	t.Helper()
	var out bytes.Buffer
	for i, name := range names {
		value, err := json.Marshal(b[name])
		must(t, err)
		out.WriteByte("{,"[min(i, 1)])
		out.WriteString(`"` + name + `":` + string(value))
	}
	out.WriteByte('}')
	return out.Bytes()
}

func TestOrderOfMembers(t *testing.T) {
	_, text := inside(t, true, soundOf)
	for _, names := range [][]string{{"files", "seal", "evidence", "entries"}, {"seal", "files", "entries", "evidence"}, {"entries", "files", "evidence", "seal"}} {
		moved := ordered(t, parsed(t, text), names...)
		var k taken
		if r, err := verify(t, moved, seal.Expect{Takeout: &k}); err != nil || !r.Holds() || len(k.found) != 3 {
			t.Errorf("%v: error %v, %d taken out\n%s", names, err, len(k.found), words(r))
		}
	}
	file := fileOf(soundOf(3))
	at := bytes.Index(text, []byte(`{"hash":"`+hashText(soundOf(3))))
	end := at + bytes.IndexByte(text[at:], '}') + 1
	turned := slices.Concat(text[:at], ordered(t, file, "parts", "hash"), text[end:])
	if r, err := verify(t, turned, seal.Expect{}); err != nil || !r.Holds() {
		t.Errorf("parts before the hash: error %v\n%s", err, words(r))
	}
}

// A forged entry names a sound that is inside: it holds by its hash, and is not taken out as a true one.
func TestTakeoutOfAForgery(t *testing.T) {
	_, text := inside(t, true, soundOf)
	forged := soundOf(9)
	for _, tt := range []struct {
		name   string
		change func(b part)
		want   seal.Expect
		taken  []int64
	}{
		{"an entry with another sound", func(b part) {
			b["entries"].([]any)[2].(part)["sound"] = hashText(forged)
			b["files"].([]any)[0] = fileOf(forged)
		}, seal.Expect{}, []int64{5, 6}},
		{"an entry that was added", func(b part) {
			last := maps.Clone(b["entries"].([]any)[4].(part))
			last["seq"], last["sound"] = 9, hashText(forged)
			b["entries"], b["files"] = append(b["entries"].([]any), last), append(b["files"].([]any), fileOf(forged))
		}, seal.Expect{}, []int64{3, 5, 6}},
		{"another key than was asked for", func(part) {}, seal.Expect{Key: &seal.Hash{1}}, nil},
		{"no seal", func(b part) { delete(b, "seal") }, seal.Expect{}, nil},
		{"leaves to fit", func(b part) { b["seal"].(part)["leaves"].([]any)[0] = hashText(nil) }, seal.Expect{}, nil},
		{"a head that nobody signed", func(b part) { h := b["seal"].(part)["head"].(part); h["size"] = json.Number("77") }, seal.Expect{}, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := parsed(t, text)
			tt.change(b)
			changed, err := json.Marshal(b)
			must(t, err)
			var k taken
			tt.want.Takeout = &k
			r, err := verify(t, changed, tt.want)
			var got []int64
			for _, f := range k.found {
				got = append(got, f.Entry)
			}
			if err != nil || r.Holds() || !slices.Equal(got, tt.taken) || !strings.Contains(words(r), "taken out") {
				t.Errorf("error %v, taken out %v, want %v\n%s", err, got, tt.taken, words(r))
			}
		})
	}
}

// What an entry tells of the record is text of whoever made the bundle, and does nothing to a terminal.
func TestToldIsPlain(t *testing.T) {
	_, text := inside(t, true, soundOf)
	b := parsed(t, text)
	e := b["entries"].([]any)
	e[1].(part)["kind"], e[1].(part)["text"] = "clock", "a\x1b[2Jb"+strings.Repeat("x", 5000)
	e[6].(part)["purge"].(part)["rule"] = "\x1b[2J" + strings.Repeat("y", 5000)
	items := make([]any, 5000)
	for i := range items {
		items[i] = part{"seq": i + 1}
	}
	e[6].(part)["purge"].(part)["items"] = items
	changed, err := json.Marshal(b)
	must(t, err)
	r, err := verify(t, changed, seal.Expect{})
	if said := strings.Join(append(r.Told, r.Checked...), "\n"); err != nil || len(r.Told) != 2 || strings.Contains(said, "\x1b") || len(said) > 4000 || !strings.Contains(said, "4980 more") {
		t.Errorf("error %v, %d bytes: %.3000q", err, len(said), said)
	}
}

// Without the key nobody says which files were inside; those that are, are checked.
func TestFilesInsideOfABundleThatSaysNothing(t *testing.T) {
	_, text := inside(t, false, soundOf)
	r, err := verify(t, text, seal.Expect{})
	if err != nil || !r.Holds() || !strings.Contains(words(r), "(entries 3, 5, 6)") || !strings.Contains(words(r), "whether more sounds and photos were inside") {
		t.Errorf("error %v\n%s", err, words(r))
	}
}

// taken collects what is taken out of a bundle.
type taken struct {
	now   bytes.Buffer
	ended map[seal.Hash][]byte
	found []seal.Found
	all   [][]byte
	fails error
}

func (k *taken) Begin() (io.Writer, error) { k.now.Reset(); return &k.now, k.fails }

func (k *taken) End(h seal.Hash) error {
	if k.ended == nil {
		k.ended = map[seal.Hash][]byte{}
	}
	k.ended[h] = bytes.Clone(k.now.Bytes())
	return nil
}

func (k *taken) Keep(f seal.Found) error {
	k.found, k.all = append(k.found, f), append(k.all, k.ended[f.Hash])
	return nil
}

func TestTakeout(t *testing.T) {
	_, text := inside(t, true, soundOf)
	b := parsed(t, text)
	b["files"].([]any)[0] = part{"hash": hashText(soundOf(3)), "parts": []any{"AAAA"}}
	text, err := json.Marshal(b)
	must(t, err)
	var k taken
	r, err := verify(t, text, seal.Expect{Takeout: &k})
	if err != nil || r.Holds() || len(k.found) != 2 {
		t.Fatalf("error %v, %+v\n%s", err, k.found, words(r))
	}
	for i, n := range []int{5, 6} {
		if k.found[i].Entry != int64(n) || k.found[i].Sort != []string{"sound", "photo"}[i] || !bytes.Equal(k.all[i], soundOf(n)) || k.found[i].Bytes != int64(len(soundOf(n))) {
			t.Errorf("taken out: %+v", k.found[i])
		}
	}
	full := &taken{fails: errors.New("the disk is full")}
	if _, err := verify(t, text, seal.Expect{Takeout: full}); !errors.Is(err, full.fails) || errors.Is(err, seal.ErrUnreadable) {
		t.Errorf("on a full disk: %v", err)
	}
}
