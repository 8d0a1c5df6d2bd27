package parse

import (
	"slices"
	"strings"

	"readback/parse/lexicon"
	"readback/parse/number"
)

// nameAt returns the form of the longest name that starts at token i.
func (s *scan) nameAt(i int) (form int, ok bool) {
	if i >= len(s.m) || s.m[i][lexicon.Name].End == 0 {
		return 0, false
	}
	ids := s.m[i][lexicon.Name].IDs
	for _, id := range ids {
		if !s.v.forms[id].short || s.familySaid(int(id)) {
			return int(id), true
		}
	}
	return 0, false
}

// named takes a callout's name, exact or nearly so, and for one that has places the
// index after it: the index is an item of its own.
func (s *scan) named(i int) (item, bool) {
	f, ok := s.nameAt(i)
	if ok {
		return item{kind: isName, id: f, to: s.m[i][lexicon.Name].End}, true
	}
	if it, ok := s.nearName(i); ok {
		return it, true
	}
	if it, ok := s.joinedName(i); ok {
		return it, true
	}
	return s.nameIndex(i)
}

// nameIndex takes the index after a name: "collar nut three", "coupling bolts one and
// three", "collar nut #6".
func (s *scan) nameIndex(i int) (item, bool) {
	if !s.afterName() {
		return item{}, false
	}
	f := s.v.forms[s.items[len(s.items)-1].id]
	axes := s.v.names[f.name].Axes
	if len(axes) == 0 {
		return item{}, false
	}
	axis := s.axisIndex(axes[0])
	if axis < 0 || s.v.names[f.name].Kind == Reading && s.indexed(axis) {
		return item{}, false
	}
	i = s.skipOn(i)
	at := s.skipNumberWord(i)
	word := f.words[len(f.words)-1]
	plural := strings.HasSuffix(word, "s") || strings.HasSuffix(s.toks[s.items[len(s.items)-1].to-1].Text, "s")
	if plural && at == i && s.soundsLikeList(i-1) && s.word(i-1).Class == number.Sounds {
		at, i = i-1, i-1 // "coupling bolts for and three": skipOn took it for "for"
	}
	n, end, ok := s.index(at, len(s.v.axes[axis].Values), s.hasSlot(at+1) || plural && s.soundsLikeList(at))
	if !ok || n > len(s.v.axes[axis].Values) || s.isReadingNow(end) || s.tensFollow(end) {
		return item{}, false
	}
	if s.hasSlot(end) && s.v.slots[s.m[end][lexicon.Slot].IDs[0]].axis == axis || s.followed(end, "of", "them") {
		return item{}, false // a count: "backlash four positions", "nuts three of them"
	}
	it := item{kind: isIndex, axis: axis}
	if s.word(at).Class == number.Sounds && (!plural || !s.soundsLikeList(at)) { // "thai rod to pass won"
		s.place(&it, &s.v.axes[axis], n)
		it.to = end
		return it, !it.absent
	}
	s.indexes(&it, i, plural, false)
	return it, len(it.places) > 0 && !it.absent
}

// followed reports whether two words stand at token i.
func (s *scan) followed(i int, a, b string) bool {
	return i+1 < len(s.toks) && s.toks[i].Text == a && s.toks[i+1].Text == b
}

// kindIndex takes the index beside a kind of part that was said before: "full on one to
// four, cut on five", "impellers one to four full, five cut".
func (s *scan) kindIndex(i int) (item, bool) {
	k := len(s.items) - 1
	for k >= 0 && s.items[k].kind == isCue && s.items[k].cue == cueAnd {
		k--
	}
	if k < 0 || s.items[k].kind != isChoice {
		return item{}, false
	}
	axes := s.v.names[s.v.choices[s.items[k].id].name].Axes
	if len(axes) == 0 {
		return item{}, false
	}
	it := item{kind: isIndex, axis: s.axisIndex(axes[0])}
	at := s.skipOn(i)
	s.indexes(&it, at, true, false)
	if len(it.places) == 0 || it.absent || at == i && (it.to >= len(s.m) || s.m[it.to][lexicon.Choice].End == 0) {
		return item{}, false
	}
	return it, true
}

// skipOn passes "on" and "for" between a name and its index: "nut on three".
func (s *scan) skipOn(i int) int {
	if i >= len(s.toks) {
		return i
	}
	switch s.toks[i].Text {
	case "on", "for":
		if i+1 < len(s.toks) {
			return i + 1
		}
	}
	return i
}

// indexed reports whether a place on the axis was said since the last number.
func (s *scan) indexed(axis int) bool {
	for k := len(s.items) - 1; k >= 0 && s.items[k].kind != isNumber; k-- {
		if it := &s.items[k]; it.kind == isIndex && !it.bare && (it.axis == axis || it.axis < 0) {
			return true
		}
	}
	return false
}

// tensFollow reports whether the index would cut a number in two that is said whole:
// "two hundred", "eight and a half".
func (s *scan) tensFollow(end int) bool {
	switch s.word(end).Class {
	case number.Hundred, number.Large, number.Half, number.Part:
		return !s.hasSlot(end + 1)
	case number.And:
		c := s.word(end + 1).Class
		return c == number.Article || c == number.Half || c == number.Part
	case number.None, number.Digit, number.Zero, number.Teen, number.Tens, number.Point, number.Article,
		number.Repeat, number.Minus, number.Sounds, number.Of, number.Numeric, number.Dozen, number.Vulgar, number.Nth:
	}
	return false
}

// familySaid reports whether the family of a short form was named before: in this
// note, or by the last reading.
func (s *scan) familySaid(form int) bool {
	family := s.v.names[s.v.forms[form].name].Family
	if family == "" {
		return true
	}
	for k := range s.items {
		it := &s.items[k]
		if it.kind == isName && s.nameOf(it).Family == family || it.kind == isIndex && it.axis >= 0 && s.ofFamily(it.axis, family) {
			return true
		}
	}
	if s.ctx == nil {
		return false
	}
	for _, last := range [][]Claim{s.ctx.Last, s.ctx.Asked} {
		for _, c := range last {
			if n, ok := s.v.name(c.Callout); ok && n.Family == family {
				return true
			}
		}
	}
	return false
}

// ofFamily reports whether an axis is that of the readings of one family, and of no others: "duty one,
// flow three".
func (s *scan) ofFamily(axis int, family string) bool {
	of := false
	for i := range s.v.names {
		if n := &s.v.names[i]; n.Kind == Reading && slices.Contains(n.Axes, s.v.axes[axis].ID) {
			if n.Family != family {
				return false
			}
			of = true
		}
	}
	return of
}

func (v *Vocabulary) name(callout string) (*Name, bool) {
	for i := range v.names {
		if v.names[i].Callout == callout {
			return &v.names[i], true
		}
	}
	return nil, false
}

func (s *scan) isPlainNumber(i int) bool {
	switch s.nums[i].Class {
	case number.Digit, number.Zero, number.Teen, number.Tens, number.Hundred, number.Large, number.Numeric, number.Point:
		return true
	case number.None, number.And, number.Article, number.Half, number.Part, number.Repeat, number.Minus, number.Sounds,
		number.Of, number.Dozen, number.Vulgar, number.Nth:
	}
	return false
}

// chosen takes the kind of a part: "full", "cut".
func (s *scan) chosen(i int) (item, bool) {
	m := s.m[i][lexicon.Choice]
	if m.End == 0 || m.End < s.m[i][lexicon.Cue].End || m.End < s.m[i][lexicon.Wrong].End {
		return item{}, false
	}
	if m.End < len(s.toks) && slices.Contains([]string{"my", "his", "her", "your", "their", "himself", "myself"}, s.toks[m.End].Text) {
		return item{}, false // "cut my thumb on the impeller"
	}
	if s.noKind(i, m.End) {
		return item{}, false
	}
	return item{kind: isChoice, id: int(m.IDs[0]), to: m.End}, true
}

// noKind reports whether the word at i is no kind of part: "full of muck", "has a cut in it".
func (s *scan) noKind(i, end int) bool {
	next := ""
	if end < len(s.toks) {
		next = s.toks[end].Text
	}
	if next == "of" || next == "up" {
		return true
	}
	if i < 2 || s.toks[i-1].Text != "a" {
		return false
	}
	has := s.toks[i-2].Text
	return next == "in" || next == "on" || next == "" && (has == "has" || has == "had" || has == "got")
}

// nameOf returns the callout of a name item.
func (s *scan) nameOf(it *item) *Name { return &s.v.names[s.v.forms[it.id].name] }

// readingsOn returns the callouts that take a reading and have all these axes.
func (v *Vocabulary) readingsOn(axes []string, fits func(*Name) bool, out []int) []int {
	for i := range v.names {
		n := &v.names[i]
		if n.Kind != Reading || n.Derived || !fits(n) {
			continue
		}
		all := true
		for _, a := range axes {
			all = all && slices.Contains(n.Axes, a)
		}
		if all {
			out = append(out, i)
		}
	}
	return out
}
