package parse

import "slices"

// correct finds what the note takes back or replaces of itself, and marks those items
// as dropped. What it takes back of earlier notes it returns.
func (s *scan) correct() (fix amends) {
	s.scratch(&fix)
	s.denied(&fix)
	for k := range s.items {
		it := &s.items[k]
		if it.kind != isCue || it.cue != cueCorrect && it.cue != cueNo {
			continue
		}
		before, after := s.numberBefore(k), s.numberAfter(k)
		switch {
		case before >= 0 && after < 0 && s.unitAfter(k, before):
		case before >= 0 && after >= 0:
			fix.replaced = append(fix.replaced, [2]int{before, after})
		case before < 0 && (it.cue == cueCorrect || after >= 0 && s.leads(k)):
			fix.record = true
		case before >= 0 && s.placeAfter(k):
			fix.moved = true
		case it.cue == cueNo && after < 0 && s.leads(k) && s.placeAfter(k) && !s.has(isWord, isWrong):
			fix.record = true // "no stage five"
		}
	}
	if s.hasCue(cueShould) {
		fix.should = true
	}
	return fix
}

// unitAfter takes the unit behind the correction at item k for that of the number before:
// "thirty five inch pounds I mean foot pounds".
func (s *scan) unitAfter(k, before int) bool {
	j := k + 1
	for j < len(s.items) && s.items[j].kind == isFiller {
		j++
	}
	if j >= len(s.items) || s.items[j].kind != isUnit || s.placeAfter(k) {
		return false
	}
	s.items[before].codes, s.items[before].open = s.items[j].codes, false
	s.items[j].kind = isFiller
	return true
}

// amends is what a note corrects.
type amends struct {
	scratch  bool     // "scratch that": nothing before it in the note counts
	inNote   bool     // and something stood before it
	named    bool     // "scratch stage three": what it names is taken back
	record   bool     // what follows replaces what was recorded before
	should   bool     // "stage eight should be forty eight"
	moved    bool     // "forty eight no stage three": the place is corrected
	replaced [][2]int // pairs of number items: the first gives way to the second
}

// scratch handles "scratch that": what stood before it in the note is dropped.
func (s *scan) scratch(fix *amends) {
	last := -1
	for k := range s.items {
		if s.items[k].kind == isCue && s.items[k].cue == cueScratch {
			last = k
		}
	}
	if last < 0 {
		return
	}
	fix.scratch = true
	for k := range s.items[:last] {
		switch s.items[k].kind {
		case isNumber:
			s.items[k].kind, fix.inNote = isDrop, true
		case isName, isIndex, isChoice:
			fix.inNote = true
			if s.numberAfter(last) < 0 {
				s.items[k].kind = isDrop
			}
		case isWord, isFiller, isCue, isUnit, isSlot, isThing, isWrong, isDrop:
		}
	}
	if s.numberAfter(last) < 0 {
		for k := last + 1; k < len(s.items); k++ {
			if c := s.items[k].kind; c == isName || c == isIndex {
				fix.named = true
			}
		}
	}
}

// denied handles "not fifty, forty nine" and "forty nine, not fifty".
func (s *scan) denied(fix *amends) {
	for k := range s.items {
		if s.items[k].kind != isCue || s.items[k].cue != cueNot && s.items[k].cue != cueNotYet {
			continue
		}
		n := s.numberAfter(k)
		if n < 0 || !s.adjacent(k, n) {
			continue
		}
		before, after := s.numberBefore(k), s.numberAfter(n)
		if after < 0 && before < 0 && s.markBefore(k) {
			s.items[n].kind = isDrop // "stages one and two seated but not three"
			continue
		}
		if after < 0 && (before < 0 || s.between2(before, k)) {
			continue
		}
		s.items[n].kind = isDrop
		s.items[k].kind = isFiller
		if before < 0 {
			fix.record = true
		}
	}
}

// markBefore reports whether the name of a confirmation, part or event stands before
// item k.
func (s *scan) markBefore(k int) bool {
	for j := range k {
		if s.items[j].kind == isName && !s.isReading(j) {
			return true
		}
	}
	return false
}

// between2 reports whether a name or place stands between two items.
func (s *scan) between2(a, b int) bool {
	for k := a + 1; k < b; k++ {
		if s.items[k].kind == isName || s.items[k].kind == isIndex {
			return true
		}
	}
	return false
}

// adjacent reports whether only small words stand between items a and b.
func (s *scan) adjacent(a, b int) bool {
	for k := a + 1; k < b; k++ {
		if s.items[k].kind != isFiller && (s.items[k].kind != isCue || s.items[k].cue != cueOn && s.items[k].cue != cueTo) {
			return false
		}
	}
	return true
}

// leads reports whether only small words stand before item k.
func (s *scan) leads(k int) bool {
	for _, it := range s.items[:k] {
		if it.kind != isFiller && it.kind != isCue {
			return false
		}
	}
	return true
}

func (s *scan) numberBefore(k int) int {
	for j := k - 1; j >= 0; j-- {
		if s.items[j].kind == isNumber {
			return j
		}
	}
	return -1
}

func (s *scan) numberAfter(k int) int {
	for j := k + 1; j < len(s.items); j++ {
		if s.items[j].kind == isNumber {
			return j
		}
	}
	return -1
}

func (s *scan) placeAfter(k int) bool {
	for j := k + 1; j < len(s.items); j++ {
		if s.items[j].kind == isIndex && !s.items[j].bare {
			return true
		}
	}
	return false
}

func (s *scan) hasCue(cues ...cue) bool {
	for k := range s.items {
		if s.items[k].kind != isCue {
			continue
		}
		if slices.Contains(cues, s.items[k].cue) {
			return true
		}
	}
	return false
}

func (s *scan) has(kinds ...itemKind) bool {
	for k := range s.items {
		if slices.Contains(kinds, s.items[k].kind) {
			return true
		}
	}
	return false
}
