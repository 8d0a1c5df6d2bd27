package parse

import (
	"slices"

	"readback/parse/number"
	"readback/parse/unit"
)

// claims makes a claim of every number that is a reading, or of a name whose reading
// was said done without a value.
func (s *scan) claims(u *Utterance, fix amends, groups []group, numbers []int) {
	if s.sameAs() && !s.resolved {
		u.Asks = append(u.Asks, Ask{Doubt: NoHome, Words: s.note})
		return
	}
	if len(numbers) > 0 && s.hasCue(cueSame) && !s.has(isWord, isThing) && s.indexNumbers(groups, numbers) {
		groups, numbers = s.groups()
	}
	if len(numbers) == 0 {
		s.valueless(u, fix, groups)
		return
	}
	if s.hasCue(cueRemark, cueNote) && !s.seriousReading(groups, numbers) && !s.remarkBehind(groups, numbers) {
		return
	}
	bounds := s.bind(groups, numbers)
	bounds = s.distribute(bounds)
	var out []claimed
	var ahead []int // what the reading behind it was taken at: "500 V 1 min 600 megohms"
	for j := range bounds {
		if s.isAhead(bounds, j) {
			ahead = append(ahead, j)
			continue
		}
		out = s.claim(out, &bounds[j], j, bounds, fix)
	}
	for _, j := range ahead {
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

// isAhead reports whether number j is what a reading of the same name behind it was taken at.
func (s *scan) isAhead(bounds []bound, j int) bool {
	n := bounds[j].name
	if n == nil || len(n.Takes) == 0 {
		return false
	}
	fits := func(k int, code string) bool {
		codes := s.meanings(&s.items[bounds[k].item])
		return len(codes) > 0 && len(fitting(codes, dimension(code))) > 0
	}
	if fits(j, n.Unit) || !slices.ContainsFunc(n.Takes, func(t Taking) bool { return fits(j, t.Unit) }) {
		return false
	}
	for k := j + 1; k < len(bounds) && bounds[k].name == n; k++ {
		if fits(k, n.Unit) {
			return true
		}
	}
	return false
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

// sameAs reports whether the note names what its value is the same as: "same as one".
func (s *scan) sameAs() bool {
	for i := 1; i+1 < len(s.toks); i++ {
		if s.toks[i].Text == "as" && s.toks[i-1].Text == "same" {
			if _, _, ok := s.index(i+1, 99, false); ok || s.hasSlot(i+1) {
				return true
			}
		}
	}
	return false
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

// remarkBehind reports whether the talk about something else follows a reading that was
// said with its name or place: "rod two nineteen point five and can someone get the door".
func (s *scan) remarkBehind(groups []group, numbers []int) bool {
	if n, _ := s.readingName(&groups[0]); n == nil && !s.hasPlace(&groups[0]) {
		return false
	}
	for k := range s.items[:numbers[0]] {
		if it := &s.items[k]; it.kind == isCue && (it.cue == cueRemark || it.cue == cueNote) {
			return false
		}
	}
	return true
}

// claim appends what number j claims.
func (s *scan) claim(out []claimed, b *bound, j int, all []bound, fix amends) []claimed {
	it := &s.items[b.item]
	if it.tol || s.isCount(b.item, all) || s.countsSpots(it, all) || s.foreign(it) && s.undoes() {
		return out
	}
	codes := s.meanings(it)
	if s.taken(out, it, codes, b) {
		return out
	}
	base := Claim{Value: it.value, Span: s.span(it), How: s.how(b)}
	if v, ok := s.other(&it.num); ok {
		base.Other = &v
	}
	base.Doubts, base.Words = s.doubts(b, j, all), s.unknown()
	if s.needsUnit(it, b) {
		base.Doubts = append(base.Doubts, OddUnit)
	}
	name, others := b.name, []string(nil)
	if name == nil {
		name, others = s.family(b)
	}
	if name == nil && (len(codes) > 0 || !s.foreignName() || s.besideMark(b) || s.hasCue(cueRetight) && s.onlyEvents()) {
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
	if more := s.fuller(name); len(more) > 0 && len(others) == 0 {
		base.Others = append([]string{name.Callout}, more...)
		base.Doubts = append(base.Doubts, TwoHomes)
	}
	if s.strayPlace(name) {
		base.Doubts = append(base.Doubts, TwoNumbers)
	}
	base.Corrects = fix.should
	return s.located(out, base, name, b, fix)
}

// onlyEvents reports whether every name of the note is of an event: "rod three slackened and
// nipped back up to 20.3".
func (s *scan) onlyEvents() bool {
	for k := range s.items {
		if s.items[k].kind == isName && s.nameOf(&s.items[k]).Kind != Event {
			return false
		}
	}
	return true
}

// besideMark reports whether a bare number with its place stands in a clause of its own behind a
// confirmation: "stage three seated, 48.2".
func (s *scan) besideMark(b *bound) bool {
	k := b.item - 1
	return k > 0 && len(b.places) > 0 && s.stop(k) && s.items[k-1].kind == isName && s.nameOf(&s.items[k-1]).Kind == Confirm && b.item == len(s.items)-1
}

// needsUnit reports whether a bare number is said as it is of another unit than a callout's: thousandths
// and thirty-seconds are of an inch, and what a test is made at is a voltage.
func (s *scan) needsUnit(it *item, b *bound) bool {
	if len(it.codes) > 0 || it.lent {
		return false
	}
	if s.word(it.num.End-1).Class == number.Part && s.word(it.num.End-1).N == 1000 {
		return true
	}
	if den := it.value.Rat().Denom(); it.value.Scale() == 0 && den.IsInt64() && den.Int64() >= 8 || s.slashedFine(it) {
		return true
	}
	at := it.from > 0 && (s.toks[it.from-1].Text == "at" || s.toks[it.from-1].Text == "to")
	return at && b.name != nil && slices.ContainsFunc(b.name.Takes, func(t Taking) bool { return dimension(t.Unit) == unit.Voltage })
}

// slashedFine reports whether the number was written as a fraction of eighths or finer: "1/32".
func (s *scan) slashedFine(it *item) bool {
	n := it.num.End
	return n >= 2 && n <= len(s.toks) && s.toks[n-2].Text == "/" && slices.Contains([]string{"8", "16", "32", "64"}, s.toks[n-1].Text)
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
	repeat := len(b.places) == 0 && !s.bareSlot() && (fix.record || fix.should || s.hasCue(cueAgain, cueRetight))
	if len(b.places) == 0 && s.hasCue(cueNext) && len(n.Axes) > 0 && len(s.ctx.Asked) == 0 && !s.ctx.Gone {
		if p, ok := s.nextPlace(n); ok {
			places, missing = []Place{p}, nil
		}
	}
	if doubt == TwoPlaces && slices.ContainsFunc(b.places, func(k int) bool { return s.items[k].rest }) {
		return s.rest(out, base, n, places, missing, b.item)
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

// rest adds one claim for all of the places that were not read yet. Which those are the job knows.
func (s *scan) rest(out []claimed, base Claim, n *Name, places []Place, missing []string, item int) []claimed {
	base.Rest = true
	for _, p := range places {
		full, carried, ok := s.carry(n, p, missing, false)
		if !ok {
			base.Rest, base.Places = false, nil
			base.Doubts = append(base.Doubts, NoPlace)
			break
		}
		base.Carried, base.Places = carried, append(base.Places, order(n, full))
	}
	return append(out, claimed{base, item})
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

// foreign reports whether a number has a unit that no callout of the spec is read in: "half a
// turn".
func (s *scan) foreign(it *item) bool {
	return len(it.codes) > 0 && !slices.ContainsFunc(s.meanings(it), func(code string) bool { return s.v.dims[dimension(code)] })
}

// countsSpots reports whether a number beside another one counts where it was measured:
// "runout 0.03 at 3 spots".
func (s *scan) countsSpots(it *item, all []bound) bool {
	if len(all) < 2 || len(it.codes) > 0 || it.to >= len(s.toks) {
		return false
	}
	switch s.toks[it.to].Text {
	case "spots", "places", "points", "times", "of":
		return s.toks[it.to].Text != "of" || it.to+1 < len(s.toks) && s.toks[it.to+1].Text == "them"
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
	return s.foreign(it) && s.otherWithUnit(k, all)
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
	if b.name != nil && dimension(b.name.Unit) != unit.Torque {
		return ""
	}
	for _, k := range b.before.cues {
		if s.items[k].cue == cueSet {
			return "set"
		}
	}
	return ""
}

// real drops slots that were said without an index.
func (s *scan) real(places []int) []int {
	return slices.DeleteFunc(slices.Clone(places), func(k int) bool { return s.items[k].bare })
}
