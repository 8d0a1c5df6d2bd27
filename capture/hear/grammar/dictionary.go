package grammar

import (
	"cmp"
	_ "embed"
	"fmt"
	"maps"
	"os"
	"slices"
	"strconv"
	"strings"

	"readback/capture/hear"
)

// Path is where Debian's package pocketsphinx-en-us puts its dictionary.
const Path = "/usr/share/pocketsphinx/model/en-us/cmudict-en-us.dict"

// ours holds the pronunciations that the dictionary lacks, or has otherwise than the trade.
//
//go:embed pronounce.txt
var ours string

// Dictionary knows how words sound: ARPAbet phones, "R AH N AW T". It is read-only and safe for
// concurrent use.
type Dictionary struct {
	text  string           // of the file
	lines map[string]int32 // where the first pronunciation of a word starts in it
	own   map[string][]string
}

// Load reads a dictionary in the format of the recogniser: a word and its phones a line, further
// pronunciations of it in the lines behind, as word(2). The error wraps [hear.ErrMissing] where
// there is no such file.
func Load(path string) (*Dictionary, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("%w: read the dictionary: %w; on Debian: apt install pocketsphinx-en-us", hear.ErrMissing, err)
	}
	return Parse(string(text)), nil
}

// Parse takes the text of a dictionary.
func Parse(text string) *Dictionary {
	d := &Dictionary{text: text, lines: make(map[string]int32, strings.Count(text, "\n")+1)}
	for at := 0; at < len(text); {
		end := strings.IndexByte(text[at:], '\n')
		if end < 0 {
			end = len(text) - at
		}
		name, _, ok := strings.Cut(text[at:at+end], " ")
		if _, known := d.lines[name]; ok && !known && !strings.HasSuffix(name, ")") {
			d.lines[name] = int32(at)
		}
		at += end + 1
	}
	d.own = map[string][]string{}
	for line := range strings.Lines(ours) {
		if name, phones, ok := strings.Cut(strings.TrimSpace(line), " "); ok && name != "#" {
			d.own[name] = append(d.own[name], strings.Join(strings.Fields(phones), " "))
		}
	}
	return d
}

// With returns the dictionary with these pronunciations before its own: all of a word that is
// given, as a spec gives them.
func (d *Dictionary) With(words map[string][]string) *Dictionary {
	if len(words) == 0 {
		return d
	}
	own := maps.Clone(d.own)
	maps.Copy(own, words)
	return &Dictionary{text: d.text, lines: d.lines, own: own}
}

// Sounds returns the pronunciations of a word, none for one that it does not know.
func (d *Dictionary) Sounds(word string) []string {
	if own := d.own[word]; own != nil {
		return own
	}
	at, ok := d.lines[word]
	if !ok {
		return nil
	}
	var out []string
	for line := range strings.Lines(d.text[at:]) {
		name, phones, _ := strings.Cut(strings.TrimRight(line, "\r\n"), " ")
		if name != word && (!strings.HasPrefix(name, word+"(") || !strings.HasSuffix(name, ")")) {
			break
		}
		phones, _, _ = strings.Cut(phones, "#")
		if p := strings.Join(strings.Fields(phones), " "); p != "" && !slices.Contains(out, p) {
			out = append(out, p)
		}
	}
	return out
}

// knows reports whether all words have a pronunciation.
func (d *Dictionary) knows(words []string) bool {
	return !slices.ContainsFunc(words, func(w string) bool { return d.Sounds(w) == nil })
}

// sound returns how the words sound, each as it is said first.
func (d *Dictionary) sound(words []string) string {
	var out []string
	for _, w := range words {
		s := d.Sounds(w)
		if s == nil {
			return "? " + strings.Join(words, " ")
		}
		out = append(out, s[0])
	}
	return strings.Join(out, " ")
}

// File writes the pronunciations of a grammar's words as the recogniser reads them: sorted, and
// those of one word in their order, since it takes word(2) only behind word.
func File(sounds map[string]string) string {
	names := slices.SortedFunc(maps.Keys(sounds), func(a, b string) int {
		x, i := variant(a)
		y, j := variant(b)
		return cmp.Or(strings.Compare(x, y), cmp.Compare(i, j))
	})
	var b strings.Builder
	for _, n := range names {
		b.WriteString(n + " " + sounds[n] + "\n")
	}
	return b.String()
}

// variant cuts "word(2)" into the word and which way to say it that is.
func variant(name string) (word string, n int) {
	word, rest, ok := strings.Cut(name, "(")
	if !ok {
		return word, 1
	}
	n, _ = strconv.Atoi(strings.TrimSuffix(rest, ")")) // else 0, which stands first
	return word, n
}

// entries returns the lines of the recogniser's dictionary for a word: "metre", "metre(2)".
func (d *Dictionary) entries(word string, into map[string]string) {
	for i, phones := range d.Sounds(word) {
		name := word
		if i > 0 {
			name += "(" + strconv.Itoa(i+1) + ")"
		}
		into[name] = phones
	}
}
