package parse

import (
	"slices"
	"strconv"

	"readback/parse/lexicon"
	"readback/parse/number"
	"readback/parse/token"
)

// slotted takes a slot word and the index after it: "stage three", "rods one to
// four", "wrench seven". After it, a number starts anew.
func (s *scan) slotted(i int) (item, bool) {
	m := s.m[i][lexicon.Slot]
	if m.End == 0 || s.m[i][lexicon.Name].End > m.End {
		return item{}, false
	}
	sl := s.v.slots[m.IDs[0]]
	if sl.axis < 0 {
		return s.tradeSlot(m.End, sl, int(m.IDs[0]))
	}
	if s.m[i][lexicon.Name].End == m.End && s.m[i][lexicon.Wrong].End > 0 {
		return item{}, false
	}
	it := item{kind: isIndex, axis: sl.axis}
	s.indexes(&it, m.End, sl.plural, s.counted(i))
	if len(it.places) == 0 && !it.absent {
		it.bare, it.to = true, m.End
	}
	return it, true
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
	if !ok || s.hasUnit(to) || s.nums2(to).Class == number.Point {
		if !sl.tool {
			return item{}, false
		}
		return item{kind: isSlot, to: end, id: id}, true
	}
	it := item{kind: isSlot, to: s.skipOf(to), id: id, places: []string{strconv.Itoa(n)}}
	if sl.plural {
		s.span2(&it, n)
	}
	return it, true
}

// span2 reads "one to four" after a plural that is no axis.
func (s *scan) span2(it *item, first int) {
	c, at := s.cueAt(it.to)
	if c != cueTo && c != cueAnd {
		return
	}
	if n, end, ok := s.index(at, 999, false); ok && n > first && !s.isReadingNow(end) && !s.fractionFollows(end) {
		it.to = end
	}
}

func (s *scan) nums2(i int) number.Word {
	if i >= len(s.nums) {
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
	switch w.Class {
	case number.Digit, number.Teen:
		return int(w.N), i + 1, true
	case number.Tens:
		if next := s.nums2(i + 1); next.Class == number.Digit && int(w.N+next.N) <= max(most, 99) {
			return int(w.N + next.N), i + 2, true
		}
		return int(w.N), i + 1, true
	case number.Sounds:
		if sounds {
			return int(w.N), i + 1, true
		}
	case number.Numeric:
		text := s.toks[i].Text
		if k, err := strconv.Atoi(text); err == nil && len(text) <= 3 && !s.decimalFollows(i+1) {
			return k, i + 1, true
		}
	case number.None, number.Zero, number.Hundred, number.Large, number.Point, number.And, number.Article, number.Half,
		number.Part, number.Repeat, number.Minus, number.Of, number.Dozen, number.Vulgar, number.Nth:
	}
	return 0, i, false
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
	if s.symbolic(it, at) {
		return
	}
	if c, end := s.cueAt(at); c == cueLast && len(axis.Values) > 0 {
		it.places, it.to = []string{axis.Values[len(axis.Values)-1].Value}, end
		return
	}
	sounds := !plural && !counted && s.soundsLikeIndex(at)
	n, end, ok := s.index(at, len(axis.Values), sounds)
	if !ok || s.isReadingNow(end) && (!sounds || s.nums2(at).Class != number.Sounds) {
		return
	}
	if !s.place(it, axis, n) && s.nums2(at).Class == number.Tens && end == at+2 && s.place(it, axis, int(s.nums[at].N)) {
		end--
	}
	it.to = s.skipOf(end)
	s.more(it, axis, plural)
}

// isReadingNow reports whether the number that ends at i goes on as a reading: a unit
// or a point follows at once.
func (s *scan) isReadingNow(i int) bool {
	if s.nums2(i).Class == number.Point {
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
	w := s.nums2(i)
	if w.Class != number.Sounds {
		return false
	}
	if w.N != 2 && w.N != 4 {
		return !s.hasUnit(i + 1)
	}
	if s.hasSlot(i + 1) {
		return true
	}
	if _, ok := s.r.At(i + 1); ok {
		return true
	}
	_, named := s.named(i + 1)
	return named
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
		if c != cueTo && c != cueAnd && c != cueOr {
			if !s.abreast(it, axis, plural) {
				return
			}
			continue
		}
		at = s.skipSlotAgain(at, it.axis)
		n, end, ok := s.index(at, len(axis.Values), false)
		if !ok || s.isReadingNow(end) || s.fractionFollows(end) {
			return
		}
		if !plural && c != cueOr && (n > len(axis.Values) || !s.somethingFollows(end)) && !joined {
			return
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

// abreast reads indexes said one behind the other: "rods one three two four". They are
// indexes where the word before them is plural or three and more stand there; a last
// one that goes on as a number is none.
func (s *scan) abreast(it *item, axis *Axis, plural bool) bool {
	s.names = s.names[:0]
	end := it.to
	for end < len(s.toks) && len(s.toks[end].Text) > 0 {
		w, n := s.nums[end], 0
		switch {
		case w.Class == number.Digit, w.Class == number.Teen:
			n = int(w.N)
		case w.Class == number.Numeric && len(s.toks[end].Text) == 1 && !s.decimalFollows(end+1):
			n = int(s.toks[end].Text[0] - '0')
		}
		if n == 0 || !s.hasValue(axis.ID, strconv.Itoa(n)) {
			break
		}
		if slices.Contains(s.names, n) || slices.Contains(it.places, strconv.Itoa(n)) {
			return false
		}
		s.names = append(s.names, n)
		end++
	}
	if k := len(s.names); k > 0 && (s.isReadingNow(end) || s.goesOn(end)) {
		s.names, end = s.names[:k-1], end-1
	}
	if len(s.names) == 0 || !plural && len(s.names)+len(it.places) < 3 {
		return false
	}
	for _, n := range s.names {
		s.place(it, axis, n)
	}
	it.to = end
	return true
}

// goesOn reports whether what stands at i makes one number with a digit before it:
// "two hundred", "one oh five".
func (s *scan) goesOn(i int) bool {
	switch s.nums2(i).Class {
	case number.Hundred, number.Large, number.Zero, number.Repeat:
		return true
	case number.Half, number.Part:
		return !s.hasSlot(i + 1)
	case number.And:
		c := s.nums2(i + 1).Class
		return c == number.Article || c == number.Half || c == number.Part
	case number.None, number.Digit, number.Teen, number.Tens, number.Point, number.Article, number.Minus, number.Sounds,
		number.Of, number.Numeric, number.Dozen, number.Vulgar, number.Nth:
	}
	return false
}

// serial takes the next index of a series: "collar nut one forty eight two forty seven
// three forty nine". It must be the place after the one before, and a number must
// follow both.
func (s *scan) serial(i int) (item, bool) {
	k := len(s.items) - 1
	for k >= 0 && (s.items[k].kind == isFiller || s.items[k].kind == isCue && s.items[k].cue == cueAnd) {
		k--
	}
	if k < 2 || s.items[k].kind != isNumber || s.items[k-1].kind != isIndex || s.items[k-2].kind == isIndex {
		return item{}, false
	}
	last := &s.items[k-1]
	if last.axis < 0 || len(last.places) != 1 || last.absent || last.bare {
		return item{}, false
	}
	axis := &s.v.axes[last.axis]
	n, end, ok := s.index(i, len(axis.Values), false)
	if !ok || end != i+1 || s.isReadingNow(end) || s.goesOn(end) || !s.follows(axis, last.places[0], n) {
		return item{}, false
	}
	if _, ok := s.r.At(end); !ok {
		return item{}, false
	}
	it := item{kind: isIndex, axis: last.axis, to: end}
	if before := &s.items[k].num; before.Torn {
		before.Torn, before.Broken, before.Why = false, false, "" // what touches it is an index
	}
	return it, s.place(&it, axis, n)
}

// follows reports whether n is the place after the given one.
func (s *scan) follows(axis *Axis, place string, n int) bool {
	k := slices.IndexFunc(axis.Values, func(v AxisValue) bool { return v.Value == place })
	return k >= 0 && k+1 < len(axis.Values) && axis.Values[k+1].Value == strconv.Itoa(n)
}

// skipSlotAgain passes the slot word said again: "stage two and stage three".
func (s *scan) skipSlotAgain(i, axis int) int {
	if s.hasSlot(i) && s.v.slots[s.m[i][lexicon.Slot].IDs[0]].axis == axis {
		return s.m[i][lexicon.Slot].End
	}
	return i
}

func (s *scan) fractionFollows(i int) bool {
	switch s.nums2(i).Class {
	case number.Half, number.Hundred, number.Large:
		return true
	case number.Part:
		return !s.hasSlot(i + 1)
	case number.None, number.Digit, number.Zero, number.Teen, number.Tens, number.Point, number.And, number.Article,
		number.Repeat, number.Minus, number.Sounds, number.Of, number.Numeric, number.Dozen, number.Vulgar, number.Nth:
	}
	return false
}

// somethingFollows reports whether more of the note follows that can hold a reading.
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
	it := item{kind: isIndex, axis: v.axis, places: []string{v.value}, to: m.End}
	s.overlapping(&it)
	return it, true
}

// ordinal takes "third stage", "second pass", "last rod", "3rd stage", and "first
// collar nut", where the name says the axis.
func (s *scan) ordinal(i int) (item, bool) {
	n, at := int(s.nums[i].Nth), i+1
	if s.nums[i].Class == number.Numeric && at < len(s.toks) && s.toks[at].Glued {
		switch s.toks[at].Text {
		case "st", "nd", "rd", "th":
			n, _ = strconv.Atoi(s.toks[i].Text)
			at++
		}
	}
	c, end := s.cueAt(i)
	if n == 0 && c == cueLast {
		n, at = -1, end
	}
	if n == 0 {
		n, at = s.numbered(i)
	}
	if n == 0 || at >= len(s.toks) {
		return item{}, false
	}
	if it, ok := s.nth(n, at); ok {
		return it, true
	}
	// "first collar nut": the name that follows says the axis.
	if f, ok := s.nameAt(at); ok && len(s.v.names[s.v.forms[f].name].Axes) > 0 && n > 0 {
		return item{kind: isIndex, axis: -1, places: []string{strconv.Itoa(n)}, to: at}, true
	}
	return item{}, false
}

// numbered reads "number five" and "no. 5" before a name that has places.
func (s *scan) numbered(i int) (n, end int) {
	at := s.skipNumberWord(i)
	if at == i {
		return 0, i
	}
	n, end, ok := s.index(at, 99, false)
	if f, named := s.nameAt(end); !ok || !named || len(s.v.names[s.v.forms[f].name].Axes) == 0 {
		return 0, i
	}
	return n, end
}

// nth takes the n-th place (-1 for the last) of the axis whose word stands at token at.
func (s *scan) nth(n, at int) (item, bool) {
	m := s.m[at][lexicon.Slot]
	if m.End == 0 {
		return item{}, false
	}
	sl := s.v.slots[m.IDs[0]]
	if sl.axis < 0 {
		return item{kind: isSlot, to: m.End, id: int(m.IDs[0]), places: []string{strconv.Itoa(n)}}, n > 0
	}
	axis := &s.v.axes[sl.axis]
	it := item{kind: isIndex, axis: sl.axis, to: m.End}
	if n < 0 && len(axis.Values) > 0 {
		it.places = []string{axis.Values[len(axis.Values)-1].Value}
		return it, true
	}
	s.place(&it, axis, n)
	return it, true
}

// every takes "all four rods", "each stage", "all ten stages", "every rod", "all four".
func (s *scan) every(i int) (item, bool) {
	c, at := s.cueAt(i)
	if c != cueAll && c != cueEach && c != cueRest {
		return item{}, false
	}
	count, after := 0, at
	if n, end, ok := s.index(at, 99, false); ok && c != cueEach {
		count, at = n, end
	}
	for at < len(s.toks) && (s.toks[at].Text == "the" || s.toks[at].Text == "of") {
		at++
	}
	if at < len(s.toks) && s.hasSlot(at) {
		sl := s.v.slots[s.m[at][lexicon.Slot].IDs[0]]
		// "coupling bolts all four pass one": four bolts, not four passes.
		counts := sl.axis >= 0 && (count == 0 || sl.plural || count == len(s.v.axes[sl.axis].Values))
		if counts && s.m[at][lexicon.Name].End <= s.m[at][lexicon.Slot].End {
			return s.all(sl.axis, s.m[at][lexicon.Slot].End, count, c), true
		}
		if sl.axis < 0 && count > 0 {
			return item{kind: isSlot, to: s.m[at][lexicon.Slot].End, id: int(s.m[at][lexicon.Slot].IDs[0])}, true
		}
	}
	if f, ok := s.nameAt(at); ok {
		if axes := s.v.names[s.v.forms[f].name].Axes; len(axes) > 0 {
			return s.all(s.axisIndex(axes[0]), at, count, c), true
		}
	}
	axis, ok := s.lastAxis()
	if !ok {
		return item{}, false
	}
	if count == len(s.v.axes[axis].Values) && !s.isReadingNow(at) {
		return s.all(axis, at, count, c), true // "all four fifteen"
	}
	if !s.indexed(axis) && s.afterPlace() {
		return s.all(axis, after, 0, c), true // "coupling bolts pass one all fifteen"
	}
	return item{}, false
}

func (s *scan) all(axis, end, count int, c cue) item {
	it := item{kind: isIndex, axis: axis, to: end, whole: true}
	for _, v := range s.v.axes[axis].Values {
		it.places = append(it.places, v.Value)
	}
	if count > 0 && count != len(it.places) || c == cueRest {
		it.either = true // not all, and not said which
	}
	return it
}

func (s *scan) axisIndex(id string) int {
	return slices.IndexFunc(s.v.axes, func(a Axis) bool { return a.ID == id })
}

// lastAxis returns the first axis of the last name said in this note, or the axis of a
// word said without its index: "rods first pass all eight".
func (s *scan) lastAxis() (axis int, ok bool) {
	for k := range slices.Backward(s.items) {
		it := &s.items[k]
		switch {
		case it.kind == isName:
			if axes := s.nameOf(it).Axes; len(axes) > 0 {
				return s.axisIndex(axes[0]), true
			}
			return 0, false
		case it.kind == isIndex && it.bare:
			return it.axis, true
		}
	}
	return 0, false
}

// afterPlace reports whether the item before is a name or a place.
func (s *scan) afterPlace() bool {
	return len(s.items) > 0 && (s.afterName() || s.items[len(s.items)-1].kind == isIndex)
}

// afterName reports whether the item before is a name without an index.
func (s *scan) afterName() bool {
	return len(s.items) > 0 && s.items[len(s.items)-1].kind == isName
}
