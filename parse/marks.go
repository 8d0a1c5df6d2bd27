package parse

import (
	"slices"
	"strings"

	"readback/parse/lexicon"
)

// marks makes a mark of every confirmation, part and event that the note names.
func (s *scan) marks(u *Utterance) {
	if s.hasCue(cueRemark, cueNote, cueHearsay, cueIf, cueDoubt) && len(u.Claims) == 0 {
		if s.hasCue(cueDoubt) && s.foreignName() {
			u.Asks = append(u.Asks, Ask{Doubtful, s.note})
		}
		return
	}
	var places []int
	for k := range s.items {
		it := &s.items[k]
		if it.kind == isIndex && !it.bare {
			places = s.merge(places, []int{k})
		}
		if it.kind != isName || s.isReading(k) {
			continue
		}
		if n := s.nameOf(it); !n.Derived {
			s.mark(u, k, n, places)
		}
	}
	s.choiceAlone(u)
}

// mark adds the marks of the name at item k.
func (s *scan) mark(u *Utterance, k int, n *Name, places []int) {
	it := &s.items[k]
	if n.Kind == Event && s.remeasured(u) || s.has(isWrong) && n.Kind == Part {
		return
	}
	is, ok := "done", true
	if n.Kind == Part && len(n.Choices) > 0 {
		is, ok = s.choice(k, n)
	}
	if s.deniedAt(k) {
		is, ok = "undone", true
	}
	if !ok {
		if s.has(isWord) && !s.hasPlaceItem() {
			return // the part is only mentioned
		}
		u.Asks = append(u.Asks, Ask{Missing, s.note[s.span(it).Start:s.span(it).End]})
		return
	}
	spots, missing, doubt := s.spots(n, s.placesFor(k, n, places))
	switch {
	case doubt == "" && len(missing) > 0 && n.Kind == Event:
		spots = s.everywhere(spots, missing)
	case doubt == "" && len(missing) > 0:
		doubt = NoPlace
	}
	if doubt != "" {
		u.Asks = append(u.Asks, Ask{doubt, s.note[s.span(it).Start:s.span(it).End]})
		return
	}
	for _, p := range spots {
		m := Mark{Target: Target{n.Callout, order(n, p)}, Is: is, Span: s.span(it)}
		if !slices.ContainsFunc(u.Marks, func(o Mark) bool { return o.Target == m.Target && o.Is == m.Is }) {
			u.Marks = append(u.Marks, m)
		}
	}
}

// remeasured reports whether the note says that what was loosened was tightened again
// and read: then it is a reading and no event.
func (s *scan) remeasured(u *Utterance) bool {
	return len(u.Claims) > 0 && s.hasCue(cueRetight, cueAgain)
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
	if len(own) > 0 && !s.sentenceBetween(own[len(own)-1], k) {
		return own
	}
	for j := k + 1; j < len(s.items); j++ {
		if s.items[j].kind == isIndex && !s.items[j].bare && fits(j) {
			return []int{j}
		}
	}
	return own
}

// sentenceBetween reports whether another name stands between the place and the mark.
func (s *scan) sentenceBetween(p, k int) bool {
	for j := p + 1; j < k; j++ {
		if s.items[j].kind == isName && s.placeAfter(k) {
			return true
		}
	}
	return false
}

// choice returns which kind of the part was said, the one nearest to the name.
func (s *scan) choice(k int, n *Name) (is string, ok bool) {
	best := len(s.items)
	for j := range s.items {
		if s.items[j].kind != isChoice {
			continue
		}
		for _, id := range s.m[s.items[j].from][lexicon.Choice].IDs {
			c := s.v.choices[id]
			if d := max(j-k, k-j); s.v.names[c.name].Callout == n.Callout && d < best {
				best, is, ok = d, c.is, true
			}
		}
	}
	return is, ok
}

// deniedAt reports whether the note says that the mark at item k is not so.
func (s *scan) deniedAt(k int) bool {
	for j := range s.items {
		if it := &s.items[j]; it.kind == isCue && (it.cue == cueNot || it.cue == cueNotYet) && (j < k && k-j <= 4 || j > k && j-k <= 3) {
			return true
		}
	}
	return s.insideNot(k)
}

// insideNot reports whether "not" stands inside the name: "cover not on".
func (s *scan) insideNot(k int) bool {
	for i := s.items[k].from; i < s.items[k].to; i++ {
		if slices.Contains(strings.Split(denials, "|"), s.toks[i].Text) {
			return true
		}
	}
	return false
}

func (s *scan) hasPlaceItem() bool {
	for k := range s.items {
		if s.items[k].kind == isIndex && !s.items[k].bare {
			return true
		}
	}
	return false
}

// choiceAlone asks about a kind of part at a place without the part's name: "stage two
// full".
func (s *scan) choiceAlone(u *Utterance) {
	if len(u.Marks) > 0 || len(u.Claims) > 0 || len(u.Asks) > 0 || !s.has(isChoice) || !s.hasPlaceItem() || s.has(isWord, isWrong) {
		return
	}
	for k := range s.items {
		if s.items[k].kind != isChoice {
			continue
		}
		var places []int
		for j := range s.items {
			if s.items[j].kind == isIndex && !s.items[j].bare {
				places = append(places, j)
			}
		}
		s.mark(u, k, &s.v.names[s.v.choices[s.items[k].id].name], places)
		return
	}
}
