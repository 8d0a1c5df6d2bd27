package parse

import "slices"

// sames turns "the same" into the number that it stands for, in a note that says more than
// that: "v w two point oh six, w u the same", "rod two same, rod four eight point one". It
// stands for the number before it in the note, else for that of the last reading.
func (s *scan) sames() {
	if !s.hasCue(cueSame) || s.ctx.Gone || len(s.ctx.Asked) > 0 {
		return
	}
	if s.sameAs() {
		s.sameAsPlace()
		return
	}
	value := s.lastNumber()
	if n, last := s.lastName(), s.lastClaim(); n != nil && last != nil && s.otherKind(n, last) {
		value = item{}
	}
	said, count := 0, 0
	for k := range s.items {
		switch it := &s.items[k]; {
		case it.kind == isNumber:
			said++
		case it.kind == isCue && it.cue == cueSame:
			count++
		}
	}
	if said == 0 && count < 2 && !s.foreignName() {
		return // the note says no more than that: [scan.same]
	}
	for k := range s.items {
		it := &s.items[k]
		if it.kind == isNumber {
			value = *it
			continue
		}
		if it.kind != isCue || it.cue != cueSame || value.kind != isNumber {
			continue
		}
		if k+1 < len(s.items) && s.items[k+1].kind == isIndex && s.numberBefore(k) >= 0 && s.numberAfter(k) < 0 && s.toks[it.to-2].Text == "so" {
			s.items[k], s.items[k+1] = s.items[k+1], s.items[k] // "and so is rod three"
			it = &s.items[k+1]
		} else if !s.placeBehind(k) && !s.nameEnds(k) || s.numberNext(k) {
			continue
		}
		if k+1 < len(s.items) && (s.items[k+1].kind == isWord || s.items[k+1].kind == isThing || s.items[k+1].kind == isSlot) {
			continue // "same gasket"
		}
		from, to := it.from, it.to
		*it = value
		it.from, it.to = from, to
		it.num.Start, it.num.End, it.num.Torn = from, to, false
	}
}

// sameAsPlace puts the value of the place that is named behind "the same as" in its stead: "rod three
// thirteen point eight rod four the same as rod three". That value stands in the note, or was read
// last.
func (s *scan) sameAsPlace() {
	for k := range s.items {
		it := &s.items[k]
		if it.kind != isCue || it.cue != cueSame || !s.placeBehind(k) {
			continue
		}
		j := k + 1
		for j < len(s.items) && s.items[j].kind == isFiller {
			j++
		}
		if j >= len(s.items) || s.items[j].kind != isIndex || len(s.items[j].places) != 1 || s.items[j].axis < 0 {
			continue
		}
		value, ok := s.valueAt(k, s.items[j].axis, s.items[j].places[0])
		if !ok {
			continue
		}
		from, to := it.from, it.to
		*it = value
		it.from, it.to = from, to
		it.num.Start, it.num.End, it.num.Torn = from, to, false
		for m := k + 1; m <= j; m++ {
			s.items[m].kind, s.items[m].since = isFiller, "says what is the same"
		}
		s.resolved = true
	}
}

// valueAt returns the number that the note gives before item k for a place on an axis, or that was
// read there last.
func (s *scan) valueAt(k, axis int, place string) (value item, ok bool) {
	for j := range k {
		if it := &s.items[j]; it.kind == isIndex && it.axis == axis && len(it.places) == 1 && it.places[0] == place {
			if n := s.numberAfter(j); n >= 0 && n < k {
				return s.items[n], !s.items[n].num.Broken
			}
		}
	}
	for i := range s.ctx.Last {
		if c := &s.ctx.Last[i]; c.At.On(s.v.axes[axis].ID) == place {
			return s.numberOf(c), true
		}
	}
	return item{}, false
}

// nameEnds reports whether the name of a reading ends the note behind item k, and a place was said
// before: "stage six seated and same again on the nut".
func (s *scan) nameEnds(k int) bool {
	if !s.hasPlaceItem() || !s.isName(len(s.items)-1) || !s.isReading(len(s.items)-1) {
		return false
	}
	for j := k + 1; j < len(s.items)-1; j++ {
		if it := &s.items[j]; it.kind != isFiller && (it.kind != isCue || it.cue != cueOn) {
			return false
		}
	}
	return k < len(s.items)-1
}

func (s *scan) isName(k int) bool { return s.items[k].kind == isName }

// numberNext reports whether a number follows item k, with only small words and signs between:
// "pass two likewise, fourteen newton metres".
func (s *scan) numberNext(k int) bool {
	for j := k + 1; j < len(s.items); j++ {
		switch it := &s.items[j]; {
		case it.kind == isNumber:
			return true
		case it.kind != isFiller && (it.kind != isCue || it.cue != cueAnd && it.cue != cueOn):
			return false
		}
	}
	return false
}

// placeBehind reports whether right before item k, small words aside, stands the place that
// is the same as another.
func (s *scan) placeBehind(k int) bool {
	for j := k - 1; j >= 0; j-- {
		switch it := &s.items[j]; it.kind {
		case isIndex, isName:
			return !it.bare && (it.kind == isIndex || s.isReading(j))
		case isFiller:
		case isCue:
			if it.cue != cueOn && it.cue != cueEach {
				return false
			}
		case isWord, isNumber, isUnit, isChoice, isSlot, isThing, isWrong, isDrop:
			return false
		}
	}
	return false
}

// lastNumber returns a number item with the value of the last reading, or an item that is
// none.
func (s *scan) lastNumber() item {
	last := s.lastClaim()
	if last == nil || len(s.ctx.Last) > 1 && slices.ContainsFunc(s.ctx.Last, func(c Claim) bool { return !c.Value.Same(last.Value) || c.Unit != last.Unit }) {
		return item{}
	}
	return s.numberOf(last)
}

// numberOf returns a number item with the value of a reading.
func (s *scan) numberOf(c *Claim) item {
	it := item{kind: isNumber, value: c.Value}
	it.num.Value = c.Value
	if id, ok := s.v.formOf(c.Unit); ok {
		it.codes = []int32{id}
	}
	return it
}

// formOf returns a form of the unit.
func (v *Vocabulary) formOf(code string) (id int32, ok bool) {
	i := slices.IndexFunc(v.units, func(f unitForm) bool { return f.code == code && !f.slang })
	return int32(i), i >= 0
}

// nextSlots puts the place after the last note's into a slot that "next" stands before: "next stage
// full impeller".
func (s *scan) nextSlots() {
	if s.ctx == nil || s.ctx.Fresh {
		return
	}
	for k := range s.items[:max(0, len(s.items)-1)] {
		it := &s.items[k+1]
		if s.items[k].kind != isCue || s.items[k].cue != cueNext || it.kind != isIndex || !it.bare || it.axis < 0 {
			continue
		}
		axis, at := &s.v.axes[it.axis], ""
		for _, t := range s.ctx.Undo {
			on := t.At.On(axis.ID)
			if on == "" || at != "" && at != on {
				return
			}
			at = on
		}
		i := slices.IndexFunc(axis.Values, func(v AxisValue) bool { return v.Value == at })
		if i < 0 || i+1 >= len(axis.Values) {
			return
		}
		it.places, it.bare = []string{axis.Values[i+1].Value}, false
		s.items[k].kind = isFiller
	}
}
