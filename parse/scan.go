package parse

import (
	"slices"
	"sync"

	"readback/parse/lexicon"
	"readback/parse/number"
	"readback/parse/token"
)

// itemKind says what a stretch of the note was taken for.
type itemKind uint8

const (
	isWord   itemKind = iota // a word that nothing knows
	isFiller                 // a word without weight
	isCue
	isName
	isIndex
	isNumber
	isUnit // a unit without a number
	isChoice
	isSlot // one of the trade's slots with its index: "wrench seven"
	isThing
	isWrong
	isDrop // withdrawn within the note
)

// item is a stretch of the note and what it was taken for.
type item struct {
	kind     itemKind
	from, to int // tokens

	cue cue
	id  int // isName: form; isChoice, isThing, isWrong: index into their lists; isSlot: slot

	axis   int      // isIndex: the axis, or -1 where the name after it says which
	places []string // isIndex: the places
	either bool     // isIndex: one of the places, not said which
	absent bool     // isIndex: the axis has no such place
	bare   bool     // isIndex: the slot was said without an index
	whole  bool     // isIndex: all places of the axis
	rest   bool     // isIndex: all places that were not read yet

	num    number.Number
	value  number.Value
	codes  []int32 // isNumber, isUnit: forms of the unit, none for a bare number
	tol    bool    // isNumber: the tolerance of the number before
	ranged bool    // isNumber: an end of a range
	open   bool    // isNumber: its unit is cut short ("litres per" what)
	lent   bool    // isNumber: the unit was said with a later number
	guess  bool    // isName: heard or spelt almost so
	since  string  // why it does not count though it was taken for something, for [Explain]
}

// scan is the state of reading one note. Scans are pooled.
type scan struct {
	v     *Vocabulary
	ctx   *Context
	note  string
	toks  []token.Token
	words []lexicon.Word
	nums  []number.Word
	m     []lexicon.Matches
	items []item
	r     number.Reader
	names []int // scratch

	claimed  bool // the note makes a reading
	resolved bool // "the same as" has its value
	talked   bool // a clause of the note was talk about something else
}

var scans = sync.Pool{New: func() any { return new(scan) }}

func newScan(note string, v *Vocabulary, ctx *Context) *scan {
	s, ok := scans.Get().(*scan)
	if !ok {
		s = new(scan)
	}
	s.v, s.ctx, s.note, s.talked, s.resolved = v, ctx, note, false, false
	s.toks = token.Split(note, s.toks[:0])
	s.words, s.nums, s.items = s.words[:0], s.nums[:0], s.items[:0]
	for _, t := range s.toks {
		w := v.lex.Lookup(t)
		s.words, s.nums = append(s.words, w), append(s.nums, w.Number)
	}
	if cap(s.m) < len(s.toks) {
		s.m = make([]lexicon.Matches, len(s.toks))
	}
	s.m = s.m[:len(s.toks)]
	for i := range s.toks {
		v.lex.At(s.toks, s.words, i, &s.m[i])
		s.strictLetter(i)
	}
	for i := range s.toks {
		s.hesitation(i)
	}
	s.r = number.Reader{Tokens: s.toks, Words: s.nums, Unit: s.hasUnit, Slot: s.isSlotWord, Loose: len(v.names) == 0}
	return s
}

// hesitation forgets the unit of "um" where it is no micron: no number stands before it, or a unit
// behind it ("forty eight um newton metres").
func (s *scan) hesitation(i int) {
	if s.toks[i].Text != "um" || s.toks[i].Glued {
		return
	}
	if i == 0 || s.nums[i-1].Class == number.None || s.hasUnit(i+1) {
		s.m[i][lexicon.Unit] = lexicon.Match{}
	}
}

// strictLetter forgets a unit of one letter at token i where its case is not as
// written: "12 A" is a current, "12 a" is not, nor "a" anywhere. Right behind digits
// ("240v") the case is forgiven.
func (s *scan) strictLetter(i int) {
	m := &s.m[i][lexicon.Unit]
	t := &s.toks[i]
	if m.End != i+1 || len(t.Text) != 1 || t.Kind != token.Word {
		return
	}
	if t.Glued && i > 0 && s.toks[i-1].Kind == token.Numeral {
		return
	}
	for _, id := range m.IDs {
		if f := &s.v.units[id]; f.exact == t.Raw || f.spoken {
			return
		}
	}
	*m = lexicon.Match{}
}

// release gives the scan back. Nothing that leaves the package may point into it.
func (s *scan) release() {
	s.v, s.ctx, s.note = nil, nil, ""
	if cap(s.toks) <= 512 {
		scans.Put(s)
	}
}

func (s *scan) hasUnit(i int) bool { return i < len(s.m) && s.m[i][lexicon.Unit].End > 0 }

// isSlotWord reports whether a word that takes an index stands at i, and no unit: "meter" may
// be either, and behind a fraction is the unit.
func (s *scan) isSlotWord(i int) bool { return s.hasSlot(i) && !s.hasUnit(i) }

func (s *scan) hasSlot(i int) bool { return i >= 0 && i < len(s.m) && s.m[i][lexicon.Slot].End > 0 }

// read cuts the note into items, left to right, the longest first.
func (s *scan) read() {
	for i := 0; i < len(s.toks); {
		it := s.next(i)
		it.from = i
		if it.to <= i {
			it.to = i + 1
		}
		s.items = append(s.items, it)
		i = it.to
	}
}

// next takes the item at token i. The order of the attempts is the order of what
// binds strongest.
func (s *scan) next(i int) item {
	m := &s.m[i]
	if it, ok := s.phrase(i); ok {
		return it
	}
	for _, attempt := range [...]func(int) (item, bool){s.clock, s.every, s.ordinal, s.slotted, s.named, s.kindIndex, s.serial, s.serialList, s.standIn, s.number, s.unitFirst, s.valued, s.chosen} {
		if it, ok := attempt(i); ok {
			return it
		}
	}
	if s.words[i].ID == 0 {
		if id := s.nearWrong(i); id >= 0 {
			return item{kind: isWrong, to: i + 1, id: id}
		}
	}
	switch {
	case m[lexicon.Wrong].End > 0:
		return item{kind: isWrong, to: m[lexicon.Wrong].End, id: int(m[lexicon.Wrong].IDs[0])}
	case m[lexicon.Thing].End > 0 && m[lexicon.Thing].End >= m[lexicon.Cue].End:
		return item{kind: isThing, to: m[lexicon.Thing].End, id: int(m[lexicon.Thing].IDs[0])}
	case m[lexicon.Cue].End > 0 && m[lexicon.Cue].End >= m[lexicon.Unit].End:
		return item{kind: isCue, to: m[lexicon.Cue].End, cue: s.v.cues[m[lexicon.Cue].IDs[0]]}
	case s.hasUnit(i):
		return item{kind: isUnit, to: m[lexicon.Unit].End, codes: m[lexicon.Unit].IDs}
	case s.words[i].Filler || s.toks[i].Kind == token.Sign || s.nums[i].Class != number.None:
		return item{kind: isFiller, to: i + 1}
	}
	return item{kind: isWord, to: i + 1}
}

// phrase takes a cue of several words, unless a name or a unit there is longer.
func (s *scan) phrase(i int) (item, bool) {
	m := &s.m[i]
	end := m[lexicon.Cue].End
	if end < i+2 || m[lexicon.Name].End >= end || m[lexicon.Unit].End > end || m[lexicon.Wrong].End >= end {
		return item{}, false
	}
	c := s.v.cues[m[lexicon.Cue].IDs[0]]
	if c == cueNext && (s.toks[end-1].Text == "one" || s.toks[end-1].Text == "won") {
		if w := s.word(end).Class; w == number.Point || w == number.Hundred || w == number.Zero {
			return item{kind: isCue, to: end - 1, cue: cueNext}, true // "next one point nine"
		}
	}
	if c == cueBound && s.toks[i].Text == "up" { // "torqued up to forty eight" is no bound
		return item{kind: isFiller, to: end}, true
	}
	// "In the" is small words, read one by one; "every" and "ordinal" look behind theirs.
	if slices.Contains([]cue{cueOn, cueAll, cueEach, cueRest, cueLast, cueFirst}, c) {
		return item{}, false
	}
	return item{kind: isCue, to: end, cue: c}, true
}

// cueAt returns the single cue that stands at token i, or cueNone.
func (s *scan) cueAt(i int) (c cue, end int) {
	if i >= len(s.m) || s.m[i][lexicon.Cue].End == 0 {
		return cueNone, i
	}
	return s.v.cues[s.m[i][lexicon.Cue].IDs[0]], s.m[i][lexicon.Cue].End
}
