package parse

// valueless handles a note without a number: the same again, work said done without
// its value, or a name alone.
func (s *scan) valueless(u *Utterance, fix amends, groups []group) {
	g := &groups[0]
	if s.hasCue(cueRemark, cueNote) {
		return
	}
	if s.hasCue(cueSame) && !fix.scratch && !s.foreignName() && !s.has(isWord, isThing, isWrong) {
		s.same(u, g)
		return
	}
	if fix.moved || fix.record {
		s.moveLast(u, g)
	}
	if s.unitCorrected(u, g) {
		return
	}
	if fix.scratch || len(u.Claims) > 0 || s.has(isWrong) || s.has(isSlot) && !s.hasCue(cueDone, cueNotYet) {
		return
	}
	name, _ := s.readingName(g)
	if name == nil && s.foreignName() {
		return
	}
	b := &bound{name: name, places: g.places, before: g, after: g}
	if name == nil {
		if name, _ = s.home(b, nil); name == nil || !s.hasCue(cueDone, cueNotYet, cueNot) && !s.has(isUnit) && !s.onlyPlaces(name) {
			return
		}
	}
	if s.has(isWord) && !s.hasCue(cueDone, cueNotYet, cueNot) && !s.has(isUnit) {
		return
	}
	base := Claim{Target: Target{Callout: name.Callout}, NoValue: true, Doubts: []Doubt{Missing}}
	if s.hasCue(cueBound) {
		base.Doubts = []Doubt{Range}
	}
	if d := s.denial(); d != "" {
		base.Doubts = []Doubt{d}
	}
	for _, c := range s.located(nil, base, name, b, fix) {
		u.Claims = append(u.Claims, c.Claim)
	}
}

// onlyPlaces reports whether the note is nothing but every place that a callout has: "rod three
// pass three".
func (s *scan) onlyPlaces(n *Name) bool {
	said := 0
	for k := range s.items {
		switch it := &s.items[k]; {
		case it.kind == isIndex && !it.bare:
			said++
		case it.kind != isFiller:
			return false
		}
	}
	return said > 1 && said == len(n.Axes)
}

// unitCorrected handles "sorry newton metres": the last reading in another unit.
func (s *scan) unitCorrected(u *Utterance, g *group) bool {
	last := s.lastClaim()
	if last == nil || len(s.ctx.Last) != 1 || len(s.ctx.Asked) > 0 || s.ctx.Else || !s.hasCue(cueCorrect) || len(g.names) > 0 || s.hasPlace(g) || s.has(isWord, isThing, isWrong, isSlot, isChoice) {
		return false
	}
	unit := -1
	for k := range s.items {
		if s.items[k].kind == isUnit {
			if unit >= 0 {
				return false
			}
			unit = k
		}
	}
	n, ok := s.v.name(last.Callout)
	if unit < 0 || !ok {
		return false
	}
	c := *last
	c.Span, c.Unit = s.span(&s.items[unit]), ""
	s.setUnit(&c, n, s.meanings(&s.items[unit]))
	c.Doubts = s.noteDoubts()
	u.Claims = append(u.Claims, c)
	return true
}

// denial returns Negated where the note says that something was not done.
func (s *scan) denial() Doubt {
	if s.hasCue(cueNotYet, cueNot) {
		return Negated
	}
	return ""
}

// moveLast handles "sorry I meant stage ten": the last reading moves there.
func (s *scan) moveLast(u *Utterance, g *group) {
	last := s.lastClaim()
	if s.moveMark(u, g) {
		return
	}
	if last == nil || len(s.ctx.Last) != 1 || !s.hasPlace(g) || s.foreignName() || s.has(isWord) {
		return
	}
	if s.ctx.Else {
		u.Asks = append(u.Asks, Ask{Doubt: TwoPlaces, Words: s.note}) // of what was said last, or of the reading before it?
		return
	}
	n, ok := s.v.name(last.Callout)
	if !ok {
		return
	}
	places, missing, doubt := s.spots(n, g.places)
	if doubt != "" || len(places) != 1 || len(missing) == len(n.Axes) {
		return
	}
	at := places[0]
	for _, axis := range missing { // where it was but for what is corrected: "no, that was pass two"
		at = at.With(axis, last.At.On(axis))
	}
	p, carried := order(n, at), missing
	if p == last.At {
		return
	}
	c := *last
	c.At, c.Carried, c.Span = p, carried, Span{}
	u.Claims = append(u.Claims, c)
	u.Withdrawn = append(u.Withdrawn, last.Target)
}

// otherKind reports whether a callout is another than that of the last reading, and not of its family:
// "the same" of a nut is nothing for a rod.
func (s *scan) otherKind(n *Name, last *Claim) bool {
	if n.Callout == last.Callout {
		return false
	}
	m, ok := s.v.name(last.Callout)
	return !ok || m.Family == "" || m.Family != n.Family
}

// moveMark moves the one mark that was made last: "stage two seated", "sorry stage three".
func (s *scan) moveMark(u *Utterance, g *group) bool {
	if len(s.ctx.Marks) != 1 || len(s.ctx.Undo) != 1 || !s.hasPlace(g) || s.has(isWord, isName) {
		return false
	}
	was := s.ctx.Marks[0]
	n, ok := s.v.name(was.Callout)
	if !ok {
		return false
	}
	spots, missing, doubt := s.spots(n, g.places)
	if doubt != "" || len(spots) != 1 || len(missing) == len(n.Axes) || spots[0] == was.At {
		return false
	}
	at := spots[0]
	for _, axis := range missing {
		at = at.With(axis, was.At.On(axis))
	}
	u.Withdrawn = append(u.Withdrawn, was.Target)
	was.At, was.Span = order(n, at), Span{}
	u.Marks = append(u.Marks, was)
	return true
}

// same repeats the last value at the places said, or at the next one.
func (s *scan) same(u *Utterance, g *group) {
	last := s.lastClaim()
	if last == nil {
		u.Asks = append(u.Asks, Ask{Doubt: NoHome, Words: s.note})
		return
	}
	name, _ := s.readingName(g)
	if name == nil {
		name, _ = s.home(&bound{places: g.places}, nil)
	}
	if name == nil {
		name, _ = s.v.name(last.Callout)
	}
	if name == nil {
		return
	}
	if s.ctx.Gone || len(s.ctx.Asked) > 0 || s.otherKind(name, last) || len(name.Axes) == 0 && s.hasCue(cueNext) {
		// The same as what was taken back, or asked and never settled; or the next of what is there once.
		u.Asks = append(u.Asks, Ask{Doubt: NoHome, Words: s.note})
		return
	}
	base := Claim{Target: Target{Callout: name.Callout}, Value: last.Value, Unit: last.Unit, How: last.How}
	base.Doubts = s.noteDoubts()
	if s.hasPlace(g) || len(name.Axes) == 0 || s.hasCue(cueNext) {
		for _, c := range s.located(nil, base, name, &bound{name: name, places: s.real(g.places), before: g, after: g}, amends{}) {
			u.Claims = append(u.Claims, c.Claim)
		}
		return
	}
	base.Doubts = append(base.Doubts, NoPlace)
	if p, ok := s.nextPlace(name); ok {
		base.Places = []Place{p}
	}
	u.Claims = append(u.Claims, base)
}
