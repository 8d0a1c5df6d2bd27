package parse

import (
	"slices"

	"readback/parse/lexicon"
)

// marks makes a mark of every confirmation, part and event that the note names.
func (s *scan) marks(u *Utterance) {
	if s.hasCue(cueRemark, cueNote, cueHearsay, cueIf, cueDoubt) && len(u.Claims) == 0 {
		if s.hasCue(cueDoubt) && s.foreignName() {
			u.Asks = append(u.Asks, Ask{Doubt: Doubtful, Words: s.note, Mark: s.markNamed()})
		}
		return
	}
	s.claimed = slices.ContainsFunc(u.Claims, func(c Claim) bool { return c.Callout != "" })
	var places []int
	var done []*Name // parts whose kinds were all marked
	for k := range s.items {
		it := &s.items[k]
		if it.kind == isIndex && !it.bare {
			places = s.merge(places, []int{k})
		}
		if it.kind != isName || s.isReading(k) {
			continue
		}
		n := s.nameOf(it)
		switch {
		case n.Derived, slices.Contains(done, n):
		case n.Kind == Part && !s.deniedAt(k) && s.hasKind(n):
			done = append(done, n)
			if !s.has(isWrong) {
				s.parts(u, n)
			}
		default:
			s.mark(u, k, n, places)
		}
	}
	s.choiceAlone(u)
	s.loosened(u)
}

// loosened marks the event of what was backed off in other words, at the places that were said: "undid
// rod two", "backed rod three off".
func (s *scan) loosened(u *Utterance) {
	if len(u.Marks) > 0 || len(u.Asks) > 0 || len(u.Claims) > 0 || !s.hasCue(cueOff) || s.hasCue(cueNot, cueNotYet, cueIf, cueHearsay, cueNext) || s.ordered() || s.has(isWrong) {
		return
	}
	for i := range s.v.names {
		n := &s.v.names[i]
		if n.Kind != Event || len(n.Axes) == 0 || !slices.ContainsFunc(n.Say, func(say string) bool { return say == "loosened" || say == "backed off" || say == "slackened" }) {
			continue
		}
		var places []int
		for k := range s.items {
			if it := &s.items[k]; it.kind == isIndex && !it.bare && s.onAxisOf(n, it.axis) && it.axis >= 0 {
				places = append(places, k)
			}
		}
		spots, _, doubt := s.spots(n, places)
		if len(places) == 0 || doubt != "" {
			continue
		}
		for _, p := range spots {
			s.addMark(u, Mark{Target: Target{n.Callout, order(n, p)}, Is: "done", Span: s.span(&s.items[places[0]])})
		}
		return
	}
}

// hasKind reports whether a kind of the part was said.
func (s *scan) hasKind(n *Name) bool {
	for k := range s.items {
		if s.items[k].kind == isChoice && s.kindOf(k, n) != "" {
			return true
		}
	}
	return false
}

// mark adds the marks of the name at item k.
func (s *scan) mark(u *Utterance, k int, n *Name, places []int) {
	it := &s.items[k]
	if n.Kind == Event && (s.remeasured(u, n) || !s.namesAxis(k, n) && s.elsewhere(n)) || s.has(isWrong) && n.Kind == Part {
		return
	}
	if s.circumstance(k) {
		return
	}
	is, ok := "done", n.Kind != Part || len(n.Choices) == 0
	denied, denies := s.deniedAt(k), s.v.forms[it.id].denies
	if denied != denies {
		is, ok = "undone", true
	} else if ok && (denied && denies && !s.insideNot(k) || s.hasCue(cueShould) || s.shaky(k)) {
		s.askMark(u, Doubtful, k, Mark{Target: Target{Callout: n.Callout}})
		return
	}
	if !ok {
		if s.has(isWord) && !s.hasPlaceItem() {
			return // the part is only mentioned
		}
		spots, missing, doubt := s.spots(n, s.placesFor(k, n, places))
		open := Mark{Target: Target{Callout: n.Callout}}
		if doubt == "" && len(missing) == 0 && len(spots) == 1 {
			open.At = order(n, spots[0])
		}
		s.askMark(u, Missing, k, open)
		return
	}
	spots, missing, doubt := s.spots(n, s.placesFor(k, n, places))
	switch {
	case doubt == "" && len(missing) > 0 && n.Kind == Event && !s.namesAxis(k, n) && s.lastElsewhere(n):
		doubt = NoPlace // "backed off", behind a reading of another thing
	case doubt == "" && len(missing) > 0 && n.Kind == Event:
		spots = s.everywhere(spots, missing)
	case doubt == "" && len(missing) > 0:
		doubt = NoPlace
	}
	if doubt != "" {
		s.askMark(u, doubt, k, Mark{Target: Target{Callout: n.Callout}, Is: is})
		return
	}
	for _, p := range spots {
		s.addMark(u, Mark{Target: Target{n.Callout, order(n, p)}, Is: is, Span: s.span(it)})
	}
}

// markNamed returns the one mark that the note names, nil for none or several.
func (s *scan) markNamed() (open *Mark) {
	for k := range s.items {
		if s.items[k].kind != isName || s.isReading(k) {
			continue
		}
		if open != nil {
			return nil
		}
		open = &Mark{Target: Target{Callout: s.nameOf(&s.items[k]).Callout}, Span: s.span(&s.items[k])}
	}
	return open
}

// askMark asks about the mark of the name at item k, as far as it was said.
func (s *scan) askMark(u *Utterance, d Doubt, k int, open Mark) {
	open.Span = s.span(&s.items[k])
	u.Asks = append(u.Asks, Ask{Doubt: d, Words: s.note[open.Span.Start:open.Span.End], Mark: &open})
}

// lastElsewhere reports whether the last reading is of something that the event is not said of.
func (s *scan) lastElsewhere(n *Name) bool {
	last := s.lastClaim()
	if slices.ContainsFunc(s.items, func(it item) bool { return it.kind == isIndex && s.onAxisOf(n, it.axis) }) {
		return false // the rods are named, if not which
	}
	return last != nil && !slices.ContainsFunc(n.Axes, func(a string) bool { return last.At.On(a) != "" })
}

// namesAxis reports whether the words of the name at item k say of which things it is: "rods
// loosened".
func (s *scan) namesAxis(k int, n *Name) bool {
	for i := s.items[k].from; i < s.items[k].to; i++ {
		if m := s.m[i][lexicon.Slot]; m.End > 0 && s.v.slots[m.IDs[0]].axis >= 0 && slices.Contains(n.Axes, s.v.axes[s.v.slots[m.IDs[0]].axis].ID) {
			return true
		}
	}
	return false
}

// circumstance reports whether what is named at item k is only how something else was done: "with the
// cover on, runout 0.03".
func (s *scan) circumstance(k int) bool {
	i := s.items[k].from - 1
	if i >= 0 && s.toks[i].Text == "the" {
		i--
	}
	return i >= 0 && s.toks[i].Text == "with"
}

// elsewhere reports whether an event that has places was said of something else: "collar
// nut three loosened" loosens no rod.
func (s *scan) elsewhere(n *Name) bool {
	if len(n.Axes) == 0 {
		return false
	}
	other := false
	for k := range s.items {
		switch it := &s.items[k]; it.kind {
		case isIndex:
			if s.onAxisOf(n, it.axis) {
				return false
			}
			other = true
		case isName:
			m := s.nameOf(it)
			if m.Kind == Reading && slices.ContainsFunc(n.Axes, func(a string) bool { return slices.Contains(m.Axes, a) }) {
				return false
			}
			other = other || m != n
		case isThing, isSlot:
			other = true
		case isWord, isFiller, isCue, isNumber, isUnit, isChoice, isWrong, isDrop:
		}
	}
	return other
}

// remeasured reports whether the note says that what was loosened was tightened again
// and read: then it is a reading and no event.
func (s *scan) remeasured(u *Utterance, n *Name) bool {
	return s.claimed && (s.hasCue(cueRetight, cueAgain) || s.saysBack()) && slices.ContainsFunc(u.Claims, func(c Claim) bool {
		return slices.ContainsFunc(n.Axes, func(axis string) bool { return c.At.On(axis) != "" }) || c.At == "" && len(c.Doubts) > 0
	})
}

// saysBack: "backed off rod four and pulled it back to fifteen".
func (s *scan) saysBack() bool {
	return s.saysAny("torqued", "tightened", "retorqued", "retightened", "nipped") || s.said("back", "up") || s.said("back", "to")
}

// everywhere fills the axes that an event did not say: it holds for all.
func (s *scan) everywhere(spots []Place, missing []string) []Place {
	for _, axis := range missing {
		i := s.axisIndex(axis)
		if i < 0 {
			continue
		}
		var out []Place
		for _, p := range spots {
			for _, v := range s.v.axes[i].Values {
				out = append(out, p.With(axis, v.Value))
			}
		}
		spots = out
	}
	return spots
}

// placesFor returns the places for the mark at item k: those said before it, else the
// first said after it.
func (s *scan) placesFor(k int, n *Name, before []int) []int {
	fits := func(p int) bool {
		a := s.items[p].axis
		return a < 0 || slices.Contains(n.Axes, s.v.axes[a].ID)
	}
	own := slices.DeleteFunc(slices.Clone(before), func(p int) bool { return !fits(p) })
	if len(own) > 0 && (!s.nameBetween(own[len(own)-1], k) || !s.placeAfter(k)) {
		return own
	}
	for j := k + 1; j < len(s.items); j++ {
		if s.items[j].kind == isIndex && !s.items[j].bare && fits(j) {
			return []int{j}
		}
	}
	return own
}

// deniedAt reports whether the note says that the mark at item k is not so: "no" right
// before it, "not" before it with no other name between, or behind it with nothing after
// that it could be said of instead.
func (s *scan) deniedAt(k int) bool {
	for j := range s.items {
		it := &s.items[j]
		if it.kind == isCue && it.cue == cueNo && j == k-1 {
			return true
		}
		if it.kind != isCue || it.cue != cueNot && it.cue != cueNotYet {
			continue
		}
		if j < k && k-j <= 4 && !s.nameBetween(j, k) && !s.placesBetween(j, k) || j > k && j-k <= 6 && !s.nameOrPlaceBetween(k, j) && !s.saidOfOther(j) {
			return true
		}
	}
	return s.insideNot(k)
}

// placesBetween reports whether two places stand between items a and b: what is denied is said of the
// first, "not stage two, stage three seated".
func (s *scan) placesBetween(a, b int) bool {
	places := 0
	for j := a + 1; j < b; j++ {
		if s.items[j].kind == isIndex && !s.items[j].bare {
			places++
		}
	}
	return places > 1
}

// shaky reports whether the words around the mark at item k leave it open whether it is
// so: a "no" or a correction behind it, words that nothing knows in its clause, damage, or
// a name that goes on as a place ("cover on the bench").
func (s *scan) shaky(k int) bool {
	if s.elsewhereJob() || s.otherUnit() || s.fetched(k) || s.partial(k) || s.goesOnAsPlace(k) || s.planned(k) || s.undone(k) || s.mislaid() {
		return true
	}
	if s.reversed(k) || s.otherPart(k) {
		return true
	}
	if t := s.toks[len(s.toks)-1].Text; t == "please" || t == "first" {
		return true // "clean seat first"
	}
	if k > 0 && s.items[k-1].kind == isName && s.isReading(k-1) && s.claimed {
		return true // "stage three nut bottomed out at forty eight"
	}
	own := true // still in the clause of the mark
	for j := k + 1; j < len(s.items); j++ {
		switch it := &s.items[j]; it.kind {
		case isWord, isWrong:
			return true
		case isCue:
			switch c := it.cue; {
			case c == cueNo || c == cueCorrect:
				return !s.namedAfter(j) || s.takenBack(j-1) || s.takenBack(j)
			case (c == cueNot || c == cueNotYet) && !s.saidOfOther(j):
				return true
			case c == cueTo || c == cueFine:
				return s.takenBack(j)
			case c == cueAnd && s.toks[it.from].Text != "then" && !s.then(j) && !s.qualifies(j):
				return s.takenBack(j)
			case c == cueAnd:
				own = false
			case !own && slices.Contains([]cue{cueAbout, cueIsh, cueBound, cueDoubt, cueOff, cueScratch}, c):
				return true // "valve fitted, kind of"
			}
		case isName, isNumber, isThing: // "rods loosened, the cable was pinched"
			if it.kind == isName && s.nameOf(it).Kind == Event && s.elsewhere(s.nameOf(it)) {
				return true // "shaft clamped then slackened it"
			}
			return s.takenBack(j)
		case isFiller, isIndex, isUnit, isChoice, isSlot, isDrop:
		}
	}
	return false
}

// otherPart reports whether a part stands right before the name at item k, so that it is that part's:
// "valve seat clean", "stage two o-ring seated".
func (s *scan) otherPart(k int) bool {
	if k == 0 || s.items[k-1].kind != isThing || s.items[k-1].to != s.items[k].from {
		return false
	}
	switch s.things(k - 1) {
	case "pump", "motor", "shaft", "impeller":
		return false
	}
	return true
}

func (s *scan) things(k int) string { return s.v.things[s.items[k].id] }

// reversed reports whether the words right behind the name at item k turn it round, halve it or say for
// how long: "cover on and off", "flushed half", "cover on to check the gap", "valve in two minutes".
func (s *scan) reversed(k int) bool {
	i := s.items[k].to
	if i >= len(s.toks) {
		return false
	}
	place := false
	switch s.toks[i-1].Text {
	case "on", "in", "off", "up", "out":
		place = true
	}
	if k+1 < len(s.items) && s.items[k+1].kind == isNumber && place && s.isTime(&s.items[k+1]) {
		return true
	}
	switch s.toks[i].Text {
	case "half":
		return true
	case "to":
		return place
	case "and":
		if i+1 < len(s.toks) {
			switch s.toks[i+1].Text {
			case "off", "out", "down", "up", "back", "tight", "loose", "wrong", "dirty", "running", "repressurised", "repressurized":
				return true
			}
		}
	}
	return false
}

// qualifies reports whether what follows the comma at item j is a word or two about what was said
// before it, and no clause of its own: "valve fitted, wonky".
func (s *scan) qualifies(j int) bool {
	if !s.stop(j) {
		return false
	}
	words := 0
	for j++; j < len(s.items) && !s.stop(j); j++ {
		switch s.items[j].kind {
		case isName, isIndex, isNumber, isChoice, isThing:
			return false
		case isWord, isFiller, isCue, isUnit, isSlot, isWrong, isDrop:
			words += s.items[j].to - s.items[j].from
		}
	}
	return words <= 3
}

// otherUnit: "pump two seat clean".
func (s *scan) otherUnit() bool {
	for k := range s.items {
		if it := &s.items[k]; it.kind == isSlot && len(it.places) > 0 && (s.v.slots[it.id].word == "pump" || s.v.slots[it.id].word == "unit") {
			return true
		}
	}
	return false
}

// fetched reports whether new parts are only at hand: "got new o-rings".
func (s *scan) fetched(k int) bool {
	i := s.items[k].from
	if s.toks[i].Text != "new" {
		return false
	}
	if i > 0 {
		switch s.toks[i-1].Text {
		case "got", "the", "up", "brought", "fetched", "need", "want", "here's", "bought", "more", "some", "of":
			return true
		}
	}
	end := s.items[k].to
	return end+1 < len(s.toks) && (s.toks[end].Text == "came" || s.toks[end+1].Text == "here")
}

// partial reports whether a confirmation that has no places is said of some: "threads oiled on rods one
// and two".
func (s *scan) partial(k int) bool {
	if len(s.nameOf(&s.items[k]).Axes) > 0 {
		return false
	}
	for j := k + 1; j < len(s.items) && j <= k+2; j++ {
		if it := &s.items[j]; it.kind == isIndex && !it.bare && it.axis >= 0 {
			return len(it.places) < len(s.v.axes[it.axis].Values)
		}
	}
	return false
}

// undoing are deeds that take a part off again.
var undoing = []string{"removed", "removing", "took", "pulled", "lifted", "undid", "knocked", "dropped", "swapped", "fell", "slackened"}

// undone reports whether a deed that takes off is told of with the mark at item k, and no other name
// is said that it may be done to.
func (s *scan) undone(k int) bool {
	for j := range s.items {
		if j == k || !slices.Contains(undoing, s.toks[s.items[j].from].Text) || s.items[j].kind == isName || s.items[j].kind == isCue {
			continue
		}
		if j < k && s.partsClauses(j, k) || j > k && s.ownThing(j) {
			continue // it is done to something else: "pulled it, full impeller on stage two"
		}
		return true
	}
	return false
}

// partsClauses reports whether a stop, "and", or another deed stands between items a and b.
func (s *scan) partsClauses(a, b int) bool {
	for j := a + 1; j < b; j++ {
		if s.stop(j) || slices.Contains([]string{"and", "then", "put", "fitted", "now"}, s.toks[s.items[j].from].Text) {
			return true
		}
	}
	return false
}

// ownThing reports whether a part or a number follows the deed at item j.
func (s *scan) ownThing(j int) bool {
	for j++; j < len(s.items) && !s.stop(j); j++ {
		if c := s.items[j].kind; c == isThing || c == isName || c == isNumber {
			return true
		}
	}
	return false
}

// then reports whether "and" at item j goes on with "then", "now" or "not".
func (s *scan) then(j int) bool {
	i := s.items[j].to
	return i < len(s.toks) && (s.toks[i].Text == "then" || s.toks[i].Text == "now")
}

// planned reports whether the note speaks of the mark at item k as a plan, an order, a
// question, or in part: "half isolated", "let the pressure off next", "seated or not".
func (s *scan) planned(k int) bool {
	if s.ordered() || !s.claimed && s.looseNumber(k) {
		return true
	}
	for j := s.clauseOf(k); j < len(s.items) && !s.thereIs(j, k); j++ {
		if j == k+1 && j == len(s.items)-1 && s.items[j].cue == cueBound && s.toks[s.items[j].from].Text == "over" {
			break // "staked over"
		}
		if it := &s.items[j]; it.kind == isCue && slices.Contains([]cue{
			cueAbout, cueIsh, cueBound, cueDoubt, cueHearsay, cueIf, cueNext, cueLeft, cueQuestion, cueRest, cueOr, cueRemark, cueExcept,
		}, it.cue) {
			return true
		}
	}
	for j := k - 1; j >= 0; j-- {
		it := &s.items[j]
		if it.kind == isWord {
			return true
		}
		if it.kind == isIndex {
			continue
		}
		if it.kind == isCue && it.cue == cueTo {
			return true // "struggling to get the valve in"
		}
		if it.kind != isFiller {
			break
		}
		switch s.toks[it.to-1].Text {
		case "half", "quite", "partly", "getting", "going", "putting", "being", "to", "please", "almost", "check", "checking":
			return true
		}
	}
	if from := s.items[k].from; from > 0 && s.items[k-1].kind != isIndex {
		switch s.toks[from-1].Text {
		case "half", "to":
			return true
		}
	}
	return false
}

// clauseOf returns the first item of the clause that item k stands in.
func (s *scan) clauseOf(k int) int {
	for k > 0 && !s.stop(k-1) && !s.turnsToMark(k-1) {
		k--
	}
	return k
}

// turnsToMark reports whether item k is a word behind which a clause of its own begins: "plenty of
// grease left so the threads are lubricated", "... and I can tell you the seat is clean".
func (s *scan) turnsToMark(k int) bool {
	switch s.toks[s.items[k].from].Text {
	case "so", "but":
		return true
	case "and":
		i := s.items[k].to
		return i < len(s.toks) && slices.Contains([]string{"i", "we", "the", "it's", "now"}, s.toks[i].Text)
	}
	return false
}

// looseNumber reports whether a number of which nothing came stands in the clause of item
// k or behind it: "all stages seated but two".
func (s *scan) looseNumber(k int) bool {
	for j := s.clauseOf(k); j < len(s.items) && !s.thereIs(j, k); j++ {
		if at := s.items[j].from; s.items[j].kind == isNumber && at > 0 && s.toks[at-1].Text == "at" && s.timeOfDay(k, j) {
			continue
		}
		if s.items[j].kind == isNumber && !s.foreign(&s.items[j]) {
			return true
		}
	}
	return false
}

// thereIs reports whether item j, behind item k, begins to tell of something else: "pressure bled
// off, there was about twenty bar in it".
func (s *scan) thereIs(j, k int) bool {
	i := s.items[j].from
	return j > k && s.toks[i].Text == "there" && i+1 < len(s.toks) && (s.toks[i+1].Text == "was" || s.toks[i+1].Text == "were")
}

// timeOfDay reports whether number item j says when the event at item k was: "handed over at four
// fifteen". An event at places may say a value.
func (s *scan) timeOfDay(k, j int) bool {
	n := s.nameOf(&s.items[k])
	return n.Kind == Event && len(n.Axes) == 0 && len(s.items[j].codes) == 0 && j == len(s.items)-1
}

// takenBack reports whether a "no" without a name or number of its own follows item k.
func (s *scan) takenBack(k int) bool {
	for j := k + 1; j < len(s.items); j++ {
		it := &s.items[j]
		if it.kind == isCue && (it.cue == cueNo || it.cue == cueCorrect) && (!s.namedAfter(j) || it.cue == cueCorrect && s.mereWait(j)) {
			return true
		}
	}
	return false
}

// namedAfter reports whether a name, place or number follows item k.
func (s *scan) namedAfter(k int) bool {
	for j := k + 1; j < len(s.items); j++ {
		switch s.items[j].kind {
		case isName, isIndex, isNumber, isChoice:
			return true
		case isWord, isFiller, isCue, isUnit, isSlot, isThing, isWrong, isDrop:
		}
	}
	return false
}

// goesOnAsPlace: "cover on the new lathe", "valve in the sink".
func (s *scan) goesOnAsPlace(k int) bool {
	end := s.items[k].to
	if end >= len(s.toks) {
		return false
	}
	if c, _ := s.cueAt(end); c == cueFine {
		return false // "bedded in a treat"
	}
	switch s.toks[end-1].Text {
	case "on", "in", "off", "over", "out":
	default:
		return false
	}
	switch s.toks[end].Text {
	case "the", "a", "my", "your", "his", "her", "their", "our", "this", "that", "order", "stock", "wednesday", "monday", "tuesday", "thursday", "friday":
		return true
	}
	return false
}

// saidOfOther reports whether "not" at item j is said of what follows: "seated, not
// stage three".
func (s *scan) saidOfOther(j int) bool {
	for k := j + 1; k < len(s.items); k++ {
		switch s.items[k].kind {
		case isIndex:
			if !s.items[k].bare {
				return true
			}
		case isName, isDrop, isNumber:
			return true
		case isWord, isFiller, isCue, isUnit, isChoice, isSlot, isThing, isWrong:
		}
	}
	return false
}

// insideNot reports whether "not" stands inside the name: "cover not on". A kind of part has
// no words between its own.
func (s *scan) insideNot(k int) bool {
	if s.items[k].kind != isName {
		return false
	}
	denials := 0
	for i := s.items[k].from; i < s.items[k].to; i++ {
		if slices.Contains(denialWords, s.toks[i].Text) {
			denials++
		}
	}
	for _, w := range s.v.forms[s.items[k].id].words { // "rods not twisted" denies nothing
		if slices.Contains(denialWords, w) {
			denials--
		}
	}
	return denials > 0
}

func (s *scan) hasPlaceItem() bool {
	for k := range s.items {
		if s.items[k].kind == isIndex && !s.items[k].bare {
			return true
		}
	}
	return false
}

// kindCorrected puts another kind at the place of the part that was marked last: "no, it's cut".
func (s *scan) kindCorrected(u *Utterance) bool {
	if len(s.ctx.Marks) != 1 || len(s.ctx.Undo) != 1 || !s.hasCue(cueCorrect, cueNo) || s.hasCue(cueNot, cueNotYet) || s.has(isWord, isName, isIndex, isNumber, isWrong) {
		return false
	}
	for k := range s.items {
		if s.items[k].kind != isChoice {
			continue
		}
		c := s.v.choices[s.items[k].id]
		if was := s.ctx.Marks[0]; s.v.names[c.name].Callout == was.Callout && c.is != was.Is {
			was.Is, was.Span = c.is, s.span(&s.items[k])
			u.Marks = append(u.Marks, was)
			return true
		}
	}
	return false
}

// choiceAlone takes a kind of part at a place without the part's name: "stage two
// full".
func (s *scan) choiceAlone(u *Utterance) {
	if s.kindCorrected(u) {
		return
	}
	if len(u.Marks) > 0 || len(u.Claims) > 0 || len(u.Asks) > 0 || !s.has(isChoice) || !s.hasPlaceItem() || s.has(isWord, isWrong) {
		return
	}
	for k := range s.items {
		if s.items[k].kind == isChoice && !s.deniedAt(k) {
			s.parts(u, &s.v.names[s.v.choices[s.items[k].id].name])
			return
		}
	}
}
