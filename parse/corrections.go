package parse

import (
	"slices"
	"strconv"
	"strings"

	"readback/parse/number"
)

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
		case k == len(s.items)-1 && k > 0 && s.items[k-1].kind == isIndex && s.toks[it.from].Text == "i":
			it.kind = isFiller // "seated now, stage four I mean"
		case before >= 0 && after < 0 && s.unitAfter(k, before):
		case before >= 0 && after >= 0:
			if s.mereWait(k) && s.nameBetween(k, after) {
				break // "end play down 82.6, hang on, up 81.1"
			}
			fix.replaced = append(fix.replaced, [2]int{before, after})
			s.items[before].since = "corrected by what follows"
			if s.mayBePlace(before, after) {
				s.items[after].num.Broken, s.items[after].num.Why = true, "it may be a place"
			}
			if len(s.items[after].codes) == 0 {
				s.items[after].codes = s.items[before].codes // "thirty foot pounds no thirty six"
			}
		case s.choiceGivesWay(k):
		case before < 0 && s.placeGivesWay(k):
		case before < 0 && (it.cue == cueCorrect || after >= 0 && s.leads(k)):
			fix.record = true
		case before >= 0 && s.placeAfter(k):
			s.placeGivesWay(k)
			fix.moved = true
		case it.cue == cueNo && after < 0 && s.leads(k) && s.placeAfter(k) && !s.has(isWord, isWrong, isChoice, isThing) && !s.hasCue(cueLeft, cueNotYet) && s.toks[len(s.toks)-1].Text != "yet":
			fix.record = true // "no stage five"
		}
	}
	if s.placeTold() {
		fix.moved = true
	}
	if s.hasCue(cueShould) {
		fix.should = true
	}
	return fix
}

// placeTold reports whether the note says nothing but where the last reading was: "it was stage
// five", "no that was rod three not rod two". The place that it was not is dropped; it must be
// the one that stands.
func (s *scan) placeTold() bool {
	last, was, told, denied := s.lastClaim(), false, -1, -1
	if last == nil || len(s.ctx.Last) != 1 || len(s.ctx.Asked) > 0 {
		return false
	}
	for k := range s.items {
		switch it := &s.items[k]; {
		case it.kind == isIndex && !it.bare && len(it.places) == 1 && !it.absent && told < 0:
			told = k
		case it.kind == isIndex && told >= 0 && denied < 0 && len(it.places) == 1 && s.items[k-1].kind == isCue && s.items[k-1].cue == cueNot && it.axis == s.items[told].axis:
			denied = k
		case it.kind == isFiller:
			t := s.toks[it.from].Text
			was = was || t == "was" || (t == "that's" || t == "it's") && (s.hasCue(cueNot) || s.hasCue(cueNo, cueCorrect))
		case it.kind == isCue && (it.cue == cueNo || it.cue == cueNot || it.cue == cueCorrect || it.cue == cueAnd && s.toks[it.from].Text == ","):
		default:
			return false
		}
	}
	if s.saysAny("now", "so", "yet") {
		return false // "so it's stage four": where one stands, not where one stood
	}
	if !was || told < 0 || s.items[told].axis < 0 || s.items[0].kind == isIndex {
		return false
	}
	if denied < 0 {
		return !s.hasCue(cueNot)
	}
	if last.At.On(s.v.axes[s.items[denied].axis].ID) != s.items[denied].places[0] {
		return false
	}
	s.items[denied-1].kind, s.items[denied].kind = isFiller, isDrop
	return true
}

// mayBePlace reports whether the bare number at item k, behind a correction, may correct
// the place that was said and not the value: "forty eight stage one no two".
func (s *scan) mayBePlace(before, k int) bool {
	n, ok := s.items[k].isBareWhole()
	if !ok || k+1 < len(s.items) && s.items[k+1].kind != isFiller {
		return false
	}
	for j := range k {
		if it := &s.items[j]; it.kind == isIndex && !it.bare && it.axis >= 0 && s.hasValue(s.v.axes[it.axis].ID, strconv.FormatInt(n, 10)) {
			v, whole := s.items[before].value.Whole()
			return !whole || v > 2*n // a value near the first one is a value
		}
	}
	return false
}

// mereWait reports whether the words at item k ask for time and take nothing back.
func (s *scan) mereWait(k int) bool {
	switch s.toks[s.items[k].from].Text {
	case "hang", "hold", "wait":
		return true
	}
	return false
}

// nameBetween reports whether a name stands between items a and b.
func (s *scan) nameBetween(a, b int) bool {
	for k := a + 1; k < b; k++ {
		if s.items[k].kind == isName {
			return true
		}
	}
	return false
}

// placeGivesWay drops the place before the correction at item k where one on the same
// axis follows: "stage one, no, stage two".
func (s *scan) placeGivesWay(k int) bool {
	before, after := -1, -1
	for j := range s.items {
		if it := &s.items[j]; it.kind != isIndex || it.bare {
			continue
		}
		if j > k && after < 0 {
			after = j
		}
	}
	for j := range s.items[:k] {
		if it := &s.items[j]; after >= 0 && it.kind == isIndex && !it.bare && it.axis == s.items[after].axis {
			before = j
		}
	}
	if before < 0 || after < 0 || s.nameBetween(k, after) {
		return false
	}
	s.items[before].kind = isDrop
	return true
}

// choiceGivesWay drops the kind of part before the correction at item k where another one follows:
// "full impeller stage eight no sorry cut".
func (s *scan) choiceGivesWay(k int) bool {
	before, after := -1, -1
	for j := range s.items {
		if s.items[j].kind != isChoice {
			continue
		}
		if j < k {
			before = j
		} else if after < 0 {
			after = j
		}
	}
	if before < 0 || after < 0 || s.v.choices[s.items[before].id].name != s.v.choices[s.items[after].id].name || s.placeAfter(k) {
		return false
	}
	s.items[before].kind, s.items[k].kind = isDrop, isFiller
	return true
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
	s.items[k].since = "gives another unit"
	s.items[j].kind = isFiller
	return true
}

// amends is what a note corrects.
type amends struct {
	scratch  bool     // "scratch that": nothing before it in the note counts
	inNote   bool     // and something stood before it
	mild     bool     // "never mind": only what was asked back is dropped
	named    bool     // "scratch stage three": what it names is taken back
	record   bool     // what follows replaces what was recorded before
	should   bool     // "stage eight should be forty eight"
	lost     bool     // it takes back a value that was not read last
	moved    bool     // "forty eight no stage three": the place is corrected
	replaced [][2]int // pairs of number items: the first gives way to the second
}

// scratch handles "scratch that": what stood before it in the note is dropped.
func (s *scan) scratch(fix *amends) {
	last := -1
	for k := range s.items {
		if s.items[k].kind == isCue && s.items[k].cue == cueScratch && (k == 0 || s.items[k-1].kind != isCue || s.items[k-1].cue != cueNotYet && s.items[k-1].cue != cueNot) {
			last = k
		}
	}
	if last < 0 || s.casual(last) && s.has(isWord, isThing, isWrong) && !s.namesNext(last) {
		return // "never mind the phone", "a tiny scratch on the shaft"
	}
	fix.scratch, fix.mild = true, strings.HasPrefix(s.toks[s.items[last].from].Text, "never")
	next := s.numberAfter(last)
	if next >= 0 && s.casual(last) && s.namesNext(last) {
		s.items[next].kind, fix.scratch, fix.named = isDrop, true, true // "scratch stage one forty eight"
		return
	}
	if next >= 0 && s.toks[s.items[last].to-1].Text == "the" && !s.standsAs(&s.items[next]) {
		s.items[next].kind, fix.scratch, fix.lost = isDrop, false, true // "scratch the forty eight": which?
		return
	}
	if next >= 0 && s.leads(last) && !s.hasPlaceItem() && !s.has(isName) && len(s.ctx.Asked) == 0 {
		if !s.standsAs(&s.items[next]) {
			fix.record = true // "scratch that, nineteen point nine": the value that comes
			s.items[last].kind = isFiller
			return
		}
		s.items[next].kind = isDrop // "scratch that forty eight": the value that goes
	}
	for k := range s.items[:last] {
		switch s.items[k].kind {
		case isNumber:
			if next >= 0 && len(s.items[next].codes) == 0 {
				s.items[next].codes = s.items[k].codes
			}
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

// namesNext reports whether a name or a place follows item k at once: "cancel the earth continuity".
func (s *scan) namesNext(k int) bool {
	for k++; k < len(s.items); k++ {
		switch s.items[k].kind {
		case isName, isIndex:
			return true
		case isFiller:
		case isWord, isCue, isNumber, isUnit, isChoice, isSlot, isThing, isWrong, isDrop:
			return false
		}
	}
	return false
}

// casual reports whether the words that take back are also said of other things: only
// those with "that", "it" or "last" in them are not.
func (s *scan) casual(k int) bool {
	for i := s.items[k].from; i < s.items[k].to; i++ {
		switch s.toks[i].Text {
		case "that", "it", "last", "back":
			return false
		}
	}
	return true
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
		if !s.markBefore(k) && slices.ContainsFunc(s.items[:k], func(it item) bool { return it.kind == isIndex && (it.whole || len(it.places) > 1) }) {
			continue // "all nuts, not three, forty eight"
		}
		if s.runOn(n) {
			s.items[k].kind, fix.record = isFiller, fix.record || s.numberBefore(k) < 0
			continue
		}
		before, after := s.numberBefore(k), s.numberAfter(n)
		if after < 0 && before < 0 && s.markBefore(k) {
			s.items[n].kind = isDrop // "stages one and two seated but not three"
			continue
		}
		if after < 0 && (before < 0 || s.nameOrPlaceBetween(before, k)) {
			continue
		}
		if before < 0 && !s.standsAs(&s.items[n]) {
			continue // "not fifty one, forty nine" where nothing of fifty one was said
		}
		s.items[n].kind = isDrop
		s.items[k].kind = isFiller
		if before < 0 {
			fix.record = true
		}
	}
}

// standsAs reports whether the number is one that was read last or is asked about, or the note says
// itself where it belongs.
func (s *scan) standsAs(it *item) bool {
	same := func(c Claim) bool { return c.Value.Same(it.value) }
	if len(s.ctx.Last) == 0 && len(s.ctx.Asked) == 0 {
		return true
	}
	return slices.ContainsFunc(s.ctx.Last, same) || slices.ContainsFunc(s.ctx.Asked, same) || s.has(isName, isIndex)
}

// runOn parts two values that run into each other behind "not", and drops the first: "not forty
// eight forty seven point eight", "not thirty four and a half thirty five and a half".
func (s *scan) runOn(n int) bool {
	it := &s.items[n]
	if n+1 < len(s.items) && it.num.Torn && s.items[n+1].kind == isNumber && s.items[n+1].from == it.to {
		next := &s.items[n+1]
		if whole, ok := s.r.At(next.from); ok {
			next.num = whole
		}
		it.kind = isDrop
		return true
	}
	if !it.num.Spoken || it.num.Broken || s.numberAfter(n) >= 0 {
		return false
	}
	for at := it.num.Start + 2; at < it.num.End; at++ {
		// Both halves are tens: what is said of one value is said of the other.
		if s.nums[at].Class != number.Tens || s.nums[it.num.Start].Class != number.Tens {
			continue
		}
		if rest, ok := s.r.At(at); ok && rest.End == it.num.End && !rest.NeedsUnit {
			it.num, it.value, it.from = rest, rest.Value, at
			return true
		}
	}
	return false
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

// nameOrPlaceBetween reports whether a name or place stands between two items.
func (s *scan) nameOrPlaceBetween(a, b int) bool {
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
