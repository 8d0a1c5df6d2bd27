package parse

import (
	"slices"

	"readback/parse/lexicon"
)

// fitted is one kind of a part with the places that were said with it.
type fitted struct {
	is     string
	places []int // items
	near   int   // the item that the mark's span is taken from
}

// parts marks the kinds of a part that the note fits: "impellers one to four full, five
// cut", "full impeller on stage one". Whichever comes first, a place or a kind, comes
// first in each pair. A pair without its other half is asked about.
func (s *scan) parts(u *Utterance, n *Name) {
	pairs, whole := s.pairs(n)
	if len(pairs) > 1 && s.saidTwice(n) {
		pairs, whole = pairs[:1], true // "stage three is a full one, so the full impeller is on three"
	}
	if len(pairs) > 0 && (s.ordered() || s.hasCue(cueIf, cueDoubt, cueHearsay, cueNext, cueOr, cueExcept, cueQuestion, cueAbout, cueIsh, cueBound, cueLeft) || s.halved() || s.removed() || s.deniedKind() || s.leftOver()) {
		u.Asks = append(u.Asks, Ask{Doubt: Doubtful, Words: s.called(n), Mark: &Mark{Target: Target{Callout: n.Callout}}})
		return
	}
	for i, p := range pairs {
		if len(p.places) == 0 && i > 0 {
			p.places, whole = pairs[i-1].places, false
		}
		s.fit(u, n, p)
	}
	if !whole && len(pairs) > 1 {
		u.Marks = slices.DeleteFunc(u.Marks, func(m Mark) bool { return m.Callout == n.Callout })
		u.Asks = append(u.Asks, Ask{Doubt: TwoPlaces, Words: s.called(n), Mark: &Mark{Target: Target{Callout: n.Callout}}})
	}
}

// deniedKind reports whether the kind or its part is denied: "impeller one not full".
func (s *scan) deniedKind() bool {
	for j := range s.items {
		if it := &s.items[j]; it.kind == isCue && (it.cue == cueNot || it.cue == cueNotYet || it.cue == cueNo && !s.leads(j)) && !s.saidOfOther(j) && !s.ofReading(j) {
			return true
		}
	}
	return false
}

// ofReading reports whether the name of a reading stands right before item j: "collar nut not torqued".
func (s *scan) ofReading(j int) bool {
	for j--; j >= 0; j-- {
		switch s.items[j].kind {
		case isName:
			return s.isReading(j)
		case isChoice:
			return false
		case isWord, isFiller, isCue, isIndex, isNumber, isUnit, isSlot, isThing, isWrong, isDrop:
		}
	}
	return false
}

// laying are verbs of putting a part in its place.
var laying = []string{"popped", "popping", "dropping", "sliding", "slid", "goes", "going", "laid", "laying", "back"}

// leftOver reports whether words that nothing knows, or that tell of another time, stand beside a part:
// "stage five full impeller rejected", "impeller one was full size".
func (s *scan) leftOver() bool {
	for k := range s.items {
		it := &s.items[k]
		if it.kind == isWord && !s.toldOfPart(k) && !slices.Contains(deeds, s.toks[it.from].Text) && !slices.Contains(laying, s.toks[it.from].Text) {
			return true
		}
		if it.kind == isChoice && it.from > 0 && (s.toks[it.from-1].Text == "was" || s.toks[it.from-1].Text == "un" || s.toks[it.from-1].Text == "being") {
			return true
		}
	}
	if s.said("came", "in") || s.said("going", "in") {
		return true
	}
	return s.hasCue(cueShould)
}

// toldOfPart reports whether a word that nothing knows stands in a clause before that of the part.
func (s *scan) toldOfPart(k int) bool {
	for j := k + 1; j < len(s.items); j++ {
		if s.stop(j) || s.toks[s.items[j].from].Text == "and" {
			return true
		}
		if c := s.items[j].kind; c == isChoice || c == isName || c == isIndex {
			return false
		}
	}
	return false
}

// halved reports whether a kind of part is said by half: "half full".
func (s *scan) halved() bool {
	return slices.ContainsFunc(s.items, func(it item) bool { return it.kind == isChoice && it.from > 0 && s.toks[it.from-1].Text == "half" })
}

// removed reports whether the part was taken off: "removed full impeller stage two". Behind it in a
// clause before, it was another one: "pulled it, full impeller on stage two".
func (s *scan) removed() bool {
	for k := range s.items {
		if s.items[k].kind == isChoice && s.undone(k) {
			return true
		}
	}
	return false
}

// saidTwice reports whether the note names one kind of a part and one place, more than once.
func (s *scan) saidTwice(n *Name) bool {
	kind, place := "", ""
	for k := range s.items {
		switch it := &s.items[k]; {
		case it.kind == isChoice && s.kindOf(k, n) != "":
			if kind != "" && kind != s.kindOf(k, n) {
				return false
			}
			kind = s.kindOf(k, n)
		case it.kind == isIndex && !it.bare:
			if len(it.places) != 1 || place != "" && place != it.places[0] {
				return false
			}
			place = it.places[0]
		}
	}
	return place != ""
}

// pairs cuts the note into kinds and their places. whole is false where a kind has no
// place of its own or a place no kind.
func (s *scan) pairs(n *Name) (out []fitted, whole bool) {
	var open []int // places that wait for their kind
	leads := false // the kind comes before its places
	whole = true
	for k := range s.items {
		switch it := &s.items[k]; {
		case it.kind == isChoice && s.kindOf(k, n) != "":
			leads = leads || len(out) == 0 && len(open) == 0
			if len(out) > 0 && (leads && len(out[len(out)-1].places) == 0 || !leads && len(open) == 0) {
				whole = false
			}
			out = append(out, fitted{is: s.kindOf(k, n), near: k})
			if !leads {
				out[len(out)-1].places, open = open, nil
			}
		case it.kind == isIndex && !it.bare && s.onAxisOf(n, it.axis):
			if leads {
				last := &out[len(out)-1]
				last.places = append(last.places, k)
			} else {
				open = append(open, k)
			}
		}
	}
	if len(open) > 0 && len(out) == 1 && len(out[0].places) == 0 {
		out[0].places, open = open, nil
	}
	return out, whole && (len(open) == 0 || len(out) < 2)
}

// kindOf returns which kind of a part a choice item means, or "".
func (s *scan) kindOf(k int, n *Name) string {
	for _, id := range s.m[s.items[k].from][lexicon.Choice].IDs {
		if c := s.v.choices[id]; s.v.names[c.name].Callout == n.Callout {
			return c.is
		}
	}
	return ""
}

func (s *scan) onAxisOf(n *Name, axis int) bool {
	return axis < 0 || slices.Contains(n.Axes, s.v.axes[axis].ID)
}

// fit adds the marks of one kind at its places.
func (s *scan) fit(u *Utterance, n *Name, p fitted) {
	spots, missing, doubt := s.spots(n, p.places)
	if doubt == "" && len(missing) > 0 {
		doubt = NoPlace
	}
	if doubt != "" {
		u.Asks = append(u.Asks, Ask{Doubt: doubt, Words: s.called(n), Mark: &Mark{Target: Target{Callout: n.Callout}, Is: p.is}})
		return
	}
	for _, at := range spots {
		s.addMark(u, Mark{Target: Target{n.Callout, order(n, at)}, Is: p.is, Span: s.span(&s.items[p.near])})
	}
}

// called returns how the part was called in the note, or its first name.
func (s *scan) called(n *Name) string {
	for k := range s.items {
		if s.items[k].kind == isName && s.nameOf(&s.items[k]) == n {
			return s.note[s.span(&s.items[k]).Start:s.span(&s.items[k]).End]
		}
	}
	return n.Say[0]
}

// addMark adds a mark that is not there yet. Where the note says two things of one target
// neither is taken.
func (s *scan) addMark(u *Utterance, m Mark) {
	if i := slices.IndexFunc(u.Marks, func(o Mark) bool { return o.Target == m.Target && o.Is != m.Is }); i >= 0 {
		u.Marks = slices.Delete(u.Marks, i, i+1)
		u.Asks = append(u.Asks, Ask{Doubt: Doubtful, Words: s.note[m.Span.Start:m.Span.End], Mark: &Mark{Target: m.Target}})
		return
	}
	if !slices.ContainsFunc(u.Marks, func(o Mark) bool { return o.Target == m.Target && o.Is == m.Is }) {
		u.Marks = append(u.Marks, m)
	}
}
