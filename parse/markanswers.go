package parse

// answersMark completes the mark that the last note left open, where the note is a reply to
// it: a kind ("full"), or its places ("stage two"). It reports whether it was.
func (s *scan) answersMark(u *Utterance) bool {
	open := s.ctx.Open
	if open == nil || s.has(isName, isNumber, isWord, isWrong, isThing, isSlot) ||
		s.hasCue(cueNot, cueNotYet, cueDoubt, cueHearsay, cueIf, cueRemark, cueNote, cueQuestion, cueOr, cueExcept, cueAbout, cueScratch, cueNext, cueSame) {
		return false
	}
	n, ok := s.v.name(open.Callout)
	if !ok {
		return false
	}
	is, near := open.Is, -1
	var places []int
	for k := range s.items {
		switch it := &s.items[k]; {
		case it.kind == isChoice:
			kind := s.kindOf(k, n)
			if kind == "" || is != "" && is != kind {
				return false
			}
			is, near = kind, k
		case it.kind == isIndex && !it.bare:
			places, near = append(places, k), k
		}
	}
	if near < 0 || is == "" || s.deniedAt(near) || s.halved() {
		return false
	}
	if len(places) == 0 {
		if open.At == "" && len(n.Axes) > 0 {
			return false
		}
		u.Marks = []Mark{{Target: open.Target, Is: is, Reply: true, Span: s.span(&s.items[near])}}
		return true
	}
	spots, missing, doubt := s.spots(n, places)
	if doubt != "" || len(missing) > 0 {
		return false
	}
	for _, p := range spots {
		if open.At != "" && order(n, p) != open.At {
			return false // of another place
		}
		s.addMark(u, Mark{Target: Target{n.Callout, order(n, p)}, Is: is, Reply: true, Span: s.span(&s.items[near])})
	}
	return true
}

// morePlaces turns bare numbers behind a place into places of its axis, where the note answers where
// a mark is: "stage one and two".
func (s *scan) morePlaces() {
	open := s.ctx.Open
	if open == nil || open.At != "" || s.has(isName, isWord, isWrong, isThing, isUnit) {
		return
	}
	n, ok := s.v.name(open.Callout)
	if !ok || len(n.Axes) == 0 {
		return
	}
	first := -1
	for k := range s.items {
		switch it := &s.items[k]; it.kind {
		case isIndex:
			if it.bare || it.axis < 0 || s.v.axes[it.axis].ID != n.Axes[0] {
				return
			}
			first = k
		case isNumber:
			i, whole := it.isBareWhole()
			if first < 0 || !whole || !s.place(&s.items[first], &s.v.axes[s.items[first].axis], int(min(i, 1000))) {
				return
			}
			it.kind = isFiller
		case isFiller, isCue, isChoice, isSlot, isDrop, isName, isWord, isWrong, isThing, isUnit:
		}
	}
}
