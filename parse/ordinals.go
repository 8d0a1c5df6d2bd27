package parse

import (
	"strconv"

	"readback/parse/lexicon"
	"readback/parse/number"
)

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
	// "first collar nut", "last collar nut": the name that follows says the axis.
	if f, ok := s.nameAt(at); ok && len(s.v.names[s.v.forms[f].name].Axes) > 0 {
		if n < 0 && s.toks[at-1].Text != "last" {
			return item{}, false // "final sleeve"
		}
		if n < 0 {
			return s.lastOf(&s.v.names[s.v.forms[f].name], at)
		}
		return item{kind: isIndex, axis: -1, places: []string{strconv.Itoa(n)}, to: at}, true
	}
	return item{}, false
}

// lastOf takes the last place on the first axis of a callout.
func (s *scan) lastOf(n *Name, end int) (item, bool) {
	axis := s.axisIndex(n.Axes[0])
	if axis < 0 || len(s.v.axes[axis].Values) == 0 {
		return item{}, false
	}
	values := s.v.axes[axis].Values
	return item{kind: isIndex, axis: axis, places: []string{values[len(values)-1].Value}, to: end}, true
}

// numbered reads "number five" and "no. 5" before a name that has places.
func (s *scan) numbered(i int) (n, end int) {
	at := s.skipNumberWord(i)
	if at == i {
		return 0, i
	}
	n, end, ok := s.index(at, 99, false)
	if !ok {
		return 0, i
	}
	if end < len(s.m) && s.hasSlot(end) && s.v.slots[s.m[end][lexicon.Slot].IDs[0]].axis >= 0 {
		return n, end
	}
	if f, named := s.nameAt(end); !named || len(s.v.names[s.v.forms[f].name].Axes) == 0 {
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
