package parse

import (
	"sync"

	"readback/parse/lexicon"
	"readback/parse/number"
	"readback/parse/token"
	"readback/parse/unit"
)

// trade is the vocabulary without any spec, for bare quantities.
var trade = sync.OnceValue(func() *Vocabulary { return NewVocabulary(Words{}) })

// Quantities returns the bare quantities of a note, with no spec: the numbers that
// stand for the note, each with its unit, a range as its two ends, what was withdrawn
// left out. Indexes count as bare numbers.
func Quantities(note string) []Quantity {
	if tooLong(note) {
		return []Quantity{}
	}
	s := newScan(note, trade(), &Context{})
	defer s.release()
	s.read()
	s.relate()
	s.lend()
	fix := s.correct()
	for _, pair := range fix.replaced {
		s.items[pair[0]].kind = isDrop
	}
	out := []Quantity{}
	for k := range s.items {
		it := &s.items[k]
		switch {
		case it.kind == isSlot || it.kind == isIndex:
			out = s.bareIndexes(out, it)
		case it.kind == isNumber && it.num.Broken && it.num.Whole && s.nthAfter(k) > 0 && !s.takenBefore(k, s.hyphenAfter(it.to)+1):
			q := Quantity{Value: number.Int(s.nthAfter(k)), Unit: "1", Span: s.span(it)}
			q.End = s.toks[s.hyphenAfter(it.to)].End
			out = append(out, q)
		case it.kind == isNumber && !it.num.Broken && !it.open:
			out = append(out, s.quantity(it))
		case it.kind == isFiller || it.kind == isWord || it.kind == isCue && it.cue == cueFirst:
			out = s.bareWords(out, k)
		}
	}
	return out
}

// quantity returns the quantity of a number item.
func (s *scan) quantity(it *item) Quantity {
	q := Quantity{Value: it.value, Unit: "1", Span: s.span(it)}
	codes := s.meanings(it)
	switch {
	case len(codes) == 0:
		return q
	case s.toks[it.to-1].Raw == "k" && s.toks[it.to-1].Glued && it.to == it.num.End+1:
		if v, ok := it.value.Times(1000); ok { // "5k" with nothing said of what
			q.Value = v
			return q
		}
	case codes[0] == "mm" && len(codes) > 1 && s.ofFluid(it.to):
		q.Unit = "mL"
		return q
	}
	q.Unit = codes[0]
	return q
}

// nthAfter returns the place in a row that the whole number of item k makes with the ordinal behind
// it: 25 for "twenty fifth"; 0 for none.
func (s *scan) nthAfter(k int) int64 {
	it := &s.items[k]
	n, ok := it.value.Whole()
	last := s.word(s.hyphenAfter(it.to)).Nth
	if !ok || !it.num.Spoken || n%100 < 20 || n%10 != 0 || last < 1 || last > 9 {
		return 0
	}
	return n + last
}

// hyphenAfter returns the index of the word behind a hyphen at i, or i.
func (s *scan) hyphenAfter(i int) int {
	if i+1 < len(s.toks) && s.toks[i].Kind == token.Sign && s.toks[i].Glued && s.toks[i+1].Glued {
		return i + 1
	}
	return i
}

// bareWords adds what counts as a number where no spec says what is spoken of, though it is none
// beside a reading: a place in a row ("third"), a part of a thing ("a half"), one of a unit ("a
// kilogram").
func (s *scan) bareWords(out []Quantity, k int) []Quantity {
	it := &s.items[k]
	i := it.from
	if it.kind == isCue {
		i = it.to - 1 // "the first"
	}
	if len(out) > 0 && out[len(out)-1].End > s.toks[i].Start {
		return out // the end of "twenty fifth"
	}
	switch w := s.nums[i]; {
	case w.Class == number.Article && s.oneOf(k):
		m := s.m[i+1][lexicon.Unit]
		codes := s.meanings(&item{from: i, to: m.End, codes: m.IDs, num: number.Number{End: i + 1}})
		return append(out, Quantity{Value: number.Int(1), Unit: codes[0], Span: Span{s.toks[i].Start, s.toks[m.End-1].End}})
	case w.Class == number.Article, w.Class == number.Half:
		n, ok := s.r.At(i)
		if !ok || s.takenBefore(k, n.End) || n.Broken || w.Class == number.Half && !s.comparedWith(i) || s.clockFollows(n.End) {
			return out
		}
		return append(out, Quantity{Value: n.Value, Unit: "1", Span: Span{s.toks[i].Start, s.toks[n.End-1].End}})
	case w.Nth > 0 && (i == 0 || s.nums[i-1].Class != number.Article):
		return append(out, Quantity{Value: number.Int(w.Nth), Unit: "1", Span: Span{s.toks[i].Start, s.toks[i].End}})
	}
	return out
}

// takenBefore reports whether a number or a place that was taken begins behind item k and before
// token end: "a thirty seconds".
func (s *scan) takenBefore(k, end int) bool {
	for j := k + 1; j < len(s.items) && s.items[j].from < end; j++ {
		if c := s.items[j].kind; c == isNumber || c == isIndex || c == isSlot {
			return true
		}
	}
	return false
}

// comparedWith reports whether "half" at i is a size to compare with: "more than half".
func (s *scan) comparedWith(i int) bool {
	if i == 0 {
		return false
	}
	switch s.toks[i-1].Text {
	case "than", "over", "under", "below", "above", "about", "nearly", "almost":
		return true
	}
	return false
}

// clockFollows: "a quarter past four".
func (s *scan) clockFollows(i int) bool {
	if i >= len(s.toks) {
		return false
	}
	t := s.toks[i].Text
	return t == "past" || t == "to" || t == "before"
}

// oneOf reports whether the article at item k with the unit behind it is one of that unit: of a
// length, a mass or a volume, and not the end of a compound ("ten pounds a foot").
func (s *scan) oneOf(k int) bool {
	i := s.items[k].from
	if !s.hasUnit(i+1) || i > 0 && s.nums[i-1].Class == number.Of || s.takenBefore(k, s.m[i+1][lexicon.Unit].End) || k > 0 && (s.items[k-1].kind == isNumber || s.items[k-1].kind == isUnit) {
		return false
	}
	switch s.toks[i+1].Text {
	case "foot", "yard", "mike", "mil", "mill", "cup", "mile", "cube", "point", "m", "g", "l", "t":
		return false // things as well
	}
	m := s.m[i+1][lexicon.Unit]
	d := dimension(s.meanings(&item{from: i, to: m.End, codes: m.IDs, num: number.Number{End: i + 1}})[0])
	return d == unit.Length || d == unit.Mass || d == unit.Volume
}

// ofFluid reports whether "of oil" follows, which makes "mil" a volume.
func (s *scan) ofFluid(i int) bool {
	if i+1 >= len(s.toks) || s.toks[i].Text != "of" {
		return false
	}
	switch s.toks[i+1].Text {
	case "oil", "water", "grease", "coolant", "fluid", "diesel", "fuel", "liquid", "glycol":
		return true
	}
	return false
}

// bareIndexes adds the numbers of an index as bare quantities.
func (s *scan) bareIndexes(out []Quantity, it *item) []Quantity {
	for i := it.from; i < it.to; {
		value, end := number.Value{}, i
		if n, ok := s.r.At(i); ok && n.End <= it.to {
			value, end = n.Value, n.End
		} else if n, to, ok := s.index(i, 999, true); ok && to <= it.to {
			value, end = number.Int(int64(n)), to
		}
		if end == i {
			i++
			continue
		}
		out = append(out, Quantity{Value: value, Unit: "1", Span: Span{s.toks[i].Start, s.toks[end-1].End}})
		i = end
	}
	return out
}

// lend gives the unit of the last number of a list to those before it that have none
// ("passes eight fourteen and twenty newton metres"), and a unit said before to those
// after it ("stage two 46.5 newton metres then stage three forty nine").
func (s *scan) lend() {
	var codes []int32
	for k := len(s.items) - 1; k >= 0; k-- {
		if it := &s.items[k]; it.kind == isNumber && len(it.codes) > 0 {
			codes = it.codes
		} else if it.kind == isNumber && codes != nil {
			it.codes, it.lent = codes, true
		}
	}
	codes = nil
	for k := range s.items {
		if it := &s.items[k]; it.kind == isNumber && len(it.codes) > 0 {
			codes = it.codes
		} else if it.kind == isNumber && codes != nil {
			it.codes, it.lent = codes, true
		}
	}
}
