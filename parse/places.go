package parse

import (
	"slices"
	"strconv"
	"strings"

	"readback/parse/lexicon"
	"readback/parse/number"
	"readback/parse/token"
)

// slotted takes a slot word and the index after it: "stage three", "rods one to
// four", "wrench seven". After it, a number starts anew.
func (s *scan) slotted(i int) (item, bool) {
	m := s.m[i][lexicon.Slot]
	if m.End == 0 {
		if it, ok := s.letterSlot(i); ok {
			return it, true
		}
		return s.nearSlot(i)
	}
	if s.m[i][lexicon.Name].End > m.End {
		return item{}, false
	}
	sl := s.v.slots[m.IDs[0]]
	if v := s.m[i][lexicon.Value]; v.End > m.End && s.v.values[v.IDs[0]].axis == sl.axis {
		return s.valued(i) // "port a", where the spec says so
	}
	if sl.axis < 0 {
		return s.tradeSlot(m.End, sl, int(m.IDs[0]))
	}
	if s.m[i][lexicon.Name].End == m.End && s.m[i][lexicon.Wrong].End > 0 {
		return item{}, false
	}
	it := item{kind: isIndex, axis: sl.axis}
	s.indexes(&it, m.End, sl.plural, s.counted(i))
	if n := len(s.items); it.absent && n > 0 && s.items[n-1].kind == isCue && s.items[n-1].cue == cueNext {
		it = item{kind: isIndex, axis: sl.axis} // "next stage forty eight": the value
	}
	if len(it.places) == 0 && !it.absent {
		it.bare, it.to = true, m.End
	}
	return it, true
}

// nearSlot takes a word that sounds like that of an axis where the name before it has that axis,
// and an index and a number follow: "tie rod three past one seven point nine".
func (s *scan) nearSlot(i int) (item, bool) {
	if s.toks[i].Kind != token.Word || len(s.toks[i].Text) < 3 || i+2 >= len(s.toks) || s.nums[i].Class != number.None || s.hasUnit(i) {
		return item{}, false
	}
	if c := s.nums[i+1].Class; c == number.None {
		return item{}, false
	}
	n := s.lastName()
	if n == nil {
		return item{}, false
	}
	for _, id := range n.Axes {
		axis := s.axisIndex(id)
		if axis < 0 || s.indexed(axis) || !slices.ContainsFunc(s.v.axes[axis].Say, func(say string) bool { return lexicon.Alike(s.toks[i].Text, say) }) {
			continue
		}
		k, end, ok := s.index(i+1, len(s.v.axes[axis].Values), false)
		if !ok || s.isReadingNow(end) {
			continue
		}
		if _, follows := s.r.At(end); !follows && !s.hasSlot(end) {
			continue
		}
		it := item{kind: isIndex, axis: axis, to: end}
		placed := s.place(&it, &s.v.axes[axis], k)
		return it, placed
	}
	return item{}, false
}

// letterSlot takes an index behind the first letter of its axis, or behind "#": "p1", "#3". The name
// or the place before it says which axes there are, and one of them alone must begin so.
func (s *scan) letterSlot(i int) (item, bool) {
	if i+1 >= len(s.toks) || s.toks[i+1].Kind != token.Numeral || !s.toks[i+1].Glued || len(s.toks[i].Text) != 1 || s.hasUnit(i+2) && s.toks[i+2].Glued {
		return item{}, false
	}
	n, end, ok := s.index(i+1, 99, false)
	if !ok || s.word(end).Class == number.Point {
		return item{}, false
	}
	axis := -1
	for k, id := range s.openAxes() {
		a := s.axisIndex(id)
		if a < 0 || !s.hasValue(id, strconv.Itoa(n)) {
			continue
		}
		if s.toks[i].Text == "#" && k == 0 || s.toks[i].Text != "#" && strings.HasPrefix(s.v.axes[a].Say[0], s.toks[i].Text) {
			if axis >= 0 {
				return item{}, false
			}
			axis = a
		}
	}
	if axis < 0 {
		return item{}, false
	}
	it := item{kind: isIndex, axis: axis, to: end}
	placed := s.place(&it, &s.v.axes[axis], n)
	return it, placed
}

// openAxes returns the axes of the name that was said last in the note, or of the one callout that
// the places said before it can be of.
func (s *scan) openAxes() []string {
	if n := s.lastName(); n != nil {
		return n.Axes
	}
	var said []int
	for k := range s.items {
		if s.items[k].kind == isIndex && s.items[k].axis >= 0 {
			said = append(said, k)
		}
	}
	if n, others := s.home(&bound{places: said}, nil); n != nil && len(others) == 0 {
		return n.Axes
	}
	return nil
}

// lastName returns the last name of the note that takes a reading, or nil.
func (s *scan) lastName() *Name {
	for k := range slices.Backward(s.items) {
		if s.items[k].kind == isName && s.isReading(k) {
			return s.nameOf(&s.items[k])
		}
	}
	return nil
}

// counted reports whether the word before token i takes the place of an index: "the
// stage", "each rod". Then "to" after it is a small word and no "two".
func (s *scan) counted(i int) bool {
	if i == 0 {
		return false
	}
	switch s.toks[i-1].Text {
	case "the", "this", "that", "each", "every", "all", "torqued", "tightened":
		return true
	}
	return s.nums[i-1].Nth > 0
}

// tradeSlot takes a slot that no axis of the spec covers. Its number is an index and
// no reading.
func (s *scan) tradeSlot(end int, sl slot, id int) (item, bool) {
	at := s.skipNumberWord(end)
	if sl.long {
		for at < len(s.toks) && (s.toks[at].Text == "-" || s.words[at].ID == 0 && len(s.toks[at].Text) <= 2 && s.toks[at].Kind == token.Word) {
			at++
		}
		n, ok := s.r.At(at)
		if !ok || s.hasUnit(n.End) && !n.Broken {
			return item{}, false
		}
		return item{kind: isSlot, to: n.End, id: id, places: []string{n.Value.String()}}, true
	}
	n, to, ok := s.index(at, 999, false)
	if !ok || s.hasUnit(to) || s.word(to).Class == number.Point {
		if !sl.tool {
			return item{}, false
		}
		return item{kind: isSlot, to: end, id: id}, true
	}
	if c := s.word(to).Class; sl.plural && end == at && (c == number.Teen || c == number.Tens) && s.r.Listed(at) {
		return item{kind: isSlot, to: end, id: id}, true // "passes eight fourteen and twenty newton metres": values
	}
	it := item{kind: isSlot, to: s.skipOf(to), id: id, places: []string{strconv.Itoa(n)}}
	if sl.plural {
		s.rangeBehind(&it, n)
	}
	return it, true
}

// rangeBehind reads "one to four" after a plural that is no axis.
func (s *scan) rangeBehind(it *item, first int) {
	c, at := s.cueAt(it.to)
	if c != cueTo && c != cueAnd {
		return
	}
	if n, end, ok := s.index(at, 999, false); ok && n > first && !s.isReadingNow(end) && !s.fractionFollows(end) {
		it.to = end
	}
}

func (s *scan) word(i int) number.Word {
	if i < 0 || i >= len(s.nums) {
		return number.Word{}
	}
	return s.nums[i]
}

// skipNumberWord passes "number", "no", "#", ":" before an index.
func (s *scan) skipNumberWord(i int) int {
	for i < len(s.toks) {
		switch s.toks[i].Text {
		case "number", "no", "#", ":", "nr":
			if i+1 >= len(s.toks) {
				return i
			}
			i++
			if s.toks[i].Text == "." && s.toks[i].Glued && i+1 < len(s.toks) {
				i++ // "no. 4"
			}
		case "in":
			if i+2 >= len(s.toks) || s.toks[i+1].Text != "order" && s.toks[i+1].Text != "sequence" {
				return i
			}
			i += 2
		default:
			return i
		}
	}
	return i
}

// skipOf passes "of 4" after an index.
func (s *scan) skipOf(i int) int {
	if i < len(s.toks) && s.toks[i].Text == "of" {
		if _, to, ok := s.index(i+1, 999, false); ok && !s.hasUnit(to) {
			return to
		}
	}
	return i
}

// index reads one small whole number as an index. At most says how far the axis goes.
func (s *scan) index(i, most int, sounds bool) (n, end int, ok bool) {
	if i >= len(s.toks) {
		return 0, i, false
	}
	w := s.nums[i]
	if s.toks[i].Text == "one's" {
		return 1, i + 1, true // "stage one's seated"
	}
	switch w.Class {
	case number.Digit, number.Teen:
		return int(w.N), i + 1, true
	case number.Tens:
		if next := s.word(i + 1); next.Class == number.Digit && int(w.N+next.N) <= max(most, 99) {
			return int(w.N + next.N), i + 2, true
		}
		return int(w.N), i + 1, true
	case number.Sounds:
		if sounds {
			return int(w.N), i + 1, true
		}
	case number.Numeric:
		text := s.toks[i].Text
		if k, err := strconv.Atoi(text); err == nil && len(text) <= 3 && !s.decimalFollows(i+1) && !s.suffixed(i+1) {
			return k, i + 1, true
		}
	case number.None, number.Zero, number.Hundred, number.Large, number.Point, number.And, number.Article, number.Half,
		number.Part, number.Repeat, number.Minus, number.Of, number.Dozen, number.Vulgar, number.Nth:
	}
	return 0, i, false
}

// suffixed reports whether the numeral before i is an ordinal: "3rd".
func (s *scan) suffixed(i int) bool {
	if i >= len(s.toks) || !s.toks[i].Glued {
		return false
	}
	switch s.toks[i].Text {
	case "st", "nd", "rd", "th":
		return true
	}
	return false
}

// decimalFollows reports whether the numeral before i goes on as 1/2 or 2:30.
func (s *scan) decimalFollows(i int) bool {
	return i+1 < len(s.toks) && s.toks[i].Glued && s.toks[i+1].Glued && (s.toks[i].Text == "/" || s.toks[i].Text == ":" || s.toks[i].Text == "°")
}

// indexes reads the index, range, list or choice after a slot word and puts it into it.
func (s *scan) indexes(it *item, i int, plural, counted bool) {
	axis := &s.v.axes[it.axis]
	it.to = i
	at := s.skipNumberWord(i)
	if s.symbolic(it, at) || s.commaed(it, axis, at) {
		return
	}
	if c, end := s.cueAt(at); c == cueLast && len(axis.Values) > 0 {
		it.places, it.to = []string{axis.Values[len(axis.Values)-1].Value}, end
		return
	}
	sounds := !plural && !counted && s.soundsLikeIndex(at) || plural && s.soundsLikeList(at)
	n, end, ok := s.index(at, len(axis.Values), sounds)
	if !ok || s.isReadingNow(end) && (!sounds || s.word(at).Class != number.Sounds) && !s.pointsOn(axis, n, end, plural) {
		return
	}
	if !s.place(it, axis, n) && s.word(at).Class == number.Tens && end == at+2 && s.place(it, axis, int(s.nums[at].N)) {
		end--
	}
	it.to = s.skipOf(end)
	s.more(it, axis, plural)
}

// commaed reads indexes that were typed as one numeral: "rods 1,3,2,4".
func (s *scan) commaed(it *item, axis *Axis, at int) bool {
	if at >= len(s.toks) || s.toks[at].Kind != token.Numeral || !strings.Contains(s.toks[at].Text, ",") {
		return false
	}
	for p := range strings.SplitSeq(s.toks[at].Text, ",") {
		if !s.hasValue(axis.ID, p) || slices.Contains(it.places, p) {
			it.places = nil
			return false
		}
		it.places = append(it.places, p)
	}
	it.to = at + 1
	return true
}

// isReadingNow reports whether the number that ends at i goes on as a reading: a unit
// or a point follows at once.
func (s *scan) isReadingNow(i int) bool {
	if s.word(i).Class == number.Point {
		return true
	}
	if !s.hasUnit(i) {
		return false
	}
	// "stage four bar": a unit. "rod two second pass": no.
	return !s.hasSlot(i + 1)
}

// soundsLikeIndex reports whether "to", "for", "ate" or "won" at i is an index: what
// follows is a number or another slot, not the end of the note.
func (s *scan) soundsLikeIndex(i int) bool {
	w := s.word(i)
	if w.Class != number.Sounds {
		return false
	}
	if w.N != 2 && w.N != 4 {
		return !s.hasUnit(i + 1)
	}
	if s.hasSlot(i+1) || i+1 == len(s.toks) {
		return true
	}
	if c, _ := s.cueAt(i + 1); c == cueAgain || c == cueSame || c == cueDone {
		return true
	}
	if s.m[i+1][lexicon.Choice].End > 0 || s.m[i+1][lexicon.Wrong].End > 0 {
		return true
	}
	if _, ok := s.r.At(i + 1); ok {
		return true
	}
	_, named := s.named(i + 1)
	return named
}

// pointsOn reports whether the point behind an index opens a value of its own: "position one point
// one five" is 0.15 at the first position where the last name has positions, since it would have
// none otherwise. The other reading stays known: [scan.other].
func (s *scan) pointsOn(axis *Axis, n, end int, plural bool) bool {
	name := s.lastName()
	if name == nil || plural || s.word(end).Class != number.Point || s.nums[end-1].Class != number.Digit && s.nums[end-1].Class != number.Numeric || s.toks[end].Kind != token.Word || !slices.Contains(name.Axes, axis.ID) {
		return false
	}
	return s.hasValue(axis.ID, strconv.Itoa(n)) && !s.indexed(s.axisIndex(axis.ID))
}

// soundsLikeList reports whether a word that sounds like a digit opens a list of indexes: "stages
// won too and three", "bolts to and four".
func (s *scan) soundsLikeList(i int) bool {
	if s.word(i).Class != number.Sounds {
		return false
	}
	at := i + 1
	if s.word(at).Class == number.Sounds && !s.word(at).Small {
		at++ // "won too and three"
	}
	if s.word(at).Class != number.And {
		return false
	}
	c := s.word(at + 1).Class
	return c == number.Digit || c == number.Sounds || c == number.Numeric
}

// soundsLast reports whether a word that sounds like a digit ends a list of indexes: a number,
// a slot, "all" or the end of the note follows it.
func (s *scan) soundsLast(i int) bool {
	if s.word(i).Class != number.Sounds || s.hasUnit(i+1) || s.word(i+1).Class == number.Point {
		return false
	}
	c, _ := s.cueAt(i + 1)
	_, follows := s.r.At(i + 1)
	return follows || s.hasSlot(i+1) || c == cueAll || c == cueEach || i+1 == len(s.toks)
}

// place adds the n-th place of an axis; an unknown one marks the item.
func (s *scan) place(it *item, axis *Axis, n int) bool {
	value := strconv.Itoa(n)
	for _, v := range axis.Values {
		if v.Value == value {
			if !slices.Contains(it.places, value) {
				it.places = append(it.places, value)
			}
			it.absent = false
			return true
		}
	}
	it.absent = true
	if len(it.places) == 0 {
		it.places = []string{value}
	}
	return false
}

// more reads what makes several places of one: "to four", "and three", "or ten".
func (s *scan) more(it *item, axis *Axis, plural bool) {
	for !it.absent {
		c, at := s.cueAt(it.to)
		joined := it.to < len(s.toks) && s.toks[it.to].Text == "-" && s.toks[it.to].Glued
		if joined {
			c, at = cueTo, it.to+1
		}
		if it.to < len(s.toks) && s.toks[it.to].Text == "," && !plural && len(it.places) < 2 && !s.listAhead(it.to, axis, it.places[0]) {
			return // "stage seven, four and a half": the comma parts the place from its value
		}
		if c != cueTo && c != cueAnd && c != cueOr {
			if !s.abreast(it, axis, plural) {
				return
			}
			continue
		}
		again := s.skipSlotAgain(at, it.axis)
		n, end, ok := s.index(again, len(axis.Values), plural && c == cueAnd && s.soundsLast(again))
		if !ok || s.isReadingNow(end) || s.fractionFollows(end) || s.goesOn(end) || n > len(axis.Values) && again == at && !joined && s.toks[it.to].Text == "," {
			return
		}
		if !plural && c != cueOr && (n > len(axis.Values) || !s.somethingFollows(end) && !s.has(isNumber) && !s.kindBefore()) && !joined {
			return
		}
		if !plural && again == at && c == cueAnd && (s.toks[it.to].Text == "then" || s.valueBefore() && end < len(s.toks)) {
			return // "forty eight on stage one and three ..." goes on with another value
		}
		first, _ := strconv.Atoi(it.places[len(it.places)-1])
		if c == cueTo {
			if n <= first {
				return
			}
			for k := first + 1; k <= n && s.place(it, axis, k); k++ {
			}
		} else {
			it.either = it.either || c == cueOr
			s.place(it, axis, n)
		}
		it.to = end
	}
}

// listAhead reports whether behind the first place, from its comma on, a list goes on that can be
// nothing else: "tank flow one, two and three". It rises, ends with "and", and no value begins
// with its last place.
func (s *scan) listAhead(i int, axis *Axis, first string) bool {
	last, err := strconv.Atoi(first)
	for err == nil && i < len(s.toks) {
		c, at := s.cueAt(i)
		if c != cueAnd {
			return false
		}
		and := s.toks[i].Text == "and"
		n, end, ok := s.index(at, len(axis.Values), false)
		if !ok || n <= last || n > len(axis.Values) || s.isReadingNow(end) || s.goesOn(end) || s.fractionFollows(end) || s.decimalFollows(end) {
			return false
		}
		if _, value := s.r.At(end); and {
			return !value
		}
		last, i = n, end
	}
	return false
}

// kindBefore reports whether a kind of part was said, and no name of a reading: "impeller full stage
// four and five".
func (s *scan) kindBefore() bool { return s.has(isChoice) && s.lastName() == nil }

// valueBefore reports whether a value with its unit was said before and has had no place until
// now: its place stands behind it.
func (s *scan) valueBefore() bool {
	for k := range slices.Backward(s.items) {
		switch it := &s.items[k]; it.kind {
		case isNumber:
			return len(it.codes) > 0
		case isIndex:
			if !it.bare && k > 0 && s.items[k-1].kind != isIndex {
				continue // of the same place: "rod four pass one"
			}
		case isWord, isFiller, isCue, isName, isUnit, isChoice, isSlot, isThing, isWrong, isDrop:
		}
	}
	return false
}

// skipSlotAgain passes the slot word said again: "stage two and stage three".
func (s *scan) skipSlotAgain(i, axis int) int {
	if s.hasSlot(i) && s.v.slots[s.m[i][lexicon.Slot].IDs[0]].axis == axis {
		return s.m[i][lexicon.Slot].End
	}
	return i
}

func (s *scan) fractionFollows(i int) bool {
	switch s.word(i).Class {
	case number.Half, number.Hundred, number.Large:
		return true
	case number.Part:
		return !s.hasSlot(i + 1)
	case number.None, number.Digit, number.Zero, number.Teen, number.Tens, number.Point, number.And, number.Article,
		number.Repeat, number.Minus, number.Sounds, number.Of, number.Numeric, number.Dozen, number.Vulgar, number.Nth:
	}
	return false
}

// somethingFollows reports whether more of the note follows.
func (s *scan) somethingFollows(i int) bool { return i < len(s.toks) }

// symbolic reads a place that is not a number: "u v".
func (s *scan) symbolic(it *item, i int) bool {
	if i >= len(s.m) || s.m[i][lexicon.Value].End == 0 {
		return false
	}
	v := s.v.values[s.m[i][lexicon.Value].IDs[0]]
	if v.axis != it.axis {
		return false
	}
	it.places, it.to = []string{v.value}, s.m[i][lexicon.Value].End
	s.overlapping(it)
	s.andValues(it)
	return true
}

// overlapping finds that the words of one place run into those of another: "u v w" is no
// phase. With "all" after it every place is meant, else it is asked which.
func (s *scan) overlapping(it *item) {
	for at := it.to - 1; at > 0 && at < len(s.m) && s.m[at][lexicon.Value].End > it.to; at = it.to - 1 {
		if s.v.values[s.m[at][lexicon.Value].IDs[0]].axis != it.axis {
			return
		}
		it.to, it.either = s.m[at][lexicon.Value].End, true
	}
	if c, _ := s.cueAt(it.to); it.either {
		it.whole, it.either = true, c != cueAll && c != cueEach
		it.places = it.places[:0]
		for _, v := range s.v.axes[it.axis].Values {
			it.places = append(it.places, v.Value)
		}
	}
}

// valued takes a place that is not a number and stands alone: "u v one point eight".
func (s *scan) valued(i int) (item, bool) {
	m := s.m[i][lexicon.Value]
	if m.End == 0 || s.m[i][lexicon.Name].End > m.End {
		return item{}, false
	}
	v := s.v.values[m.IDs[0]]
	if v.behind {
		return item{}, false
	}
	it := item{kind: isIndex, axis: v.axis, places: []string{v.value}, to: m.End}
	s.overlapping(&it)
	s.andValues(&it)
	return it, true
}

// andValues reads more places that are not numbers: "u v and v w".
func (s *scan) andValues(it *item) {
	for {
		c, at := s.cueAt(it.to)
		if c != cueAnd && c != cueOr || at >= len(s.m) {
			return
		}
		if s.hasSlot(at) && s.v.slots[s.m[at][lexicon.Slot].IDs[0]].axis == it.axis {
			at = s.m[at][lexicon.Slot].End
		}
		if at >= len(s.m) || s.m[at][lexicon.Value].End == 0 {
			return
		}
		v := s.v.values[s.m[at][lexicon.Value].IDs[0]]
		if v.axis != it.axis || slices.Contains(it.places, v.value) {
			return
		}
		it.places, it.to = append(it.places, v.value), s.m[at][lexicon.Value].End
		it.either = it.either || c == cueOr
	}
}

func (s *scan) axisIndex(id string) int {
	return slices.IndexFunc(s.v.axes, func(a Axis) bool { return a.ID == id })
}
