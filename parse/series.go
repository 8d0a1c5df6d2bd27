package parse

import (
	"math/big"
	"slices"
	"strconv"

	"readback/parse/lexicon"
	"readback/parse/number"
	"readback/parse/token"
)

// abreast reads indexes said one behind the other: "rods one three two four". They are
// indexes where the word before them is plural, or all of the axis stand there and no value
// right behind them; a last one that goes on as a number is none.
func (s *scan) abreast(it *item, axis *Axis, plural bool) bool {
	s.names = s.names[:0]
	end, guess := it.to, false
	for end < len(s.toks) && len(s.toks[end].Text) > 0 {
		w, n := s.nums[end], 0
		switch {
		case w.Class == number.Digit, w.Class == number.Teen:
			n = int(w.N)
		case w.Class == number.Sounds && s.amongDigits(end):
			n, guess = int(w.N), guess || s.word(end+1).Class != number.And
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
	if _, value := s.r.At(end); len(s.names) == 0 || !plural && (value || len(s.names)+len(it.places) < len(axis.Values)) {
		return false // "stage one four six nine newton metres": digits of a value
	}
	for _, n := range s.names {
		s.place(it, axis, n)
	}
	it.to, it.either = end, it.either || guess
	return true
}

// amongDigits reports whether a word that sounds like a digit stands in a row of them:
// "bolts one too three for pass one".
func (s *scan) amongDigits(i int) bool {
	if before := s.word(i - 1).Class; before != number.Digit && before != number.Sounds {
		return false
	}
	after := s.word(i + 1).Class
	if after == number.And {
		after = s.word(i + 2).Class
	}
	return after == number.Digit || after == number.Sounds || s.hasSlot(i+1)
}

var one = big.NewRat(1, 1)

// goesOn reports whether what stands at i makes one number with a digit before it:
// "two hundred", "one oh five".
func (s *scan) goesOn(i int) bool {
	switch s.word(i).Class {
	case number.Zero:
		return s.toks[i].Text != "nought" && s.toks[i].Text != "naught" || s.word(i+1).Class != number.Point // "rings five and six nought point two"
	case number.Hundred, number.Large, number.Repeat:
		return true
	case number.Half, number.Part:
		return !s.hasSlot(i + 1)
	case number.And:
		if c := s.word(i + 1).Class; c == number.Article || c == number.Half || c == number.Part {
			return true
		}
		part, ok := s.r.At(i + 1)
		return ok && !part.Whole && part.Value.Rat().Cmp(one) < 0 // "and three quarters"
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
	for k >= 0 && (s.stop(k) || s.items[k].kind == isCue && s.items[k].cue == cueAnd) {
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
	if _, ok := s.r.At(end); !ok || s.word(end).Class == number.Digit && s.word(end+1).Class == number.Digit {
		return item{}, false // no value, or the digits of one: "three six seven"
	}
	it := item{kind: isIndex, axis: last.axis, to: end}
	if before := &s.items[k].num; before.Torn {
		before.Torn, before.Broken, before.Why = false, false, "" // what touches it is an index
	}
	ok = s.place(&it, axis, n)
	return it, ok
}

// follows reports whether n is the place after the given one.
func (s *scan) follows(axis *Axis, place string, n int) bool {
	k := slices.IndexFunc(axis.Values, func(v AxisValue) bool { return v.Value == place })
	return k >= 0 && k+1 < len(axis.Values) && axis.Values[k+1].Value == strconv.Itoa(n)
}

// every takes "all four rods", "each stage", "all ten stages", "every rod", "all four".
func (s *scan) every(i int) (item, bool) {
	c, at := s.cueAt(i)
	if c != cueAll && c != cueEach && c != cueRest {
		return item{}, false
	}
	count, after := 0, at
	if s.toks[i].Text == "both" {
		count = 2
	}
	if n, end, ok := s.index(at, 99, false); ok && c != cueEach {
		count, at = n, end
	}
	counted := at
	for at < len(s.toks) && (s.toks[at].Text == "the" || s.toks[at].Text == "of") {
		at++
	}
	if at < len(s.toks) && s.hasSlot(at) {
		sl := s.v.slots[s.m[at][lexicon.Slot].IDs[0]]
		// "coupling bolts all four pass one": four bolts, not four passes.
		counts := sl.axis >= 0 && (count == 0 || sl.plural || count == len(s.v.axes[sl.axis].Values))
		if counts && s.m[at][lexicon.Name].End <= s.m[at][lexicon.Slot].End {
			it := s.all(sl.axis, s.m[at][lexicon.Slot].End, count, c)
			it.rest = it.rest && s.toks[after-1].Text != "other"
			return it, true
		}
		if sl.axis < 0 && count > 0 {
			return item{kind: isSlot, to: s.m[at][lexicon.Slot].End, id: int(s.m[at][lexicon.Slot].IDs[0])}, true
		}
	}
	if f, ok := s.nameAt(at); ok {
		if axes := s.v.names[s.v.forms[f].name].Axes; len(axes) > 0 {
			it := s.all(s.axisIndex(axes[0]), at, count, c)
			it.rest = it.rest && s.toks[after-1].Text != "other"
			return it, true
		}
	}
	if c == cueRest && s.toks[after-1].Text != "other" && (after < len(s.toks) || s.toks[i].Text != "remaining") {
		if it, ok := s.restOf(after); ok {
			return it, true
		}
	}
	axis, ok := s.lastAxis()
	if last := s.lastClaim(); !ok && last != nil && c == cueRest && !s.has(isName, isIndex) {
		if n, known := s.v.name(last.Callout); known && len(n.Axes) > 0 {
			it := s.all(s.axisIndex(n.Axes[0]), after, 0, c) // "the rest fourteen and a half each"
			it.rest = it.rest && s.toks[after-1].Text != "other"
			return it, true
		}
	}
	if !ok {
		whole := slices.ContainsFunc(s.v.axes, func(a Axis) bool { return len(a.Values) == count })
		return item{kind: isFiller, to: counted}, whole && c == cueAll && s.ends(counted) // "threads greased, all four"
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
		it.rest = c == cueRest && count == 0
	}
	return it
}

// ends reports whether a clause ends at i, but for "of them".
func (s *scan) ends(i int) bool {
	if i+1 < len(s.toks) && s.toks[i].Text == "of" && s.toks[i+1].Text == "them" {
		i += 2
	}
	return i >= len(s.toks) || s.toks[i].Kind == token.Sign
}

// restOf takes "the rest" behind places that were said: all the others of their axis.
func (s *scan) restOf(end int) (item, bool) {
	axis := -1
	for k := range slices.Backward(s.items) {
		if it := &s.items[k]; it.kind == isIndex && !it.bare && it.axis >= 0 {
			axis = it.axis
			break
		}
	}
	if axis < 0 {
		return item{}, false
	}
	if axes := s.openAxes(); len(axes) > 0 && s.axisIndex(axes[0]) >= 0 {
		axis = s.axisIndex(axes[0]) // the rods, where the pass was said last
	}
	it := s.all(axis, end, 0, cueRest)
	for k := range s.items {
		if o := &s.items[k]; o.kind == isIndex && o.axis == axis {
			it.places = slices.DeleteFunc(it.places, func(p string) bool { return slices.Contains(o.places, p) })
		}
	}
	it.whole = false
	return it, len(it.places) > 0 && s.indexedIn(axis)
}

// indexedIn reports whether a place on the axis was said in the note.
func (s *scan) indexedIn(axis int) bool {
	return slices.ContainsFunc(s.items, func(it item) bool { return it.kind == isIndex && it.axis == axis && !it.bare })
}

// excepted takes the places behind "except" out of those that were all named before: "all rods
// twenty except rod four nineteen". Where a number follows, it is that place's own.
func (s *scan) excepted() {
	for k := range s.items {
		if s.items[k].kind != isCue || s.items[k].cue != cueExcept || k+1 >= len(s.items) || s.items[k+1].kind != isIndex {
			continue
		}
		out := &s.items[k+1]
		for j := range slices.Backward(s.items[:k]) {
			all := &s.items[j]
			if all.kind != isIndex || !all.whole || all.axis != out.axis || all.either || out.either || out.absent || out.bare {
				continue
			}
			all.places = slices.DeleteFunc(slices.Clone(all.places), func(p string) bool { return slices.Contains(out.places, p) })
			all.whole = false
			if s.items[k].cue = cueAnd; s.numberAfter(k) < 0 {
				out.kind = isFiller
			}
			break
		}
	}
}

// lastAxis returns the first axis of the last name said in this note, or the axis of a
// word said without its index: "rods first pass all eight". Without a name it is that of the
// last reading's callout, if the note names another of its axes: "pass two all fourteen".
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
	last := s.lastClaim()
	if last == nil || len(s.items) == 0 {
		return 0, false
	}
	before := &s.items[len(s.items)-1]
	n, known := s.v.name(last.Callout)
	if !known || len(n.Axes) < 2 || before.kind != isIndex || before.axis < 0 || !slices.Contains(n.Axes[1:], s.v.axes[before.axis].ID) {
		return 0, false
	}
	return s.axisIndex(n.Axes[0]), true
}

// serialList takes a list of places right behind a number, in a note that named places of the
// same axis before: "bolts one and three fifteen, two and four fourteen point eight", "twenty
// newton metres on rods one and three, twenty one on two and four".
func (s *scan) serialList(i int) (item, bool) {
	k := len(s.items) - 1
	on := false
	for k >= 0 && (s.items[k].kind == isFiller || s.items[k].kind == isCue && (s.items[k].cue == cueAnd || s.items[k].cue == cueOn)) {
		on = on || s.items[k].cue == cueOn && s.toks[s.items[k].from].Text == "on"
		k--
	}
	if k < 1 || s.items[k].kind != isNumber {
		return item{}, false
	}
	axis, ok := s.listAxis(on)
	if !ok {
		return item{}, false
	}
	it := item{kind: isIndex, axis: axis, to: i}
	for at := i; !s.pronoun(at); {
		n, end, ok := s.index(at, len(s.v.axes[axis].Values), false)
		if !ok || s.isReadingNow(end) || s.goesOn(end) || s.decimalFollows(end) || !s.hasValue(s.v.axes[axis].ID, strconv.Itoa(n)) || !s.place(&it, &s.v.axes[axis], n) {
			break
		}
		it.to = end
		c, next := s.cueAt(end)
		if c != cueAnd && (c != cueOr || !on) {
			break
		}
		it.either = it.either || c == cueOr
		at = next
	}
	_, follows := s.r.At(it.to)
	switch {
	case len(it.places) == 0, s.saidBefore(&it):
		return item{}, false
	case on:
		return it, it.to == len(s.toks) || s.toks[it.to].Kind == token.Sign && !follows || len(it.places) > 1 && !follows
	}
	return it, len(it.places) > 1 && follows
}

// listAxis returns the axis of the places said before, or behind "on" the first of the last name.
func (s *scan) listAxis(on bool) (axis int, ok bool) {
	for k := range slices.Backward(s.items) {
		it := &s.items[k]
		if it.kind == isIndex && !it.bare && it.axis >= 0 && len(it.places) > 1 {
			return it.axis, true
		}
		if on && it.kind == isName && s.isReading(k) {
			if axes := s.nameOf(it).Axes; len(axes) > 0 {
				return s.axisIndex(axes[0]), true
			}
			return 0, false
		}
	}
	last := s.lastClaim()
	if len(s.ctx.Asked) == 1 {
		last = &s.ctx.Asked[0]
	}
	if on && last != nil && !s.has(isName, isIndex) && s.hasCue(cueCorrect, cueNo) {
		if n, known := s.v.name(last.Callout); known && len(n.Axes) > 0 {
			return s.axisIndex(n.Axes[0]), true // "sorry thirty five and a half foot pounds on six"
		}
	}
	return 0, false
}

// saidBefore reports whether one of the places was named before in the note.
func (s *scan) saidBefore(list *item) bool {
	for k := range s.items {
		it := &s.items[k]
		if it.kind == isIndex && it.axis == list.axis && slices.ContainsFunc(it.places, func(p string) bool { return slices.Contains(list.places, p) }) {
			return true
		}
	}
	return false
}

// afterPlace reports whether the item before is a name or a place.
func (s *scan) afterPlace() bool {
	return len(s.items) > 0 && (s.afterName() || s.items[len(s.items)-1].kind == isIndex)
}

// afterName reports whether the item before is a name without an index.
func (s *scan) afterName() bool {
	return len(s.items) > 0 && s.items[len(s.items)-1].kind == isName
}
