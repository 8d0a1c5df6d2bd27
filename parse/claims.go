package parse

import (
	"cmp"
	"slices"
)

// claims makes a claim of every number that is a reading, or of a name whose reading
// was said done without a value.
func (s *scan) claims(u *Utterance, fix amends, groups []group, numbers []int) {
	if len(numbers) > 0 && s.hasCue(cueSame) && s.indexNumbers(groups, numbers) {
		groups, numbers = s.groups()
	}
	if len(numbers) == 0 {
		s.valueless(u, fix, groups)
		return
	}
	if s.hasCue(cueRemark, cueNote) && !s.seriousReading(groups, numbers) {
		return
	}
	bounds := s.bind(groups, numbers)
	var out []claimed
	for j := range bounds {
		out = s.claim(out, &bounds[j], j, bounds, fix)
	}
	out = settle(out, fix)
	s.keepTaken(out, fix)
	out = s.contradictions(out)
	s.move(u, out, fix)
	for i := range out {
		u.Claims = append(u.Claims, out[i].Claim)
	}
	s.shareUnits(u.Claims)
}

// indexNumbers turns the bare numbers of "four the same" and "same for five and six"
// into places of the last reading's callout. It reports whether it did.
func (s *scan) indexNumbers(groups []group, numbers []int) bool {
	last := s.lastClaim()
	if last == nil || s.hasAnyName(groups) {
		return false
	}
	n, ok := s.v.name(last.Callout)
	if !ok || len(n.Axes) == 0 {
		return false
	}
	axis := s.axisIndex(n.Axes[0])
	for _, k := range numbers {
		if _, ok := s.items[k].isBareWhole(); !ok {
			return false
		}
	}
	first := &s.items[numbers[0]]
	places := item{kind: isIndex, axis: axis, from: first.from, to: first.to}
	for _, k := range numbers {
		i, _ := s.items[k].isBareWhole()
		if !s.place(&places, &s.v.axes[axis], int(min(i, 1000))) {
			break
		}
		s.items[k].kind = isFiller
	}
	s.items[numbers[0]] = places
	return true
}

// keepTaken lets a corrected value keep what the first one was taken at.
func (s *scan) keepTaken(out []claimed, fix amends) {
	last := s.lastClaim()
	if last == nil || !fix.record && !fix.should {
		return
	}
	for i := range out {
		if out[i].Target == last.Target && len(out[i].With) == 0 {
			out[i].With = last.With
		}
	}
}

// seriousReading reports whether a note that sounds like a remark holds a name and a
// number with a unit that fits it: then it is asked about rather than dropped.
func (s *scan) seriousReading(groups []group, numbers []int) bool {
	for i := range groups {
		n, _ := s.readingName(&groups[i])
		if n == nil {
			continue
		}
		for _, k := range numbers {
			if codes := s.meanings(&s.items[k]); len(fitting(codes, dimension(n.Unit))) > 0 {
				return true
			}
		}
	}
	return false
}

// claim appends what number j claims.
func (s *scan) claim(out []claimed, b *bound, j int, all []bound, fix amends) []claimed {
	it := &s.items[b.item]
	if it.tol || s.isCount(b.item, all) {
		return out
	}
	codes := s.meanings(it)
	if s.taken(out, it, codes, b) {
		return out
	}
	base := Claim{Value: it.value, Span: s.span(it), How: s.how(b)}
	if v, ok := s.tail(&it.num); ok {
		base.Less = &v
	}
	base.Doubts = s.doubts(b, j, all)
	name, others := b.name, []string(nil)
	if name == nil {
		name, others = s.family(b)
	}
	if name == nil {
		name, others = s.home(b, codes)
	}
	if name == nil {
		return s.homeless(out, base, b, codes, fix)
	}
	s.setUnit(&base, name, codes)
	base.Callout, base.Others = name.Callout, others
	if len(others) > 0 {
		base.Doubts = append(base.Doubts, TwoHomes)
	}
	base.Corrects = fix.should
	return s.located(out, base, name, b, fix)
}

// family finds what a number may be for where only the name of a computed value was
// said: "end play eighty two point six" is down or up.
func (s *scan) family(b *bound) (n *Name, others []string) {
	for _, g := range []*group{b.before, b.after} {
		for _, k := range g.names {
			said := s.nameOf(&s.items[k])
			if !said.Derived {
				continue
			}
			for i := range s.v.names {
				if o := &s.v.names[i]; o.Kind == Reading && !o.Derived && o.Family == said.Family && said.Family != "" {
					n = cmp.Or(n, o)
					others = append(others, o.Callout)
				}
			}
		}
	}
	return n, others
}

// setUnit fills in the unit that a claim was said in, as the callout settles it.
func (s *scan) setUnit(c *Claim, n *Name, codes []string) {
	if len(codes) == 0 {
		return
	}
	if fit := fitting(codes, dimension(n.Unit)); len(fit) > 0 {
		codes = fit
	}
	if len(codes) == 1 {
		c.Unit = codes[0]
		return
	}
	c.Slang = codes
}

// located adds one claim for every place that was said.
func (s *scan) located(out []claimed, base Claim, n *Name, b *bound, fix amends) []claimed {
	places, missing, doubt := s.spots(n, b.places)
	repeat := len(b.places) == 0 && (fix.record || fix.should || s.hasCue(cueAgain, cueRetight))
	if len(b.places) == 0 && s.hasCue(cueNext) && len(n.Axes) > 0 {
		if p, ok := s.nextPlace(n); ok {
			places, missing = []Place{p}, nil
		}
	}
	if doubt == TwoPlaces {
		base.Doubts = append(base.Doubts, TwoPlaces)
		for _, p := range places {
			base.Places = append(base.Places, order(n, p))
		}
		places = places[:1]
	}
	if base.Corrects && len(n.Axes) > 0 && len(b.places) == 0 && s.lastClaim() == nil {
		base.Doubts = append(base.Doubts, Hearsay)
	}
	for _, p := range places {
		c := base
		c.Doubts = slices.Clone(base.Doubts)
		full, carried, ok := s.carry(n, p, missing, repeat)
		c.Carried = carried
		switch {
		case doubt == NoSuchPlace:
			c.Doubts = append(c.Doubts, NoSuchPlace)
			full = p
		case !ok:
			c.Doubts = append(c.Doubts, NoPlace)
		}
		if doubt == TwoPlaces {
			full = ""
		}
		c.At = order(n, full)
		out = append(out, claimed{c, b.item})
	}
	return out
}

// taken reports whether a number is what another reading was taken at ("at forty
// degrees"), and notes it there.
func (s *scan) taken(out []claimed, it *item, codes []string, b *bound) bool {
	if len(codes) == 0 || b.name == nil {
		return false
	}
	for i := len(out) - 1; i >= 0; i-- {
		n, ok := s.v.name(out[i].Callout)
		if ok && (n == b.name || len(fitting(codes, dimension(b.name.Unit))) == 0) && s.takenAt(&out[i], n, it, codes) {
			return true
		}
	}
	return false
}

// takenAt notes at the claim what it was taken at, if its callout takes that.
func (s *scan) takenAt(c *claimed, n *Name, it *item, codes []string) bool {
	for _, t := range n.Takes {
		fit := fitting(codes, dimension(t.Unit))
		if len(fit) == 0 || dimension(n.Unit) == dimension(t.Unit) {
			continue
		}
		code := fit[0]
		if slices.Contains(fit, t.Unit) {
			code = t.Unit
		}
		c.With = append(c.With, Taken{t.Name, it.value, code})
		if it.num.Broken || it.ranged || it.num.HasOther {
			c.Doubts = append(c.Doubts, TwoNumbers)
		}
		return true
	}
	return false
}

// isCount reports whether a number counts things or measures something that the spec
// has no callout for, beside a reading: "stage three forty eight newton metres two
// washers".
func (s *scan) isCount(k int, all []bound) bool {
	it := &s.items[k]
	if len(it.codes) == 0 {
		if k+1 >= len(s.items) || s.items[k+1].kind != isWord && s.items[k+1].kind != isThing {
			return false
		}
		return s.otherWithUnit(k, all)
	}
	for _, code := range s.meanings(it) {
		if s.v.dims[dimension(code)] {
			return false
		}
	}
	return s.otherWithUnit(k, all)
}

func (s *scan) otherWithUnit(k int, all []bound) bool {
	for _, b := range all {
		if b.item != k && len(s.items[b.item].codes) > 0 {
			for _, code := range s.meanings(&s.items[b.item]) {
				if s.v.dims[dimension(code)] {
					return true
				}
			}
		}
	}
	return false
}

// how says how a value came about: "set" for a click wrench's setting.
func (s *scan) how(b *bound) string {
	for _, k := range b.before.cues {
		if s.items[k].cue == cueSet {
			return "set"
		}
	}
	return ""
}

// homeless handles a number that no name and no place gives a home: it replies,
// repeats, corrects, or is asked back.
func (s *scan) homeless(out []claimed, base Claim, b *bound, codes []string, fix amends) []claimed {
	last := s.lastClaim()
	discourse := fix.record || fix.should || s.hasCue(cueAgain, cueRetight)
	switch {
	case last != nil && s.hasCue(cueNext):
		n, _ := s.v.name(last.Callout)
		if n == nil {
			break
		}
		s.setUnit(&base, n, codes)
		base.Callout = n.Callout
		if p, ok := s.nextPlace(n); ok {
			base.At = p
		} else {
			base.Doubts = append(base.Doubts, NoSuchPlace)
		}
		return append(out, claimed{base, b.item})
	case last != nil && discourse:
		return s.onLast(out, base, b, codes)
	}
	if !s.wantsHome(codes) {
		return out
	}
	base.Doubts = append(base.Doubts, NoHome)
	if len(codes) == 1 {
		base.Unit = codes[0]
	} else {
		base.Slang = codes
	}
	return append(out, claimed{base, b.item})
}

// onLast puts a number where the last reading was.
func (s *scan) onLast(out []claimed, base Claim, b *bound, codes []string) []claimed {
	last := s.lastClaim()
	n, ok := s.v.name(last.Callout)
	if !ok {
		return out
	}
	s.setUnit(&base, n, codes)
	if len(codes) == 0 {
		base.Unit = last.Unit
	}
	base.Target = last.Target
	if len(s.ctx.Last) > 1 {
		base.Doubts = append(base.Doubts, TwoPlaces)
		for i := range s.ctx.Last {
			base.Places = append(base.Places, s.ctx.Last[i].At)
		}
		base.At = ""
	}
	return append(out, claimed{base, b.item})
}

// wantsHome reports whether a number without a home sounds like a reading: it has a
// unit that the spec uses, or nothing but small words around it.
func (s *scan) wantsHome(codes []string) bool {
	if s.hasCue(cueRemark, cueNote) || s.has(isWrong) {
		return false
	}
	for _, code := range codes {
		if s.v.dims[dimension(code)] {
			return true
		}
	}
	return !s.has(isWord, isThing, isSlot) && !s.foreignName() && (len(codes) == 0 || s.alone())
}

// foreignName reports whether a name that takes no reading stands in the note.
func (s *scan) foreignName() bool {
	for k := range s.items {
		if s.items[k].kind == isName && !s.isReading(k) {
			return true
		}
	}
	return false
}

// alone reports whether the note is a number and small words.
func (s *scan) alone() bool { return !s.has(isWord, isName, isThing, isWrong, isSlot) }

// nextPlace returns the place after the last reading's.
func (s *scan) nextPlace(n *Name) (Place, bool) {
	last := s.lastClaim()
	if last == nil || last.Callout != n.Callout || len(n.Axes) == 0 {
		return "", false
	}
	if len(n.Axes) > 1 {
		for _, t := range s.ctx.Next {
			if t.Callout == n.Callout {
				return t.At, true
			}
		}
	}
	i := s.axisIndex(n.Axes[0])
	if i < 0 {
		return "", false
	}
	values := s.v.axes[i].Values
	for k := range values {
		if values[k].Value == last.At.On(n.Axes[0]) && k+1 < len(values) {
			return last.At.With(n.Axes[0], values[k+1].Value), true
		}
	}
	return "", false
}

// contradictions marks claims that give one place two values.
func (s *scan) contradictions(out []claimed) []claimed {
	for i := range out {
		for j := range out[:i] {
			a, b := &out[j], &out[i]
			if a.Callout == "" || a.Target != b.Target || a.item == b.item && a.At == b.At {
				continue
			}
			if s.hasCue(cueRetight, cueAgain) {
				a.item = -1 // measured again: the later one stands
				continue
			}
			if !slices.Contains(a.Doubts, Range) {
				a.Doubts = append(a.Doubts, TwoNumbers)
				b.Doubts = append(b.Doubts, TwoNumbers)
			}
		}
	}
	return slices.DeleteFunc(out, func(c claimed) bool { return c.item < 0 })
}

// move takes the last reading back where the same value was said for another place:
// "sorry I meant stage ten".
func (s *scan) move(u *Utterance, out []claimed, fix amends) {
	last := s.lastClaim()
	if !fix.record || last == nil || len(out) != 1 || len(s.ctx.Last) != 1 || len(s.ctx.Undo) == 0 {
		return
	}
	c := &out[0]
	if len(c.Doubts) == 0 && c.Callout == last.Callout && c.At != last.At && c.Value.Same(last.Value) {
		u.Withdrawn = append(u.Withdrawn, last.Target)
	}
}

// shareUnits lends a unit within the note among claims of one callout or one family:
// "end play down 82.6 up 81.25 millimetres", "stage two 35 foot pounds stage three 36".
func (s *scan) shareUnits(claims []Claim) {
	kin := func(a, b *Claim) bool {
		if a.Callout == b.Callout {
			return true
		}
		m, ok := s.v.name(a.Callout)
		n, ok2 := s.v.name(b.Callout)
		return ok && ok2 && m.Family != "" && m.Family == n.Family
	}
	for i := range claims {
		if claims[i].Unit != "" || len(claims[i].Slang) > 0 || claims[i].NoValue || claims[i].Callout == "" {
			continue
		}
		for _, j := range nearest(i, len(claims)) {
			if (claims[j].Unit != "" || len(claims[j].Slang) > 0) && kin(&claims[i], &claims[j]) {
				claims[i].Unit, claims[i].Slang = claims[j].Unit, claims[j].Slang
				break
			}
		}
	}
}

// nearest lists the indexes after i, then those before it, nearest first.
func nearest(i, n int) []int {
	var out []int
	for j := i + 1; j < n; j++ {
		out = append(out, j)
	}
	for j := i - 1; j >= 0; j-- {
		out = append(out, j)
	}
	return out
}

// valueless handles a note without a number: the same again, work said done without
// its value, or a name alone.
func (s *scan) valueless(u *Utterance, fix amends, groups []group) {
	g := &groups[0]
	if s.hasCue(cueRemark, cueNote) {
		return
	}
	if s.hasCue(cueSame) && !fix.scratch {
		s.same(u, g)
		return
	}
	if fix.moved || fix.record {
		s.moveLast(u, g)
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
		if name, _ = s.home(b, nil); name == nil || !s.hasCue(cueDone, cueNotYet, cueNot) && !s.has(isUnit) {
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
	if last == nil || len(s.ctx.Last) != 1 || !s.hasPlace(g) {
		return
	}
	n, ok := s.v.name(last.Callout)
	if !ok {
		return
	}
	places, missing, doubt := s.spots(n, g.places)
	p, carried, full := s.carry(n, places[0], missing, false)
	if !full || doubt != "" || len(places) != 1 || p == last.At {
		return
	}
	c := *last
	c.At, c.Carried, c.Span = p, carried, Span{}
	u.Claims = append(u.Claims, c)
	u.Withdrawn = append(u.Withdrawn, last.Target)
}

// same repeats the last value at the places said, or at the next one.
func (s *scan) same(u *Utterance, g *group) {
	last := s.lastClaim()
	if last == nil {
		u.Asks = append(u.Asks, Ask{NoHome, s.note})
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

// real drops slots that were said without an index.
func (s *scan) real(places []int) []int {
	return slices.DeleteFunc(slices.Clone(places), func(k int) bool { return s.items[k].bare })
}
