package parse

import (
	"slices"
	"strconv"
	"strings"

	"readback/parse/lexicon"
	"readback/parse/number"
	"readback/parse/token"
)

// number takes a number and its unit: "forty eight newton metres", "half a thou", "a
// thou and a half", "12'".
func (s *scan) number(i int) (item, bool) {
	if it, ok := s.unitAndHalf(i); ok {
		return it, true
	}
	if s.interjection(i) {
		return item{kind: isFiller, to: i + 1}, true
	}
	if it, ok := s.lettered(i); ok {
		return it, true
	}
	if s.timesAll(i) {
		return item{kind: isFiller, to: i + 2}, true
	}
	if s.soundsCounted(i) {
		s.nums[i].Class = number.Digit
	}
	n, ok := s.r.At(i)
	if !ok || s.inPartNumber(i) {
		return item{}, false
	}
	if k := len(s.items) - 1; k >= 0 && s.items[k].num.Torn && s.items[k].to == i {
		n.Torn, n.Broken, n.Why = true, true, "the rest of a number that is none"
	}
	if s.trailsOff(n.End) {
		n.Broken, n.Why = true, "a word that may be a part of it follows"
	}
	if s.changedBy(n.End) {
		n.Broken, n.Why = true, "what follows adds to it or takes from it"
	}
	if s.cutOff(i) {
		n.Broken, n.Why = true, "a word that may be a part of it stands before"
	}
	it := item{kind: isNumber, num: n, value: n.Value, to: n.End}
	at := n.End
	if !s.hasUnit(at) {
		at = s.ofUnit(at)
	}
	if n.Whole && at == n.End+1 && s.word(n.End).Class == number.Article {
		it.num.Broken, it.num.Why = true, "a small word stands where a digit may have been" // "forty a newton metres"
	}
	if at == n.End && s.hasUnit(at+1) && s.isEven(at) {
		at++
	}
	if s.hasUnit(at) && !s.slotFirst(at) && !s.preposition(at) && (s.toks[at].Text != "in" || !s.pronoun(i)) {
		it.codes, it.to = s.m[at][lexicon.Unit].IDs, s.m[at][lexicon.Unit].End
		s.halfAfter(&it)
		it.open = s.unfinished(it.to) || s.partNumber(it.to)
		return it, true
	}
	if n.NeedsUnit || n.End == i+1 && s.pronoun(i) {
		return item{}, false
	}
	return it, true
}

// lettered takes a resistance whose multiplier stands at its decimal point, as parts are marked:
// 1R88, 4k7, 2M2 (IEC 60062; from memory).
func (s *scan) lettered(i int) (item, bool) {
	if i+2 >= len(s.toks) || s.toks[i].Kind != token.Numeral || s.toks[i+2].Kind != token.Numeral || !s.toks[i+1].Glued || !s.toks[i+2].Glued {
		return item{}, false
	}
	code := map[string]string{"R": "Ohm", "r": "Ohm", "K": "kOhm", "k": "kOhm", "M": "MOhm"}[s.toks[i+1].Raw]
	if code == "" || i+3 < len(s.toks) && s.toks[i+3].Glued && s.toks[i+3].Kind != token.Sign {
		return item{}, false
	}
	v, ok := number.Parse(s.toks[i].Text + "." + s.toks[i+2].Text)
	id, known := s.v.formOf(code)
	if !ok || !known {
		return item{}, false
	}
	it := item{kind: isNumber, value: v, codes: []int32{id}, to: i + 3}
	it.num = number.Number{Value: v, Start: i, End: i + 3}
	return it, true
}

// timesAll reports whether "x4" stands at i, and four is how many there are on some axis:
// "threads oiled x4".
func (s *scan) timesAll(i int) bool {
	if s.toks[i].Text != "x" || i+1 >= len(s.toks) || !s.toks[i+1].Glued || s.toks[i+1].Kind != token.Numeral {
		return false
	}
	return slices.ContainsFunc(s.v.axes, func(a Axis) bool { return strconv.Itoa(len(a.Values)) == s.toks[i+1].Text })
}

// interjection reports whether "oh" at i is no zero: it opens the note or a clause, and no digit
// follows.
func (s *scan) interjection(i int) bool {
	if s.toks[i].Text != "oh" || i > 0 && s.toks[i-1].Kind != token.Sign {
		return false
	}
	switch s.word(i + 1).Class {
	case number.Digit, number.Zero, number.Point, number.Repeat, number.Numeric, number.Sounds:
		return false
	case number.None, number.Teen, number.Tens, number.Hundred, number.Large, number.And, number.Article, number.Half, number.Part,
		number.Minus, number.Of, number.Dozen, number.Vulgar, number.Nth:
	}
	return true
}

// soundsCounted reports whether "to" or "for" right behind a name or a place counts the parts or
// units that follow: "runout to hundredths", "run out to thou". Behind a verb it does not:
// "measured to hundredths".
func (s *scan) soundsCounted(i int) bool {
	if w := s.nums[i]; w.Class != number.Sounds || !w.Small || len(s.items) == 0 {
		return false
	}
	if before := &s.items[len(s.items)-1]; before.kind != isIndex && before.kind != isName || before.to != i || before.kind == isName && !s.isReading(len(s.items)-1) {
		return false
	}
	next := s.word(i + 1)
	return next.Class == number.Part && next.Many && next.N >= 10 || s.hasUnit(i+1) && next.Class == number.None && len(s.toks[i+1].Text) > 2 && !s.has(isNumber)
}

// changedBy reports whether a part of the number's size is added or taken behind it: "forty two minus a
// tenth", "a thou and two tenths".
func (s *scan) changedBy(i int) bool {
	if i < len(s.toks) && s.hasUnit(i) {
		i = s.m[i][lexicon.Unit].End
	}
	if i+1 >= len(s.toks) {
		return false
	}
	switch s.toks[i].Text {
	case "minus", "plus", "less", "take":
		c := s.word(i + 1).Class
		return c == number.Article || c == number.Half || s.toks[i].Text == "minus" && c != number.None
	}
	return false
}

// isEven reports whether a word stands at i that says that the number before it is
// whole or exact: "thirty four even foot pounds".
func (s *scan) isEven(i int) bool {
	switch s.toks[i].Text {
	case "even", "flat", "exactly", "dead", "exact", "um", "uh", "er", "erm":
		return true
	}
	return false
}

// standIn takes "one" for a thing where a number follows: "the long one eighty eight
// point five".
func (s *scan) standIn(i int) (item, bool) {
	if !s.pronoun(i) {
		return item{}, false
	}
	switch s.toks[i-1].Text {
	case "the", "first", "last", "each", "every", "second", "third", "same", "next", "any", "no":
		return item{}, false // "each one forty eight" may be a hundred and forty-eight
	}
	if _, ok := s.r.At(i + 1); !ok {
		return item{}, false
	}
	return item{kind: isFiller, to: i + 1}, true
}

// other returns the value that a number may stand for instead: what is left where its
// first word is a word of its own, an index or "one" for a thing ("two forty eight" is
// forty-eight on stage two), or what a small word before it makes of it: forty-eight for "for
// eight", two hundred and fifty for "to fifty".
func (s *scan) other(n *number.Number) (v number.Value, ok bool) {
	if !n.Spoken {
		return v, false
	}
	if k, whole := n.Value.Whole(); whole && k < 100 && n.Start > 0 {
		switch w := s.nums[n.Start-1]; {
		case k < 10 && s.toks[n.Start-1].Text == "for":
			return number.Int(40 + k), true
		case k >= 10 && w.Class == number.Sounds && w.Small:
			return number.Int(100*w.N + k), true // "insulation to fifty"
		}
	}
	if n.Start > 0 && s.nums[n.Start].Class == number.Point && s.nums[n.Start-1].Class == number.Digit {
		return n.Value.Plus(s.nums[n.Start-1].N) // "position one point one five"
	}
	for at := n.Start + 1; at < min(n.End, n.Start+4); at++ {
		before := s.nums[at-1].Class
		if before == number.None || before == number.Tens && (s.nums[at].Class == number.Digit || s.nums[at].Class == number.Sounds) {
			continue // a hyphen; the middle of "thirty five"
		}
		if before != number.Digit && before != number.Teen && before != number.Tens && before != number.Sounds {
			return v, false
		}
		if c := s.nums[at].Class; (c == number.Point || c == number.Hundred || c == number.Large) && !s.hasSlot(n.Start-1) {
			return v, false // "one point zero" is one number, but for "stage one point zero"
		}
		if rest, ok := s.r.At(at); ok && rest.End == n.End && !rest.NeedsUnit && !rest.Broken {
			return rest.Value, true
		}
	}
	return v, false
}

// trailsOff reports whether a small word that sounds like a digit ends the note right
// behind a number: "end play up 81 to".
func (s *scan) trailsOff(end int) bool {
	w := s.word(end)
	if half := s.word(end + 1).Class; w.Class == number.Article && (half == number.Half || half == number.Part) {
		return true // "thirteen a half"
	}
	if w.Class != number.Sounds || !w.Small {
		return false
	}
	if s.word(end+1).Class == number.Point {
		return true // "twenty to point for"
	}
	for i := end + 1; i < len(s.toks); i++ {
		if s.toks[i].Kind != token.Sign && !s.words[i].Filler {
			return false
		}
	}
	return true
}

// oneOf are words behind which "one" is a thing: "the wrong one".
var oneOf = strings.Fields(`
	wrong right this that new old other another good bad spare which any no big small long short correct full cut trimmed tight loose clean dirty worn damaged large
	little top bottom lower upper middle inner outer left proper thick thin longer shorter bigger smaller the first last each every second third same next`)

// pronoun reports whether "one" stands for a thing: "the wrong one". Where a point or the rest of a
// number follows, it is a digit: "the gap one point three".
func (s *scan) pronoun(i int) bool {
	if i == 0 || i >= len(s.toks) || s.toks[i].Text != "one" && s.toks[i].Text != "one's" || len(s.items) == 0 || s.toks[i-1].Kind == token.Sign {
		return false
	}
	switch s.word(i + 1).Class {
	case number.Point, number.Hundred, number.Large, number.Zero, number.Half, number.Part:
		return false
	case number.None, number.Digit, number.Teen, number.Tens, number.And, number.Article, number.Repeat, number.Minus, number.Sounds,
		number.Of, number.Numeric, number.Dozen, number.Vulgar, number.Nth:
	}
	return slices.Contains(oneOf, s.toks[i-1].Text) && !s.hasSlot(i-1)
}

// cutOff reports whether a word that may belong to the number at i stands right before
// it and was taken for nothing: "half", "won", the "hundred" of a number that was heard
// in part.
func (s *scan) cutOff(i int) bool {
	if i == 0 || len(s.items) == 0 {
		return false
	}
	if t := s.toks[i-1].Text; i > 1 && (t == "the" || t == "tee" || t == "ty") && (s.nums[i].Class == number.Digit || s.nums[i].Class == number.Sounds) && s.nums[i-2].Class == number.Sounds {
		return true // "for the eight", which may have been forty-eight
	}
	if before := &s.items[len(s.items)-1]; before.kind == isIndex && before.to == i && s.nums[i-1].Class == number.Point {
		return true // "third duty point three": the point may open the number
	}
	if c := s.nums[i].Class; (c == number.Hundred || c == number.Large) && s.multiplies(i-1) {
		return true // "stage three hundred and five", "a few hundred"
	}
	if c := s.word(i - 2).Class; i > 1 && s.nums[i-1].Class == number.Of && (c == number.Half || c == number.Part) {
		return true // "half of thirty five"
	}
	if k := s.items[len(s.items)-1].kind; k != isFiller && k != isWord || s.pronoun(i-1) {
		return false
	}
	switch w := s.nums[i-1]; w.Class {
	case number.Half, number.Repeat, number.Hundred, number.Large, number.Digit, number.Teen, number.Tens, number.Zero, number.Point:
		return true
	case number.Sounds:
		return !w.Small
	case number.None, number.And, number.Article, number.Part, number.Minus, number.Of, number.Numeric, number.Dozen, number.Vulgar, number.Nth:
	}
	return false
}

// multiplies reports whether the word at i says how many hundreds or thousands follow it, or
// may do so.
func (s *scan) multiplies(i int) bool {
	switch s.toks[i].Text {
	case "few", "several", "couple", "some", "many", "odd", "of":
		return true
	}
	switch s.nums[i].Class {
	case number.Digit, number.Teen, number.Tens, number.Zero, number.Numeric, number.Sounds, number.Half, number.Part, number.Vulgar:
		return true
	case number.None, number.Hundred, number.Large, number.Point, number.And, number.Article, number.Repeat, number.Minus, number.Of, number.Dozen, number.Nth:
	}
	return false
}

// ofUnit returns where the unit stands in "half a thou", "a quarter of an hour",
// "point five of a thou", or i where none does.
func (s *scan) ofUnit(i int) int {
	at := i
	if s.word(at).Class == number.Of {
		at++
	}
	if s.word(at).Class == number.Article {
		at++
	}
	if at > i && s.hasUnit(at) {
		return at
	}
	if i < len(s.toks) && s.toks[i].Text == "-" && s.toks[i].Glued && s.hasUnit(i+1) {
		return i + 1
	}
	return i
}

// slotFirst reports whether what looks like a unit at i is an ordinal before a slot, or a slot itself:
// "rod one second pass", "screw eight turn number one".
func (s *scan) slotFirst(i int) bool {
	if s.m[i][lexicon.Value].End > s.m[i][lexicon.Unit].End {
		return true // "one point eight nine W U"
	}
	if s.hasSlot(i) && s.m[i][lexicon.Slot].End == s.m[i][lexicon.Unit].End {
		end := s.m[i][lexicon.Slot].End
		if at := s.skipNumberWord(end); at > end && s.word(at).Class == number.Digit {
			return true
		}
	}
	return s.nums[i].Nth > 0 && s.hasSlot(i+1)
}

// preposition reports whether "in" at i is a small word rather than inches: "two in the
// box", "2 in april".
func (s *scan) preposition(i int) bool {
	if s.toks[i].Text != "in" || s.toks[i].Glued || s.m[i][lexicon.Unit].End != i+1 || i+1 >= len(s.toks) {
		return false
	}
	switch s.toks[i+1].Text {
	case "the", "that", "this", "order", "turn", "sequence", "a", "an", "my", "our", "total", "stock", "one", "place", "all", "january", "february", "march", "april", "may", "june", "july",
		"august", "september", "october", "november", "december":
		return true
	}
	return false
}

// partNumber reports whether what seems a unit before i is the middle of a part
// number: 24703L202, 24703 L-202.
func (s *scan) partNumber(i int) bool {
	joined := i+1 < len(s.toks) && s.toks[i].Glued && s.toks[i].Kind == token.Sign && s.toks[i+1].Glued
	if joined {
		i++
	}
	if i >= len(s.toks) || s.toks[i].Kind != token.Numeral || !s.toks[i].Glued {
		return false
	}
	return !joined || !s.hasUnit(i+1)
}

// inPartNumber reports whether the numeral at i hangs on letters before it that are no
// slot and no name: "L202".
func (s *scan) inPartNumber(i int) bool {
	if s.toks[i].Kind != token.Numeral || !s.toks[i].Glued || len(s.items) == 0 {
		return false
	}
	if s.toks[i-1].Kind == token.Sign && (!s.toks[i-1].Glued || i < 2 || s.toks[i-1].Text != "-" || !s.items[len(s.items)-1].open && s.items[len(s.items)-1].kind != isFiller) {
		return false
	}
	before := &s.items[len(s.items)-1]
	if s.toks[i-1].Kind == token.Sign && len(s.items) > 1 {
		before = &s.items[len(s.items)-2]
		return before.kind == isNumber && before.open
	}
	return before.kind == isWord || before.kind == isUnit || before.kind == isNumber && before.open
}

// unitAndHalf takes "a thou and a half".
func (s *scan) unitAndHalf(i int) (item, bool) {
	if s.nums[i].Class != number.Article || !s.hasUnit(i+1) {
		return item{}, false
	}
	it := item{kind: isNumber, value: number.Int(1), codes: s.m[i+1][lexicon.Unit].IDs, to: s.m[i+1][lexicon.Unit].End}
	it.num = number.Number{Value: it.value, Whole: true, Start: i, End: i + 1, Spoken: true}
	end := it.to
	s.halfAfter(&it)
	if s.word(end).Class == number.And && it.to == end {
		if _, more := s.r.At(end + 1); more { // "a thou and two tenths"
			it.num.Broken, it.num.Why = true, "more of it follows"
			return it, true
		}
	}
	return it, it.to > end
}

// halfAfter adds "and a half" after the unit: "two thou and a half".
func (s *scan) halfAfter(it *item) {
	whole, ok := it.value.Whole()
	if !ok || s.word(it.to).Class != number.And {
		return
	}
	if s.partsAfter(it, whole) {
		return
	}
	at := it.to + 1
	if s.word(at).Class == number.Article {
		at++
	}
	var den int64
	end := at + 1
	switch w := s.word(at); {
	case w.Class == number.Half:
		den = 2
	case w.Class == number.Part && w.N == 4 && (w.Nth == 0 || !s.hasSlot(end)): // no "and fourth bolt"
		den = 4
	default:
		return
	}
	if s.hasUnit(end) || s.ofUnit(end) != end {
		return
	}
	if v, ok := number.Fraction(whole*den+1, den); ok {
		it.value, it.to = v, end
	}
}

// partsAfter adds the thousandths of an inch behind whole inches: "three inches and four hundred
// eighty four thousandths".
func (s *scan) partsAfter(it *item, whole int64) bool {
	inch := slices.ContainsFunc(it.codes, func(id int32) bool { return s.v.units[id].code == "[in_i]" })
	more, ok := s.r.At(it.to + 1)
	if !inch || !ok || more.Broken || more.HasOther || more.Whole || s.word(more.End-1).N != 1000 || s.hasUnit(more.End) && s.toks[more.End].Text != "inch" {
		return false
	}
	sum, ok := more.Value.Plus(whole)
	if ok {
		it.value, it.to = sum, more.End
	}
	return ok
}

// unfinished reports whether a unit that ends at i goes on in words that no unit has:
// "litres per fortnight".
func (s *scan) unfinished(i int) bool {
	if i >= len(s.toks) {
		return false
	}
	switch s.toks[i].Text {
	case "per", "force", "squared", "cubed":
		return true
	case "/", "^":
		return s.toks[i].Glued
	}
	return s.toks[i].Kind == token.Word && s.toks[i].Glued && s.toks[i-1].Kind == token.Word
}

// unitFirst takes a unit said in words before its number: "newton metres forty eight
// point one".
func (s *scan) unitFirst(i int) (item, bool) {
	m := s.m[i][lexicon.Unit]
	if m.End == 0 || !s.v.units[m.IDs[0]].spoken || len(s.items) > 0 && s.items[len(s.items)-1].kind == isNumber || m.End-i < 2 && s.nums[i].Nth > 0 {
		return item{}, false
	}
	end := m.End
	if i > 0 && s.toks[i-1].Text == "in" && end < len(s.toks) && (s.toks[end].Text == "is" || s.toks[end].Text == "it's") {
		end++ // "spacer in inches is three point four eight five"
	}
	n, ok := s.r.At(end)
	if !ok || n.NeedsUnit || s.hasUnit(n.End) || s.hasUnit(s.ofUnit(n.End)) || s.words[i].Filler {
		return item{}, false
	}
	if len(s.toks[i].Text) < 4 {
		return item{}, false
	}
	return item{kind: isNumber, num: n, value: n.Value, codes: m.IDs, to: n.End}, true
}

// relate marks ranges and tolerances among the numbers, and lends a unit to the other
// end: "eight to ten newton metres", "48 ± 2 N.m", "between one and two point four".
func (s *scan) relate() {
	for k := range s.items {
		if s.items[k].kind != isNumber {
			continue
		}
		j, link := s.linked(k)
		if j < 0 {
			if k > 0 && s.items[k-1].kind == isCue && s.items[k-1].cue == cuePlusMinus {
				s.items[k].tol = true
			}
			continue
		}
		a, b := &s.items[k], &s.items[j]
		if link == cuePlusMinus {
			b.tol = true
		} else {
			a.ranged, b.ranged = true, true
		}
		if len(a.codes) == 0 {
			a.codes = b.codes
		} else if len(b.codes) == 0 {
			b.codes = a.codes
		}
	}
}

// linked returns the number after item k that "to", "and" after "between", a dash or
// "plus or minus" ties to it, or -1.
func (s *scan) linked(k int) (j int, link cue) {
	if k+2 >= len(s.items) || s.items[k+2].kind != isNumber {
		return -1, cueNone
	}
	mid := &s.items[k+1]
	switch {
	case mid.kind == isCue && mid.cue == cuePlusMinus:
		return k + 2, cuePlusMinus
	case mid.kind == isCue && mid.cue == cueTo, s.dash(mid):
		return k + 2, cueTo
	case mid.kind == isCue && mid.cue == cueAnd && k > 0 && s.between(k):
		return k + 2, cueBetween
	}
	return -1, cueNone
}

func (s *scan) dash(it *item) bool {
	switch s.toks[it.from].Text {
	case "-", "–", "—", "to", "..", "…":
		return it.to == it.from+1
	}
	return false
}

// between reports whether "between" opens the range whose first number is item k.
func (s *scan) between(k int) bool {
	for j := k - 1; j >= 0 && j >= k-3; j-- {
		if s.items[j].kind == isNumber {
			return false
		}
		if s.items[j].kind == isCue && s.items[j].cue == cueBetween {
			return true
		}
	}
	return false
}

// span returns the bytes of an item.
func (s *scan) span(it *item) Span {
	return Span{s.toks[it.from].Start, s.toks[it.to-1].End}
}
