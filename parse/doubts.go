package parse

import (
	"slices"
	"strings"

	"readback/parse/token"
)

// doubts lists why number j may not be recorded as it stands.
func (s *scan) doubts(b *bound, j int, all []bound) (d []Doubt) {
	it := &s.items[b.item]
	if it.num.Broken || it.num.HasOther {
		d = append(d, TwoNumbers)
	}
	if it.open {
		d = append(d, OddUnit)
	}
	if it.ranged || s.bounded(b.item) || b.item+1 < len(s.items) && s.tolerance(b.item) {
		d = append(d, Range)
	}
	if s.approximate(b, j, all) {
		d = append(d, Approximate)
	}
	if s.or(b.item) {
		d = append(d, TwoNumbers)
	}
	if s.lessBy(b.item) || s.percentOf(b.item) || s.angleMore(b.item) {
		d = append(d, Range)
	}
	return append(d, s.noteDoubts()...)
}

// lessBy reports whether the number is how far something is off: "two foot pounds light".
func (s *scan) lessBy(k int) bool {
	if s.hasCue(cueSame) && s.said("same", "plus") || s.said("more", "than") {
		return true // "same plus one", "one more than that"
	}
	if s.said("both", "sides") || s.said("each", "side") || s.said("either", "side") {
		return true // half of it, or all
	}
	i, from := s.items[k].to, s.items[k].from
	if from > 1 && s.toks[from-1].Text == "from" && s.toks[from-2].Text == "down" {
		return true
	}
	if from > 1 && s.toks[from-1].Text == "by" && (s.toks[from-2].Text == "down" || s.toks[from-2].Text == "up") {
		return true // "came down by two hundredths"
	}
	if i >= len(s.toks) || len(s.items[k].codes) == 0 && i+1 < len(s.toks) && s.toks[i+1].Kind != token.Sign {
		return false
	}
	if k+1 < len(s.items) && s.items[k+1].kind == isIndex {
		return false // "twelve rpm, high gear ..."
	}
	switch s.toks[i].Text {
	case "light", "heavy", "short", "shy", "low", "high", "under", "over", "adrift", "less", "more", "better", "worse", "out":
		return i+1 == len(s.toks) || s.items[k+1].kind != isCue || s.items[k+1].to == i+1
	}
	return false
}

// angleMore reports whether an angle is added to a torque: "forty eight newton metres and a quarter
// turn".
func (s *scan) angleMore(k int) bool {
	for j := k + 1; j < len(s.items); j++ {
		if it := &s.items[j]; it.kind == isNumber && s.foreign(it) && (slices.Contains(s.meanings(it), "circ") || slices.Contains(s.meanings(it), "deg")) {
			return true
		}
	}
	return false
}

// percentOf reports whether the number is what a share is taken of: "within two per cent of 48".
func (s *scan) percentOf(k int) bool {
	of := s.numberBefore(k)
	return of >= 0 && s.adjacent(of, k) && slices.Contains(s.meanings(&s.items[of]), "%")
}

// unknown returns the words of the note that nothing knows, "" for none. A word that was
// not understood may turn the meaning round ("forty eight and a whisker"), so that no
// reading is taken beside one.
func (s *scan) unknown() string {
	var words []string
	for k := range s.items {
		if it := &s.items[k]; it.kind == isWord {
			words = append(words, s.note[s.toks[it.from].Start:s.toks[it.to-1].End])
		}
	}
	if len(words) == 0 && s.otherThing() {
		for k := range s.items {
			if it := &s.items[k]; it.kind == isThing {
				words = append(words, s.note[s.toks[it.from].Start:s.toks[it.to-1].End])
			}
		}
	}
	return strings.Join(words, " ")
}

// otherThing reports whether a part stands right before the name of a reading, and may make another
// thing of it: "gland nut", "motor runout".
func (s *scan) otherThing() bool {
	for k := 1; k < len(s.items); k++ {
		it := &s.items[k]
		if it.kind == isThing && s.ofName(k) {
			return true // "runout of the coupling"
		}
		if s.items[k-1].kind == isThing && s.items[k-1].to == it.from && (it.kind == isName && s.isReading(k) || it.kind == isIndex) {
			return true
		}
	}
	return false
}

// ofName reports whether the part at item k says what the reading named before it was taken of, and it
// is not what every reading is taken of.
func (s *scan) ofName(k int) bool {
	switch s.things(k) {
	case "pump", "motor", "shaft":
		return false
	}
	j := k - 1
	for j >= 0 && (s.items[j].kind == isFiller || s.items[j].kind == isCue && s.items[j].cue == cueOn && s.toks[s.items[j].from].Text != "in" && s.toks[s.items[j].from].Text != "for") {
		j--
	}
	return j >= 0 && j < k-1 && s.items[j].kind == isName && s.isReading(j)
}

// noteDoubts lists the doubts that cover the whole note.
func (s *scan) noteDoubts() (d []Doubt) {
	if s.hasCue(cueDoubt) {
		d = append(d, Doubtful)
	}
	if s.hasCue(cueNotYet) || s.hasCue(cueNot) {
		d = append(d, Negated)
	}
	if s.hasCue(cueHearsay, cueIf, cueRemark, cueNote) || s.elsewhereJob() || s.ordered() {
		d = append(d, Hearsay)
	}
	if s.has(isWord) || s.otherThing() {
		d = append(d, Unknown)
	}
	if s.endsInNo() || (s.hasCue(cueOff) || s.undoes()) && !s.hasCue(cueRetight, cueAgain) && !s.saysBack() || s.damaged() {
		d = append(d, Doubtful)
	}
	if s.leavesOut() {
		d = append(d, TwoPlaces)
	}
	if s.tagged() || s.mislaid() || s.hasCue(cueLeft) {
		d = append(d, Doubtful)
	}
	if s.saidBy() || s.planNext() {
		d = append(d, Hearsay)
	}
	if s.noClick() {
		d = append(d, Negated)
	}
	if s.openPlaces() {
		d = append(d, TwoPlaces)
	}
	if s.offBehind() || len(s.toks) > 1 && s.toks[len(s.toks)-1].Text == "yet" {
		d = append(d, Doubtful)
	}
	return d
}

// tagged reports whether the note ends in a word that asks the other to agree: "forty eight, yeah".
func (s *scan) tagged() bool {
	n := len(s.items) - 1
	for n > 0 && (s.stop(n) || s.toks[s.items[n].from].Text == "please") {
		n--
	}
	if n < 1 || s.items[n-1].kind != isNumber && !s.stop(n-1) {
		return false
	}
	switch s.toks[s.items[n].to-1].Text {
	case "yeah", "eh", "innit", "huh", "right":
		return true
	}
	return false
}

// planNext reports whether a named place is said to be the next, or the wrench is only set for it:
// "collar nut one next, forty eight".
func (s *scan) planNext() bool {
	if s.said("the", "wrench") && s.hasCue(cueSet) && !s.saysAny("clicked") {
		return true // "set the wrench to forty eight for collar nut one"
	}
	for k := 1; k < len(s.items); k++ {
		if s.items[k].kind == isCue && s.items[k].cue == cueNext && s.items[k-1].kind == isIndex && !s.items[k-1].bare {
			return true
		}
	}
	return false
}

// noClick reports whether what should have been measured did not come: "no click at forty eight".
func (s *scan) noClick() bool {
	return slices.ContainsFunc([]string{"click", "clicks", "torque", "reading", "value"}, func(w string) bool { return s.said("no", w) })
}

// openPlaces reports whether the places run on to where nothing says: "above stage three", "stage two
// and up", "every second nut", "all nuts so far".
func (s *scan) openPlaces() bool {
	for k := range s.items {
		it := &s.items[k]
		if it.kind == isCue && (it.cue == cueBound && s.toks[it.from].Text != "over" || it.cue == cueBetween) && k+1 < len(s.items) && s.items[k+1].kind == isIndex {
			return true
		}
		if it.kind == isIndex && it.whole && s.said("so", "far") || it.kind == isIndex && it.whole && s.said("i've", "done") {
			return true
		}
		if it.kind != isIndex || it.to >= len(s.toks) {
			continue
		}
		at := it.to
		if s.toks[at].Text == "and" {
			at++
		}
		if at < len(s.toks) && (s.toks[at].Text == "upwards" || s.toks[at].Text == "onwards" || s.toks[at].Text == "up" && at+1 < len(s.toks) && s.isPlainNumber(at+1)) {
			return true
		}
	}
	for i := range s.toks[:max(0, len(s.toks)-1)] {
		if s.toks[i].Text == "every" && s.nums[i+1].Nth > 1 {
			return true
		}
	}
	return false
}

// saysAny reports whether one of the words stands in the note.
func (s *scan) saysAny(words ...string) bool {
	return slices.ContainsFunc(s.toks, func(t token.Token) bool { return slices.Contains(words, t.Text) })
}

// said reports whether two words stand side by side in the note.
func (s *scan) said(a, b string) bool {
	for i := range s.toks[:max(0, len(s.toks)-1)] {
		if s.toks[i].Text == a && s.toks[i+1].Text == b {
			return true
		}
	}
	return false
}

// offBehind reports whether what was tightened is told to be loose again behind the last value:
// "forty eight, loosened it again".
func (s *scan) offBehind() bool {
	for k := range s.items {
		it := &s.items[k]
		off := it.kind == isCue && it.cue == cueOff || it.kind == isName && s.nameOf(it).Kind == Event && len(s.nameOf(it).Axes) > 0
		if off && s.numberBefore(k) >= 0 && s.numberAfter(k) < 0 {
			return true
		}
	}
	return false
}

// undoes reports whether an event that has places is said in the note: a value beside it is
// what it took to loosen something.
func (s *scan) undoes() bool {
	for k := range s.items {
		if it := &s.items[k]; it.kind == isName {
			if n := s.nameOf(it); n.Kind == Event && len(n.Axes) > 0 {
				return true
			}
		}
	}
	return false
}

// damaged reports whether the note says that something is wrong with what it names.
func (s *scan) damaged() bool {
	for k := range s.items {
		if s.items[k].kind == isWrong && !s.absent(k) {
			return true
		}
	}
	return false
}

// leavesOut reports whether something is left out that [scan.excepted] could not take out: "all stages
// but two".
func (s *scan) leavesOut() bool {
	for k := range s.items {
		if it := &s.items[k]; it.kind == isCue && it.cue == cueExcept && s.toks[it.from].Text != "only" {
			return true
		}
	}
	return false
}

// endsInNo reports whether the note ends in a word that takes back or denies: something
// was to follow, or all of it is withdrawn.
func (s *scan) endsInNo() bool {
	for k := range slices.Backward(s.items) {
		if it := &s.items[k]; it.kind == isCue && it.cue == cueCorrect && !s.namedAfter(k) && s.numberBefore(k) >= 0 && !s.hasCue(cueShould) && !s.unitFixed(k) {
			return true // "forty eight newton metres, I misread that"
		}
	}
	for k := range slices.Backward(s.items) {
		if it := &s.items[k]; it.kind != isFiller && !s.stop(k) {
			return it.kind == isCue && (it.cue == cueNo || it.cue == cueNot) && s.numberBefore(k) >= 0
		}
	}
	return false
}

// unitFixed reports whether the correction at item k gave another unit.
func (s *scan) unitFixed(k int) bool { return s.items[k].since != "" }

// mislaid reports whether an idiom that is harmless before a reading ends the note instead: "forty
// eight newton metres, wrong one".
func (s *scan) mislaid() bool {
	for k := range s.items {
		if s.items[k].kind != isCue || s.items[k].cue != cueFine || s.namedAfter(k) {
			continue
		}
		switch s.toks[s.items[k].from].Text {
		case "wrong", "had", "i", "off", "by", "at":
			if t := s.toks[s.items[k].to-1].Text; t != "hand" && t != "way" && t != "know" && t != "it" {
				return true
			}
		}
	}
	return false
}

// saidBy reports whether somebody else said the value: "the boss said forty eight".
func (s *scan) saidBy() bool {
	for i := 1; i < len(s.toks); i++ {
		if t := s.toks[i].Text; (t == "said" || t == "reckoned") && s.toks[i-1].Text != "i" && s.toks[i-1].Text != "i've" {
			return true
		}
	}
	return false
}

// fuller returns the callouts that are named by the words of n's name and others that
// stand elsewhere in the note: "insulation 200 megohms as found" is not the insulation.
func (s *scan) fuller(n *Name) (others []string) {
	said := -1
	for k := range s.items {
		if s.items[k].kind == isName && s.nameOf(&s.items[k]) == n {
			said = k
		}
	}
	if said < 0 {
		return nil
	}
	words := s.v.forms[s.items[said].id].words
	for _, a := range s.v.anchors[words[len(words)-1]] {
		f := &s.v.forms[a.form]
		m := &s.v.names[f.name]
		if m == n || m.Kind != Reading || m.Derived || len(f.words) <= len(words) || slices.Contains(others, m.Callout) {
			continue
		}
		if s.isCompleted(f.words, words) {
			others = append(others, m.Callout)
		}
	}
	return others
}

// isCompleted reports whether form is words and others, all of which stand in the note.
func (s *scan) isCompleted(form, words []string) bool {
	for _, w := range words {
		if !slices.Contains(form, w) {
			return false
		}
	}
	for _, w := range form {
		if slices.Contains(words, w) {
			continue
		}
		if !s.saysAny(w) {
			return false
		}
	}
	return true
}

// elsewhereJob: "MW-1042 had forty six on stage three".
func (s *scan) elsewhereJob() bool {
	for k := range s.items {
		if s.items[k].kind == isSlot && s.v.slots[s.items[k].id].long {
			return true
		}
	}
	return false
}

// ordered: "do stage five forty eight", "remember ..." tells somebody to do it.
func (s *scan) ordered() bool {
	for k := range s.items {
		it := &s.items[k]
		if it.kind != isFiller && it.kind != isWord {
			return false
		}
		if s.toks[it.from].Text == "put" && k+1 < len(s.items) && s.items[k+1].kind == isNumber {
			return true // "just put forty eight"
		}
		switch s.toks[it.from].Text {
		case "do", "go", "make", "tighten", "torque", "remember", "get", "take", "bring", "give", "let", "tell", "use", "grab", "ask":
			return !s.toldOf(it.from) && (s.toks[it.from].Text != "let" || !s.stopBefore(k))
		}
	}
	return false
}

// stopBefore reports whether a clause ends between item k and the next name, place or number.
func (s *scan) stopBefore(k int) bool {
	for j := k + 1; j < len(s.items); j++ {
		switch s.items[j].kind {
		case isName, isIndex, isNumber:
			return false
		case isWord, isFiller, isCue, isUnit, isChoice, isSlot, isThing, isWrong, isDrop:
			if s.stop(j) {
				return true
			}
		}
	}
	return false
}

// toldOf reports whether the word at i, which may be an order, is told of: "I get 48", "torque
// on the nut was 48".
func (s *scan) toldOf(i int) bool {
	if i > 0 {
		switch s.toks[i-1].Text {
		case "i", "we", "you", "he", "she", "they":
			return true
		}
	}
	if t := s.toks[i].Text; t == "let" && i+1 < len(s.toks) && (s.toks[i+1].Text == "some" || s.toks[i+1].Text == "it") {
		return true // "let some out, oil fill one litre"
	} else if t != "torque" {
		return false
	}
	for _, t := range s.toks[i+1:] {
		switch t.Text {
		case "was", "is", "came", "reads", "read", "got", "gives", "gave", "shows":
			return true
		}
	}
	return false
}

// approximate: "about" before the number, "ish" right behind it.
func (s *scan) approximate(b *bound, j int, all []bound) bool {
	for k := b.item - 1; k >= 0 && s.items[k].kind != isNumber; k-- {
		if s.items[k].kind == isCue && s.items[k].cue == cueAbout && (s.toks[s.items[k].from].Text != "some" || s.adjacent(k, b.item)) {
			return true
		}
	}
	for k := b.item + 1; k < len(s.items) && s.items[k].kind != isNumber; k++ {
		it := &s.items[k]
		if it.kind == isCue && (it.cue == cueIsh || it.cue == cueAbout && (j == len(all)-1 || k == b.item+1)) {
			return true
		}
		if it.kind == isName || it.kind == isIndex {
			return false
		}
	}
	return false
}

// bounded: "at least", "over", "between" before the number.
func (s *scan) bounded(k int) bool {
	if k > 0 && s.items[k-1].kind == isCue && (s.items[k-1].cue == cuePlusMinus || s.toks[s.items[k-1].from].Text == "twice") {
		return true // the typed plus or minus, and "twice point one five"
	}
	if i := s.items[k].from; i > 1 && s.toks[i-2].Text == "+" && s.toks[i-1].Text == "/" || i > 2 && s.toks[i-3].Text == "+" && s.toks[i-2].Text == "/" {
		return true // "+/-0.02"
	}
	if next := k + 1; next < len(s.items) && s.items[next].kind == isCue && (s.items[next].cue == cueBound && s.items[next].to-s.items[next].from > 1 || s.toks[s.items[next].from].Text == "plus" && next == len(s.items)-1) {
		return true // "two hundredths at most", "one thou plus"
	}
	if i := s.items[k].num.End; i < len(s.toks) && s.toks[i].Text == "+" && s.toks[i].Glued {
		return true // "200+"
	}
	for j := k - 1; j >= 0; j-- {
		it := &s.items[j]
		switch {
		case it.kind == isCue && (it.cue == cueBound || it.cue == cueBetween && s.toks[it.from].Text != "from"):
			return true
		case it.kind == isFiller, it.kind == isCue && it.cue == cueOn:
		default:
			return false
		}
	}
	return false
}

// tolerance reports whether "plus or minus" follows number item k.
func (s *scan) tolerance(k int) bool {
	return s.items[k+1].kind == isCue && s.items[k+1].cue == cuePlusMinus
}

// or: "forty seven or forty eight".
func (s *scan) or(k int) bool {
	for _, j := range []int{k - 1, k + 1} {
		if j > 0 && j+1 < len(s.items) && s.items[j].kind == isCue && s.items[j].cue == cueOr &&
			s.items[j-1].kind == isNumber && s.items[j+1].kind == isNumber {
			return true
		}
	}
	return false
}
