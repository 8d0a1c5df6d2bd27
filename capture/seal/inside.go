package seal

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
)

// FilePart is how many bytes of a sound or photo inside a bundle stand in one text: all parts of a file have as
// many but the last, which has at least one.
const FilePart = 48 << 10

// Found is a sound or photo inside a bundle that has the hash that an entry names.
type Found struct {
	Entry int64  // seq of the first entry that names it
	Sort  string // "sound" (FLAC) or "photo" (JPEG)
	Hash  Hash
	Bytes int64
}

// Takeout gets the sounds and photos inside a bundle, one after the other, and then is told which of them are what
// the record names: the others are to be thrown away, and so are all if it is told of none. After an error the
// reading ends.
type Takeout interface {
	// Begin is called before the bytes of the next one.
	Begin() (io.Writer, error)
	// End is called behind its bytes, which have that hash. Nothing is known of them yet.
	End(h Hash) error
	// Keep is called when all of the bundle was read and checked, for each file that an entry names which is
	// proven to be what was sealed.
	Keep(f Found) error
}

// takeoutError is of a file that could not be taken out: no fault of the bundle.
type takeoutError struct{ error }

func (e takeoutError) Unwrap() error { return e.error }

const (
	soundSort = "sound"
	photoSort = "photo"
)

// named is a file that an entry names.
type named struct {
	at   int // where its entry stands, from 0
	seq  int64
	sort string
	hash Hash
}

// gone is what an entry says of a file that was purged.
type gone struct {
	by   int64 // seq of the entry that says so
	rule string
}

// inside is what is known of the files of a bundle.
type inside struct {
	named  []named // in the order of the entries
	byHash map[Hash]int
	purged map[int64]gone // by the seq of the entry that names the file
	there  bool           // the bundle has a list of files
	files  []file
}

// file is one that stands in a bundle.
type file struct {
	says Hash // the hash that stands with it
	is   Hash
	size int64
}

// note remembers what the entry that stands at a place says of files.
func (in *inside) note(at int, e *entry, text []byte) {
	if !bytes.Contains(text, []byte(`"sound"`)) && !bytes.Contains(text, []byte(`"photo"`)) && !bytes.Contains(text, []byte(`"purge"`)) && !bytes.ContainsRune(text, '\\') {
		return
	}
	var of struct {
		Sound jsontext.Value `json:"sound"`
		Photo jsontext.Value `json:"photo"`
		Purge jsontext.Value `json:"purge"`
	}
	if lenient(text, &of) != nil {
		return // told as a fault of the entry
	}
	for _, x := range []struct {
		sort string
		text jsontext.Value
	}{{photoSort, of.Photo}, {soundSort, of.Sound}} {
		var h Hash
		if len(x.text) == 0 || lenient(x.text, &h) != nil {
			continue
		}
		if _, known := in.byHash[h]; !known {
			in.byHash[h] = len(in.named)
		}
		in.named = append(in.named, named{at, e.seq, x.sort, h})
		break
	}
	var purge struct {
		Rule  string `json:"rule"`
		Items []struct {
			Seq int64 `json:"seq"`
		} `json:"items"`
	}
	if len(of.Purge) == 0 || lenient(of.Purge, &purge) != nil {
		return
	}
	rule := cut(purge.Rule, wordsLong)
	for _, item := range purge.Items {
		if _, known := in.purged[item.Seq]; !known && len(in.purged) < entryMost {
			in.purged[item.Seq] = gone{e.seq, rule}
		}
	}
}

// readFiles reads the files, each in parts, and keeps nothing of them but what they hash to.
func (b *bundle) readFiles(in *jsontext.Decoder, m *meter) error {
	b.inside.there = true
	if in.PeekKind() != '[' {
		return errNoFiles
	}
	if _, err := in.ReadToken(); err != nil {
		return err
	}
	for in.PeekKind() != ']' {
		m.allow(valueMost)
		if len(b.inside.files) == entryMost {
			return fmt.Errorf("it has more than %d files", entryMost)
		}
		if err := b.readFile(in, m); err != nil {
			return err
		}
	}
	if len(b.inside.files) == 0 {
		return errNoFiles // it would be left out
	}
	_, err := in.ReadToken()
	return err
}

var errNoFiles = errors.New(`its files are none: each is {"hash":…,"parts":[…]}, in base64`)

func (b *bundle) readFile(in *jsontext.Decoder, m *meter) error {
	var f file
	if in.PeekKind() != '{' {
		return errNoFiles
	}
	if _, err := in.ReadToken(); err != nil {
		return err
	}
	seen := 0 // the two names: none stands twice
	for in.PeekKind() == '"' {
		name, err := in.ReadToken()
		if err != nil {
			return err
		}
		switch name := name.String(); name {
		case "hash":
			var value jsontext.Value
			if value, err = in.ReadValue(); err == nil && lenient(value, &f.says) != nil {
				err = errNoFiles
			}
		case "parts":
			err = b.readParts(in, m, &f)
		default:
			err = errNoFiles
		}
		if err != nil {
			return err
		}
		seen++
	}
	if _, err := in.ReadToken(); err != nil {
		return err
	}
	if seen != 2 {
		return errNoFiles
	}
	b.inside.files = append(b.inside.files, f)
	return nil
}

func (b *bundle) readParts(in *jsontext.Decoder, m *meter, f *file) error {
	if in.PeekKind() != '[' {
		return errNoFiles
	}
	if _, err := in.ReadToken(); err != nil {
		return err
	}
	sum := sha256.New()
	out := io.Writer(sum)
	if b.take != nil {
		w, err := b.take.Begin()
		if err != nil {
			return takeoutError{err}
		}
		out = io.MultiWriter(sum, w)
	}
	err := b.copyParts(in, m, f, out)
	copy(f.is[:], sum.Sum(nil))
	if b.take == nil || err != nil {
		return err
	}
	if err := b.take.End(f.is); err != nil {
		return takeoutError{err}
	}
	return nil
}

// copyParts writes what the parts of a file hold. Each has FilePart bytes but the last: one spelling alone is read.
func (b *bundle) copyParts(in *jsontext.Decoder, m *meter, f *file, out io.Writer) error {
	last := FilePart
	var text, data []byte
	for in.PeekKind() != ']' {
		m.allow(valueMost)
		value, err := in.ReadValue()
		if err != nil {
			return err
		}
		if value.Kind() != '"' || last != FilePart {
			return errNoFiles
		}
		if text, err = jsontext.AppendUnquote(text[:0], value); err != nil {
			return errNoFiles
		}
		if len(text) == 0 || len(text) > base64.StdEncoding.EncodedLen(FilePart) || bytes.ContainsAny(text, "\r\n") {
			return errNoFiles
		}
		if data, err = base64.StdEncoding.Strict().AppendDecode(data[:0], text); err != nil {
			return errNoFiles
		}
		last = len(data)
		f.size += int64(last)
		if _, err := out.Write(data); err != nil {
			return takeoutError{err}
		}
	}
	_, err := in.ReadToken()
	return err
}

// signedInside are the files that the shop signed to be inside, by the seq of their entry, and whether it signed
// anything of files at all.
func (b *bundle) signedInside() (signed map[int64]bool, says bool) {
	text, there := b.rest["evidence"]
	if b.seal.Export == nil {
		return nil, false
	}
	var items []struct {
		Seq    int64 `json:"seq"`
		Inside bool  `json:"inside"`
	}
	signed = map[int64]bool{}
	if there && json.Unmarshal(text, &items) != nil {
		return nil, false
	}
	for _, it := range items {
		if it.Inside {
			signed[it.Seq] = true
		}
	}
	return signed, true
}

// checkFiles holds each file inside against the entry that names it, and says which are not inside and why. It
// returns those that are inside, as the entries name them.
func (b *bundle) checkFiles(r *Report) (good []named) {
	in := &b.inside
	faults := &fewFaults{r: r}
	is := in.whole(faults)
	signed, says := b.signedInside()
	var kept, away []named
	needed := map[Hash]bool{} // by an entry whose file was not purged
	for _, n := range in.named {
		_, purged := in.purged[n.seq]
		switch _, here := is[n.hash]; {
		case says && signed[n.seq] && !here:
			faults.wrong(n.seq, "its %s was inside when the bundle was made, and is missing or changed", n.sort)
		case here && says && !signed[n.seq] && !purged:
			faults.wrong(n.seq, "its %s was not inside when the bundle was made, and was added", n.sort)
		case here && !purged:
			good = append(good, n)
			needed[n.hash] = true
		case purged:
			away = append(away, n)
		default:
			kept = append(kept, n)
		}
	}
	for _, n := range away {
		if _, here := is[n.hash]; here && !needed[n.hash] {
			faults.wrong(n.seq, "the record says that its %s was purged, and it is inside", n.sort)
		}
	}
	faults.end("more sounds and photos do not hold")
	if len(good) > 0 {
		r.checked("inside, and what the entries name by hash: %s", listed(good))
	}
	in.tellPurged(r, away)
	if len(kept) > 0 {
		r.notChecked("the files of sounds and photos themselves that are not in the bundle, though their hashes are: %s", listed(kept))
	}
	if in.there && !says {
		r.notChecked("whether more sounds and photos were inside when the bundle was made: nothing signed says which were")
	}
	return good
}

// takeOut gives out the files that an entry names which is what was sealed. sealed says whether the leaves are in
// the log that was signed, by the key and with the head that were asked for.
func (b *bundle) takeOut(r *Report, good []named, sealed bool) error {
	if b.take == nil || !b.inside.there {
		return nil
	}
	size := map[Hash]int64{}
	for _, f := range b.inside.files {
		size[f.is] = f.size
	}
	kept := map[Hash]bool{}
	for _, n := range good {
		if kept[n.hash] || !sealed || n.at >= len(b.entries) || b.entryFault(n.at, b.entries[n.at]) != "" {
			continue
		}
		kept[n.hash] = true
		if err := b.take.Keep(Found{n.seq, n.sort, n.hash, size[n.hash]}); err != nil {
			return err
		}
	}
	if left := len(size) - len(kept); left > 0 {
		r.notChecked("sounds and photos that were not taken out: %d, which no entry names that is proven to be what was sealed", left)
	}
	return nil
}

// whole returns the files that are what they are said to be and that an entry names, by their hash, with the
// first entry that names them.
func (in *inside) whole(faults *fewFaults) map[Hash]int64 {
	is, before := map[Hash]int64{}, -1
	for _, f := range in.files {
		at, known := in.byHash[f.says]
		switch {
		case !known:
			faults.wrong(0, "a file is inside that no entry names: %s", f.says)
			continue
		case f.is != f.says:
			faults.wrong(in.named[at].seq, "the %s that is inside is not the one whose hash was sealed", in.named[at].sort)
			continue
		}
		if at <= before {
			faults.wrong(in.named[at].seq, "its %s is inside twice, or behind that of a later entry", in.named[at].sort)
		}
		before = at
		is[f.is] = in.named[at].seq
	}
	return is
}

// tellPurged says which entry tells of which files that they are gone, and by which rule.
func (in *inside) tellPurged(r *Report, away []named) {
	by := map[gone][]named{}
	var order []gone
	for _, n := range away {
		g := in.purged[n.seq]
		if by[g] == nil {
			order = append(order, g)
		}
		by[g] = append(by[g], n)
	}
	for i, g := range order {
		if i == faultsShown {
			r.notChecked("%d more entries that tell of purged files", len(order)-i)
			return
		}
		r.checked("purged, as entry %d says (%q): %s", g.by, g.rule, listed(by[g]))
	}
}

// fewFaults tells the first faults one by one, and counts the others.
type fewFaults struct {
	r *Report
	n int
}

func (f *fewFaults) wrong(entry int64, format string, args ...any) {
	if f.n++; f.n <= faultsShown {
		f.r.wrong(entry, format, args...)
	}
}

func (f *fewFaults) end(words string) {
	if f.n > faultsShown {
		f.r.wrong(0, "%d %s", f.n-faultsShown, words)
	}
}

// listed says of which entries: "2 sounds and 1 photo (entries 2, 5, 9)".
func listed(all []named) string {
	sounds := 0
	var seqs []string
	for i, n := range all {
		if n.sort == soundSort {
			sounds++
		}
		if i < faultsShown {
			seqs = append(seqs, fmt.Sprint(n.seq))
		}
	}
	var what []string
	for _, x := range []struct {
		n    int
		word string
	}{{sounds, soundSort}, {len(all) - sounds, photoSort}} {
		switch x.n {
		case 0:
		case 1:
			what = append(what, "1 "+x.word)
		default:
			what = append(what, fmt.Sprintf("%d %ss", x.n, x.word))
		}
	}
	entries := "entry "
	if len(all) > 1 {
		entries = "entries "
	}
	text := strings.Join(what, " and ") + " (" + entries + strings.Join(seqs, ", ")
	if more := len(all) - faultsShown; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text + ")"
}
