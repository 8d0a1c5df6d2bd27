package seal_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/hex"
	"encoding/json"
	"encoding/pem"
	"errors"
	"flag"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/seal"
)

var changes = flag.Int("changes", usualChanges, "how many random changes of a bundle are tried")

var changesSeed = flag.Uint64("changes-seed", 9, "of the random changes")

// sealed is a shop with a sealed record, and a bundle of one of its jobs.
func sealed(t *testing.T, entries int, since uint64) (*shop, *seal.Sealer, []byte) {
	t.Helper()
	s := newShop(t)
	s.work(0, entries)
	sealer, end := s.open()
	t.Cleanup(end)
	s.until(sealer, "all", size(uint64(entries)+1))
	return s, sealer, bundle(t, sealer, s.entries("MW-1041"), since)
}

func words(r seal.Report) string {
	var out []string
	for _, f := range r.Faults {
		out = append(out, fmt.Sprintf("%d: %s", f.Entry, f.Wrong))
	}
	return strings.Join(slices.Concat(out, r.Checked, r.NotChecked, r.Beyond), "\n")
}

func TestVerifySaysWhatItChecked(t *testing.T) {
	s, sealer, text := sealed(t, 30, 0)
	status := sealer.Status()
	r, err := verify(t, text, seal.Expect{})
	if err != nil || !r.Holds() || r.Entries != 10 {
		t.Fatalf("%+v, error %v", r, err)
	}
	for _, want := range []string{"each of the 10 entries of job MW-1041", status.Fingerprint.String(), "who signed", "whether more was said", "true", "what the server found", "signed that the job had 10 entries at that head, and no more"} {
		if !strings.Contains(words(r), want) {
			t.Errorf("it does not say %q:\n%s", want, words(r))
		}
	}
	r, err = verify(t, text, seal.Expect{Key: &status.Fingerprint, Head: &status.Newest})
	if err != nil || !r.Holds() || strings.Contains(words(r), "who signed") || strings.Contains(words(r), "whether more") {
		t.Errorf("with key and head: error %v\n%s", err, words(r))
	}
	other := seal.Hash{1}
	if r, err := verify(t, text, seal.Expect{Key: &other}); err != nil || r.Holds() || !strings.Contains(words(r), "never signed in this log") {
		t.Errorf("with another key: error %v\n%s", err, words(r))
	}
	// A newer record, against what was known of it.
	s.work(30, 6)
	s.until(sealer, "more", size(37))
	newest := sealer.Status().Newest
	if r, err := verify(t, text, seal.Expect{Head: &newest}); err != nil || r.Holds() || !strings.Contains(words(r), "it is older than the head that you gave (31 leaves of 37)") {
		t.Errorf("older than the head: error %v\n%s", err, words(r))
	}
	text = bundle(t, sealer, s.entries("MW-1041"), 0)
	if r, err := verify(t, text, seal.Expect{Head: &status.Newest}); err != nil || r.Holds() || !strings.Contains(words(r), "export it again with --head") {
		t.Errorf("newer than the head: error %v\n%s", err, words(r))
	}
	text = bundle(t, sealer, s.entries("MW-1041"), status.Newest.Head.Size)
	if r, err := verify(t, text, seal.Expect{Head: &status.Newest}); err != nil || !r.Holds() || !strings.Contains(words(r), "grew from the one whose head you gave (31 leaves") {
		t.Errorf("grown from the head: error %v\n%s", err, words(r))
	}
	if _, err := sealer.Prove(t.Context(), "MW-1041", 12, 1000); err == nil || !strings.Contains(err.Error(), "another shop") {
		t.Errorf("from a head that is not yet: %v", err)
	}
}

// A record of the same words that another key signed holds by itself, and not against the shop's key or head.
func TestSignedAnewWithAnotherKey(t *testing.T) {
	_, true1, _ := sealed(t, 30, 0)
	_, _, forged := sealed(t, 30, 0)
	status := true1.Status()
	if r, err := verify(t, forged, seal.Expect{}); err != nil || !r.Holds() {
		t.Fatalf("the forged bundle by itself: error %v\n%s", err, words(r))
	}
	if r, err := verify(t, forged, seal.Expect{Key: &status.Fingerprint}); err != nil || r.Holds() {
		t.Errorf("against the key: error %v\n%s", err, words(r))
	}
	if r, err := verify(t, forged, seal.Expect{Head: &status.Newest}); err != nil || r.Holds() || !strings.Contains(words(r), "another log") {
		t.Errorf("against the head: error %v\n%s", err, words(r))
	}
}

// A shop that shows two records with one key is found out by a head.
func TestTwoRecordsOfOneKey(t *testing.T) {
	s, sealer, _ := sealed(t, 30, 0)
	status := sealer.Status()
	two := newShop(t)
	two.keyFile = s.keyFile
	must(t, os.MkdirAll(filepath.Join(two.data, "seal"), 0o700))
	keys, err := os.ReadFile(filepath.Join(s.data, "seal", "keys.jsonl"))
	must(t, err)
	must(t, os.WriteFile(filepath.Join(two.data, "seal", "keys.jsonl"), keys, 0o600))
	for i := range 40 {
		e := entryOf(i)
		if i == 15 {
			e.Text += " and a half"
		}
		two.keep(e)
	}
	other, end := two.open()
	defer end()
	two.until(other, "all", size(41))
	text := bundle(t, other, two.entries("MW-1041"), 31)
	if r, err := verify(t, text, seal.Expect{Key: &status.Fingerprint}); err != nil || !r.Holds() {
		t.Errorf("by itself: error %v\n%s", err, words(r))
	}
	if r, err := verify(t, text, seal.Expect{Head: &status.Newest}); err != nil || r.Holds() || !strings.Contains(words(r), "what you knew was changed") {
		t.Errorf("against the head: error %v\n%s", err, words(r))
	}
}

// tree is a bundle as values, to change it.
func parsed(t *testing.T, text []byte) map[string]any {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	var out map[string]any
	must(t, d.Decode(&out))
	return out
}

func TestEachChangeIsToldAtItsEntry(t *testing.T) {
	s, sealer, text := sealed(t, 30, 0)
	other := parsed(t, bundle(t, sealer, s.entries("MW-1042"), 0))
	list := func(b map[string]any) []any { return b["entries"].([]any) }
	part := func(v any, names ...string) map[string]any {
		for _, name := range names {
			v = v.(map[string]any)[name]
		}
		return v.(map[string]any)
	}
	for _, tt := range []struct {
		name   string
		change func(b map[string]any)
		says   string // "seq: words"
	}{
		{"a word", func(b map[string]any) { part(list(b)[4])["text"] = "collar nut stage five fifty newton metres" }, "5: it is not what was sealed"},
		{"a person", func(b map[string]any) { part(list(b)[9])["person"] = "Jonas" }, "10: it is not what was sealed"},
		{"a time", func(b map[string]any) { part(list(b)[0])["at"] = json.Number("1930464000123457") }, "1: it is not what was sealed"},
		{"the spec", func(b map[string]any) { part(list(b)[0])["spec_text"] = "spec: mr5\n" }, "1: it is not what was sealed"},
		{"a new member", func(b map[string]any) { part(list(b)[1])["checked_by"] = "Ruth" }, "2: it is not what was sealed"},
		{"a member less", func(b map[string]any) { delete(part(list(b)[1]), "caution") }, "2: it is not what was sealed"},
		{"an entry less", func(b map[string]any) { b["entries"] = slices.Delete(list(b), 4, 5) }, "5: entry 6 stands where entry 5 should"},
		{"the last less", func(b map[string]any) { b["entries"] = list(b)[:9] }, "0: 10 were sealed and 9 are here"},
		{"none left", func(b map[string]any) { b["entries"] = []any{} }, "0: 10 were sealed and 0 are here"},
		{"two change places", func(b map[string]any) { list(b)[2], list(b)[3] = list(b)[3], list(b)[2] }, "3: entry 4 stands where entry 3 should"},
		{"one twice", func(b map[string]any) { b["entries"] = slices.Insert(list(b), 3, list(b)[2]) }, "4: entry 3 stands where entry 4 should"},
		{"one more", func(b map[string]any) {
			last := maps.Clone(part(list(b)[9]))
			last["seq"] = json.Number("11")
			b["entries"] = append(list(b), last)
		}, "11: it was not sealed when the bundle was made"},
		{"an entry of another job", func(b map[string]any) { list(b)[5] = list(other)[5] }, `6: it is of job "MW-1042", and the seal of job "MW-1041"`},
		{"all entries of another job", func(b map[string]any) { b["entries"] = other["entries"] }, `1: it is of job "MW-1042"`},
		{"the seal of another job", func(b map[string]any) { b["seal"] = other["seal"] }, `1: it is of job "MW-1041", and the seal of job "MW-1042"`},
		{"an entry that is none", func(b map[string]any) { list(b)[5] = json.Number("6") }, "6: it is no entry of a record"},
		{"no seal", func(b map[string]any) { delete(b, "seal") }, "0: the bundle has no seal"},
		{"who handed over", func(b map[string]any) { part(b, "handed_over")["person"] = "Jonas" }, "0: what the bundle says beside its entries"},
		{"a file found otherwise", func(b map[string]any) { part(b["evidence"].([]any)[1])["state"] = "kept" }, "0: what the bundle says beside its entries"},
		{"no word of files", func(b map[string]any) { delete(b, "evidence") }, "0: what the bundle says beside its entries"},
		{"something beside", func(b map[string]any) { b["checked_by"] = "Ruth" }, "0: what the bundle says beside its entries"},
		{"the statement less", func(b map[string]any) { delete(part(b, "seal"), "export") }, "0: what the bundle says beside its entries (evidence, handed_over) is not signed"},
		{"the statement's time", func(b map[string]any) { part(b, "seal", "export")["at"] = json.Number("1930464000123456") }, "0: what the bundle says beside its entries is not signed by"},
		{"how many the job had", func(b map[string]any) { part(b, "seal", "export")["entries"] = json.Number("9") }, "0: what the bundle says beside its entries is not signed by"},
		{"no word of how many", func(b map[string]any) { delete(part(b, "seal", "export"), "entries") }, "0: what the bundle says beside its entries is not signed by"},
		{"the version before", func(b map[string]any) { part(b, "seal")["version"] = json.Number("1") }, "0: what the bundle says beside its entries"},
		{"the head's time", func(b map[string]any) { part(b, "seal", "head")["at"] = json.Number("1930464000123456") }, "0: the head of the shop log is not signed"},
		{"a hash and its entry", func(b map[string]any) {
			part(list(b)[4])["text"] = "fifty"
			text, err := json.Marshal(list(b)[4])
			must(t, err)
			leaf, err := seal.EntryHash(text)
			must(t, err)
			part(b, "seal")["leaves"].([]any)[4] = leaf.String()
		}, "0: the hashes of the entries are not those of the job's head"},
		{"the making of the key less", func(b map[string]any) { part(b, "seal")["keys"] = []any{} }, "0: the making of the first key is not told"},
		{"the place of the job", func(b map[string]any) { part(b, "seal")["index"] = json.Number("3") }, "0: the job's head is not in the shop log"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := parsed(t, text)
			tt.change(b)
			changed, err := json.Marshal(b)
			must(t, err)
			r, err := verify(t, changed, seal.Expect{})
			if err != nil || r.Holds() || !strings.Contains("\n"+words(r), "\n"+tt.says) {
				t.Errorf("error %v, want %q:\n%s", err, tt.says, words(r))
			}
		})
	}
}

// A seal of fewer entries than the shop signed that the job had does not hold, and this program does not sign it.
func TestSignedThatTheJobHadMore(t *testing.T) {
	s, sealer, text := sealed(t, 30, 0)
	proof, err := sealer.Prove(t.Context(), "MW-1041", 10, 0)
	must(t, err)
	proof.Job.Size = 9
	if err := sealer.Sign(t.Context(), proof, nil); !errors.Is(err, seal.ErrShort) || proof.Export != nil {
		t.Errorf("nine of ten entries are signed: %v", err)
	}
	pemText, err := os.ReadFile(s.keyFile)
	must(t, err)
	block, _ := pem.Decode(pemText)
	key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	must(t, err)
	b := parsed(t, text)
	part := b["seal"].(map[string]any)
	statement := part["export"].(map[string]any)
	statement["entries"] = json.Number("12")
	signed, err := json.Marshal(map[string]any{
		"at": statement["at"], "entries": statement["entries"], "rest": statement["rest"],
		"job": part["job"], "key": part["head"].(map[string]any)["key"],
	})
	must(t, err)
	signed, err = seal.Canonical(signed)
	must(t, err)
	statement["signature"] = hex.EncodeToString(ed25519.Sign(key.(ed25519.PrivateKey), append([]byte("readback.export.v1\n"), signed...)))
	changed, err := json.Marshal(b)
	must(t, err)
	r, err := verify(t, changed, seal.Expect{})
	if err != nil || len(r.Faults) != 1 || r.Faults[0].Wrong != "the shop signed that the job had 12 entries at that head, and the bundle proves 10: the end is missing" {
		t.Errorf("error %v\n%s", err, words(r))
	}
}

// What is no change is none: white space, the order of names, another spelling.
func TestAnotherSpellingHolds(t *testing.T) {
	_, _, text := sealed(t, 30, 0)
	var out bytes.Buffer
	must(t, json.Indent(&out, text, " ", "\t"))
	for name, spelling := range map[string][]byte{
		"indented": out.Bytes(),
		"ASCII":    bytes.ReplaceAll(text, []byte("collar"), []byte(`\u0063ollar`)),
		"sorted":   func() []byte { b, err := json.Marshal(parsed(t, text)); must(t, err); return b }(),
		"padded":   append([]byte("\r\n\t "), append(text, '\n', ' ')...),
	} {
		if r, err := verify(t, spelling, seal.Expect{}); err != nil || !r.Holds() || bytes.Equal(spelling, text) {
			t.Errorf("%s: error %v\n%s", name, err, words(r))
		}
	}
}

// spots lists the way to every value of a bundle.
func spots(v any, way []any, add func([]any)) {
	add(slices.Clone(way))
	switch v := v.(type) {
	case map[string]any:
		for _, name := range slices.Sorted(maps.Keys(v)) {
			spots(v[name], append(way, name), add)
		}
	case []any:
		for i := range v {
			spots(v[i], append(way, i), add)
		}
	}
}

// changed returns v with the value at the end of the way changed by edit, which may say that it is to go.
func changedAt(v any, way []any, edit func(any) (any, bool)) (any, bool) {
	if len(way) == 0 {
		return edit(v)
	}
	switch v := v.(type) {
	case map[string]any:
		name := way[0].(string)
		if is, stays := changedAt(v[name], way[1:], edit); stays {
			v[name] = is
		} else {
			delete(v, name)
		}
		return v, true
	case []any:
		i := way[0].(int)
		is, stays := changedAt(v[i], way[1:], edit)
		if stays {
			v[i] = is
			return v, true
		}
		return slices.Delete(v, i, i+1), true
	}
	panic("the way leads nowhere")
}

// other returns another value than v.
func other(r *rand.Rand, v any) any {
	switch v := v.(type) {
	case string:
		if v == "" {
			return "x"
		}
		at, change := r.IntN(len(v)), []byte(v)
		switch r.IntN(4) {
		case 0:
			return v[:at] + "0" + v[at:] // never the same: it is longer
		case 1:
			return v[:at]
		case 2:
			return strings.ToUpper(v) + " "
		}
		if change[at] >= 0x80 {
			return v + "x"
		}
		change[at] = "0123456789abcdef"[(strings.IndexByte("0123456789abcdef", change[at])+1+r.IntN(15))%16]
		if string(change) == v {
			return v + "y"
		}
		return string(change)
	case json.Number:
		switch r.IntN(3) {
		case 0:
			return string(v)
		case 1:
			return json.Number("1" + strings.TrimPrefix(string(v), "-"))
		}
		var n int64
		if _, err := fmt.Sscan(string(v), &n); err != nil {
			n = 7
		}
		return json.Number(fmt.Sprint(n + 1 + r.Int64N(9)))
	case bool:
		return !v
	case nil:
		return false
	case []any:
		switch {
		case len(v) > 1 && r.IntN(2) == 0:
			i := r.IntN(len(v) - 1)
			if !same(v[i], v[i+1]) {
				v[i], v[i+1] = v[i+1], v[i]
				return v
			}
		case len(v) > 0 && r.IntN(2) == 0:
			i := r.IntN(len(v))
			return slices.Insert(slices.Clone(v), i, v[i])
		}
		return append(slices.Clone(v), json.Number("1"))
	case map[string]any:
		out := maps.Clone(v)
		out["of another"] = "value"
		return out
	}
	panic("there is no such value")
}

func same(a, b any) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && bytes.Equal(x, y)
}

// Every change of a bundle at random is told, whatever it is and wherever: values, places, what is left out or
// put in, ends cut off, parts of another bundle of the same shop and of another shop, the sounds inside.
func TestRandomChangesAreTold(t *testing.T) {
	s, sealer, _ := sealed(t, 18, 7)
	short := func(n int) []byte { return soundOf(n)[:20+n] }
	own, text := inside(t, true, short)
	_, other := inside(t, true, short)
	key := own.Status().Fingerprint // else the whole seal of another shop, with the same words, holds by itself
	if r, err := verify(t, text, seal.Expect{Key: &key}); err != nil || !r.Holds() {
		t.Fatalf("unchanged: error %v\n%s", err, words(r))
	}
	whole, err := json.Marshal(parsed(t, text)) // as one that was changed is written
	must(t, err)
	var ways [][]any
	spots(parsed(t, text), nil, func(way []any) { ways = append(ways, way) })
	another := []map[string]any{parsed(t, bundle(t, sealer, s.entries("MW-1042"), 6)), parsed(t, other)}
	random := rand.New(rand.NewPCG(*changesSeed, 0))
	t.Logf("seed %d: %d changes of %d values", *changesSeed, *changes, len(ways))
	unreadable, kinds := 0, map[string]int{}
	for n := range *changes {
		changed, kind, way := oneChange(t, random, whole, ways, another[n%2])
		kinds[kind]++
		r, err := verify(t, changed, seal.Expect{Key: &key})
		if errors.Is(err, seal.ErrUnreadable) {
			unreadable++
			continue
		}
		if err != nil || r.Holds() {
			t.Fatalf("change %d, %s at %v, is not told: error %v\n%s\n%s", n, kind, way, err, words(r), changed)
		}
	}
	t.Logf("%v; %d of them were no bundle any more", kinds, unreadable)
}

func oneChange(t *testing.T, random *rand.Rand, text []byte, ways [][]any, another map[string]any) (changed []byte, kind string, way []any) {
	for {
		way = ways[random.IntN(len(ways))]
		b := any(parsed(t, text))
		switch kind = []string{"a value", "a value", "a value", "removed", "spliced", "cut", "a byte"}[random.IntN(7)]; kind {
		case "a value":
			b, _ = changedAt(b, way, func(v any) (any, bool) { return other(random, v), true })
		case "removed":
			if len(way) == 0 {
				continue
			}
			b, _ = changedAt(b, way, func(any) (any, bool) { return nil, false })
		case "spliced":
			from, found := at(another, way)
			if !found || len(way) == 0 {
				continue
			}
			b, _ = changedAt(b, way, func(any) (any, bool) { return from, true })
		case "cut":
			return text[:random.IntN(len(text))], kind, nil
		case "a byte":
			changed = bytes.Clone(text)
			i := random.IntN(len(changed))
			changed[i] = byte(random.Uint32())
			if json.Valid(changed) && same(parsed(t, changed), parsed(t, text)) {
				continue // another spelling
			}
			return changed, kind, []any{i}
		}
		changed, err := json.Marshal(b)
		must(t, err)
		if !bytes.Equal(changed, text) { // else it was the same there
			return changed, kind, way
		}
	}
}

func at(v any, way []any) (any, bool) {
	for _, step := range way {
		switch step := step.(type) {
		case string:
			m, isMap := v.(map[string]any)
			value, there := m[step]
			if !isMap || !there {
				return nil, false
			}
			v = value
		case int:
			list, ok := v.([]any)
			if !ok || step >= len(list) {
				return nil, false
			}
			v = list[step]
		}
	}
	return v, true
}

// repeat is a reader of a text again and again, between a beginning and an end.
func repeat(begin, again string, times int, end string) io.Reader {
	readers := []io.Reader{strings.NewReader(begin)}
	block := strings.Repeat(again, max(1, (1<<20)/len(again)))
	for left := times; left > 0; {
		n := min(left, len(block)/len(again))
		readers = append(readers, strings.NewReader(block[:n*len(again)]))
		left -= n
	}
	return io.MultiReader(append(readers, strings.NewReader(end))...)
}

func TestBadBundles(t *testing.T) {
	_, _, text := sealed(t, 6, 0)
	whole := string(text)
	for name, tt := range map[string]struct {
		in   io.Reader
		says string
	}{
		"nothing":                {strings.NewReader(""), "ends in the middle"},
		"null":                   {strings.NewReader("null"), "no object with entries"},
		"a list":                 {strings.NewReader("[]"), "no object with entries"},
		"an empty object":        {strings.NewReader("{}"), "no object with entries"},
		"entries that are none":  {strings.NewReader(`{"entries":null}`), "no object with entries"},
		"a PDF":                  {strings.NewReader("%PDF-1.7\n"), "invalid character"},
		"torn":                   {strings.NewReader(whole[:len(whole)/2]), "ends in the middle"},
		"something behind":       {strings.NewReader(whole + "{}"), "behind its end"},
		"a member twice":         {strings.NewReader(`{"entries":[],"entries":[]}`), "duplicate"},
		"a name twice inside":    {strings.NewReader(`{"entries":[{"job":"a"},{"job":"a","job":"b"}]}`), "behind the first entry"},
		"half a surrogate":       {strings.NewReader(`{"entries":[{"text":"\ud800"}]}`), "surrogate"},
		"no UTF-8":               {strings.NewReader("{\"entries\":[{\"text\":\"\xff\"}]}"), "UTF-8"},
		"a future version":       {strings.NewReader(strings.Replace(whole, `"version":2`, `"version":4`, 1)), "a newer readback made it"},
		"a version before":       {strings.NewReader(strings.Replace(whole, `"version":2`, `"version":0`, 1)), "which there never was"},
		"a seal that is none":    {strings.NewReader(`{"entries":[],"seal":{"version":1}}`), "its seal is none"},
		"a seal that is null":    {strings.NewReader(`{"entries":[],"seal":null}`), "its seal is none"},
		"a million open arrays":  {repeat(`{"entries":[`, "[", 1_000_000, ""), "depth"},
		"a million nested":       {repeat(`{"x":`, "[", 1_000_000, strings.Repeat("]", 1_000_000)+"}"), "depth"},
		"1 GB in one value":      {repeat(`{"entries":[{"text":"`, "x", 1<<30, `"}]}`), "more than 8 MiB"},
		"1 GB of white space":    {repeat(`{"entries":[`, " ", 1<<30, `]}`), "more than 8 MiB"},
		"more entries than many": {repeat(`{"entries":[1`, ",1", 1_000_001, `]}`), "more than 1000000 entries"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := seal.Verify(t.Context(), tt.in, seal.Expect{})
			if !errors.Is(err, seal.ErrUnreadable) || !strings.Contains(err.Error(), tt.says) || strings.Contains(err.Error(), "json:") || strings.Contains(err.Error(), "jsontext") {
				t.Errorf("error %v, want that it %q", err, tt.says)
			}
		})
	}
	// These can be read, and do not hold.
	for name, in := range map[string]string{
		"a number beyond 2^53":         strings.Replace(whole, `"seq":2`, `"seq":2,"x":9007199254740993`, 1),
		"a number beyond all":          strings.Replace(whole, `"seq":2`, `"seq":2,"x":1e999`, 1),
		"an entry of a future version": strings.Replace(whole, `"seq":2`, `"seq":2,"version":7,"holographic":true`, 1),
		"a name in other letters":      strings.Replace(whole, `"seq":2`, `"Seq":2`, 1),
	} {
		if r, err := verify(t, []byte(in), seal.Expect{}); err != nil || r.Holds() || r.Faults[0].Entry != 2 || in == whole {
			t.Errorf("%s: error %v\n%s", name, err, words(r))
		}
	}
}

// Whatever a file holds, there is an answer, and none that is not the bundle holds.
func FuzzVerify(f *testing.F) {
	text, err := os.ReadFile(filepath.Join("testdata", "bundle.json"))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add([]byte(`{"entries":[],"seal":null}`))
	f.Add([]byte(`{"entries":[{"job":"a","seq":1}],"seal":{"version":1}}`))
	f.Add(bytes.Replace(text, []byte(`"seq":2`), []byte(`"seq":3`), 1))
	for _, files := range []string{`[]`, `[{"hash":"` + strings.Repeat("5f2c", 16) + `","parts":["AAAA"]}]`, `[{"hash":"","parts":null}]`} {
		f.Add(slices.Concat(bytes.TrimRight(text, "}\n"), []byte(`}},"files":`+files+`}`)))
	}
	var whole any
	if err := json.Unmarshal(text, &whole); err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		r, err := seal.Verify(t.Context(), bytes.NewReader(in), seal.Expect{})
		if err != nil {
			if !errors.Is(err, seal.ErrUnreadable) {
				t.Error(err)
			}
			return
		}
		var got any
		if r.Holds() && (json.Unmarshal(in, &got) != nil || !same(got, whole)) {
			t.Errorf("it holds: %s", in)
		}
	})
}

// The bundle of testdata was sealed once, and holds for ever.
func TestOldBundleHolds(t *testing.T) {
	path := filepath.Join("testdata", "bundle.json")
	if *updateBundle {
		_, _, text := sealed(t, 12, 5)
		must(t, os.MkdirAll("testdata", 0o755))
		must(t, os.WriteFile(path, text, 0o644))
	}
	text, err := os.ReadFile(path)
	must(t, err)
	if r, err := verify(t, text, seal.Expect{}); err != nil || !r.Holds() || r.Entries != 4 || !strings.Contains(words(r), "whether the job had more entries") {
		t.Errorf("error %v\n%s", err, words(r))
	}
}

var updateBundle = flag.Bool("update", false, "seal testdata/bundle.json anew")

// At the end of a context a long reading ends.
func TestVerifyEndsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := seal.Verify(ctx, repeat(`{"entries":[1`, ",1", 100_000, `]}`), seal.Expect{}); err == nil || errors.Is(err, seal.ErrUnreadable) {
		t.Errorf("error %v", err)
	}
}

// What was purged and how the clock jumped is told of a bundle, the hash of what was purged stays in its entry, and
// an end that was lost is told by the events of the log.
func TestVerifyTellsWhatTheRecordTellsOfItself(t *testing.T) {
	s := newShop(t)
	s.work(0, 30)
	s.keep(journal.Entry{
		Job: "MW-1041", ID: journaltest.ID(900), Kind: journal.Clock, At: journal.InstantOf(journaltest.Start),
		Text: "The server's clock was set back by 1h0m0s.", Answer: json.RawMessage(`{"how":"back"}`),
	})
	sealer, end := s.open()
	defer end()
	s.until(sealer, "all", size(32))
	told := 0
	for _, job := range []string{"MW-1041", "MW-1042", "MW-1043"} {
		entries := s.entries(job)
		text := bundle(t, sealer, entries, 0)
		r, err := verify(t, text, seal.Expect{})
		if err != nil || !r.Holds() {
			t.Fatalf("%s, error %v", words(r), err)
		}
		all := strings.Join(r.Told, "\n")
		for _, e := range entries {
			switch {
			case e.Kind == journal.Clock && !strings.Contains(all, fmt.Sprintf("entry %d: The server's clock was set back", e.Seq)):
				t.Errorf("a jump of the clock is not told:\n%s", all)
			case e.Purge != nil:
				told++
				for _, it := range e.Purge.Items {
					if !strings.Contains(all, fmt.Sprintf("entry %d: the sounds or photos of entries %d were purged", e.Seq, it.Seq)) || !strings.Contains(all, e.Purge.Rule) {
						t.Errorf("a purge is not told:\n%s", all)
					}
					if !strings.Contains(string(text), it.Hash) {
						t.Errorf("the hash of what was purged is not in the bundle")
					}
				}
			}
		}
	}
	if told == 0 {
		t.Error("no job has a purge: nothing was tested")
	}
}
