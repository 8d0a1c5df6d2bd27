// Package lexicon is a trie of spoken phrases: unit names, callout names, words of
// discourse. One walk from a word of the note finds the longest phrase of every sort
// that starts there.
//
// A [Builder] collects phrases; the [Lexicon] that it makes is read-only and safe for
// many goroutines.
package lexicon

import (
	"strings"

	"readback/parse/number"
	"readback/parse/token"
)

// Sort tells the sorts of phrases apart. A word may begin phrases of several sorts.
type Sort uint8

// The sorts of phrases.
const (
	Unit   Sort = iota // a unit of measure; ID is the index of a form
	Name               // a callout's name; ID is the index of a form
	Slot               // a word that takes an index: an axis, or one of the trade's ("wrench")
	Value              // a place on an axis that is not a number: "u v"
	Choice             // a kind of part: "full"
	Cue                // a word of discourse: "scratch that"
	Filler             // a word without weight: "the", "reads"
	Wrong              // what can be wrong: "scored"
	Thing              // a part of a machine: "thrust washer"
	Sorts              // how many sorts there are
)

// Word is what the lexicon knows of one token.
type Word struct {
	ID     int32 // 0 for an unknown word
	Filler bool  // small words without weight
	Inner  bool  // words that may stand inside the name of a confirmation
	Number number.Word
}

// counts reports whether a word is part of a number rather than a small word.
func (w Word) counts() bool {
	switch w.Number.Class {
	case number.Digit, number.Zero, number.Teen, number.Tens, number.Hundred, number.Large, number.Point, number.Numeric:
		return true
	case number.None, number.And, number.Article, number.Half, number.Part, number.Repeat, number.Minus, number.Sounds,
		number.Of, number.Dozen, number.Vulgar, number.Nth:
	}
	return false
}

// Match is a phrase found: IDs of that sort, and the token after it.
type Match struct {
	End int // 0 where there is none
	IDs []int32
}

// Matches holds, by sort, the longest phrase from one token on.
type Matches [Sorts]Match

type node struct {
	ends  []end // phrases that end here
	loose bool  // small words may stand between this and the next word of the phrase
}

// end holds the phrases of one sort that end at a node.
type end struct {
	sort Sort
	ids  []int32
}

// Lexicon finds phrases.
type Lexicon struct {
	base  *Lexicon // what it extends, nil for none
	words map[string]Word
	edges map[uint64]int32
	nodes []node
	first []bool // by ID of a word: whether a phrase begins with it
}

// Builder collects phrases. The zero Builder is not ready: use [NewBuilder].
type Builder struct {
	l      *Lexicon
	tokens []token.Token // scratch
	ids    []int32       // stock that the ids of most nodes are cut from: one each
	ends   []end
}

// NewBuilder returns a builder that knows the words of numbers.
func NewBuilder() *Builder {
	l := &Lexicon{words: make(map[string]Word, 4096), edges: make(map[uint64]int32, 16384), nodes: make([]node, 2, 16384)}
	b := &Builder{l: l}
	for w, n := range number.Words() {
		e := b.word(w)
		e.Number = n
		l.words[w] = e
	}
	return b
}

// Extend returns a builder of a lexicon that finds what l finds as well. No sort may
// have phrases in both: the phrases of l would be hidden.
func (l *Lexicon) Extend() *Builder {
	return &Builder{l: &Lexicon{base: l, words: map[string]Word{}, edges: map[uint64]int32{}, nodes: make([]node, 2)}}
}

func (b *Builder) word(text string) Word {
	w, ok := b.l.word(text)
	if !ok || w.ID == 0 {
		w.ID = int32(b.l.count() + 1)
		b.l.words[text] = w
	}
	return w
}

func (l *Lexicon) word(text string) (Word, bool) {
	w, ok := l.words[text]
	if !ok && l.base != nil {
		return l.base.word(text)
	}
	return w, ok
}

// count returns a bound of the IDs of words that were given out.
func (l *Lexicon) count() int {
	if l.base == nil {
		return len(l.words)
	}
	return len(l.words) + l.base.count()
}

// Inner marks words that may stand inside the name of a confirmation: "seat is clean". Small words
// that tell of a plan, an order or a doubt ("to be", "before") are none.
func (b *Builder) Inner(words ...string) {
	for _, text := range words {
		w := b.word(text)
		w.Inner = true
		b.l.words[text] = w
	}
}

// Small marks words without weight.
func (b *Builder) Small(words ...string) {
	for _, text := range words {
		w := b.word(text)
		w.Filler = true
		b.l.words[text] = w
	}
}

// Add adds a phrase of a sort. Hyphens, points and middle dots inside it are left
// out, as they are when a note is read.
func (b *Builder) Add(phrase string, sort Sort, id int32) { b.add(phrase, sort, id, false) }

// AddLoose adds a phrase between whose words small words may stand.
func (b *Builder) AddLoose(phrase string, sort Sort, id int32) { b.add(phrase, sort, id, true) }

func (b *Builder) add(phrase string, sort Sort, id int32, loose bool) {
	at, begun := int32(1), false
	b.tokens = token.Split(phrase, b.tokens[:0])
	for _, t := range b.tokens {
		if Joins(t) {
			continue
		}
		id := b.word(t.Text).ID
		if loose && begun {
			b.l.nodes[at].loose = true
		}
		if !begun {
			b.l.begins(id)
		}
		begun = true
		key := uint64(at)<<32 | uint64(uint32(id))
		next, ok := b.l.edges[key]
		if !ok {
			next = int32(len(b.l.nodes))
			b.l.nodes = append(b.l.nodes, node{})
			b.l.edges[key] = next
		}
		at = next
	}
	if begun {
		b.put(&b.l.nodes[at], sort, id)
	}
}

// begins notes that a phrase begins with the word.
func (l *Lexicon) begins(id int32) {
	if int(id) >= len(l.first) {
		l.first = append(l.first, make([]bool, int(id)+1-len(l.first))...)
	}
	l.first[id] = true
}

func (b *Builder) put(n *node, sort Sort, id int32) {
	for i := range n.ends {
		if n.ends[i].sort == sort {
			n.ends[i].ids = append(n.ends[i].ids, id)
			return
		}
	}
	if len(b.ids) == cap(b.ids) {
		b.ids, b.ends = make([]int32, 0, 1024), make([]end, 0, 1024)
	}
	at := len(b.ids)
	b.ids = append(b.ids, id)
	b.ends = append(b.ends, end{sort, b.ids[at : at+1 : at+1]})
	if n.ends == nil {
		n.ends = b.ends[at : at+1 : at+1]
		return
	}
	n.ends = append(n.ends, b.ends[at])
}

// Build returns the lexicon. The builder must not be used afterwards.
func (b *Builder) Build() *Lexicon { return b.l }

// Joins reports whether t is a sign that only joins words, as in "ft-lb" and "N·m".
func Joins(t token.Token) bool {
	if t.Kind != token.Sign {
		return false
	}
	switch t.Text {
	case "-", ".", "·", "⋅", "*", "•", "‐", "‑", "–":
		return true
	}
	return false
}

// Lookup returns what is known of a token. A plural or a possessive that is not
// known counts as its stem.
func (l *Lexicon) Lookup(t token.Token) Word {
	if t.Kind == token.Numeral || t.Kind == token.Sign {
		w, _ := l.word(t.Text)
		w.Number = number.Word{}
		if t.Kind == token.Numeral {
			w.Number.Class = number.Numeric
		} else if v, ok := number.VulgarWord(t.Text); ok {
			w.Number = v
		}
		return w
	}
	if w, ok := l.word(t.Text); ok {
		return w
	}
	stem, ok := strings.CutSuffix(t.Text, "'s")
	if w, _ := l.word(stem); ok && w.Number.Class == number.Digit && w.Number.N > 1 {
		return w // "rod three's been backed off"
	}
	if !ok && len(t.Text) > 3 {
		stem, ok = strings.CutSuffix(t.Text, "s")
	}
	if !ok {
		return Word{}
	}
	w, _ := l.word(stem)
	w.Number = number.Word{}
	return w
}

// At finds the longest phrase of every sort that starts at token i.
func (l *Lexicon) At(tokens []token.Token, words []Word, i int, m *Matches) {
	*m = Matches{}
	if l.base != nil {
		l.base.walk(tokens, words, i, m)
	}
	l.walk(tokens, words, i, m)
}

func (l *Lexicon) walk(tokens []token.Token, words []Word, i int, m *Matches) {
	if id := int(words[i].ID); id >= len(l.first) || !l.first[id] {
		return
	}
	at, skipped := int32(1), 0
	for j := i; j < len(tokens); j++ {
		next, ok := l.edges[uint64(at)<<32|uint64(uint32(words[j].ID))]
		if words[j].ID == 0 || !ok {
			if j > i && Joins(tokens[j]) && tokens[j].Glued {
				continue
			}
			if j > i && l.nodes[at].loose && words[j].Inner && !words[j].counts() && skipped < 3 {
				skipped++
				continue
			}
			return
		}
		if j > i && tokens[j].Kind == token.Numeral && !tokens[j].Glued {
			return // "m 3" is three of something, "m3" is a volume
		}
		at = next
		for _, e := range l.nodes[at].ends {
			if skipped == 0 || e.sort == Name {
				m[e.sort] = Match{End: j + 1, IDs: e.ids}
			}
		}
	}
}

// Known reports whether a word stands in any phrase.
func (l *Lexicon) Known(text string) bool {
	w, _ := l.word(text)
	return w.ID != 0
}
