package parse

import (
	"slices"
	"strconv"
	"strings"
)

// answer completes what was asked back, where the note is a reply to it: a unit ("foot
// pounds"), a value, or a name or place. It reports whether it was.
func (s *scan) answer(u *Utterance, groups []group, numbers []int) bool {
	asked := s.pending()
	if asked == nil || s.has(isWrong, isChoice) || s.foreignName() || s.hasCue(cueRemark, cueNote, cueScratch, cueSame, cueNext, cueAll, cueEach, cueRest) {
		return false
	}
	if s.affirms(asked) {
		c := *asked
		c.Doubts, c.Words, c.Span = nil, "", Span{}
		u.Claims, u.Answers = []Claim{c}, true
		return true
	}
	c := *asked
	c.Doubts, c.Span, c.Other, c.Words = s.noteDoubts(), Span{}, nil, ""
	switch {
	case len(numbers) == 0:
		if !s.completes(&c, asked, groups) {
			return false
		}
	case len(numbers) == 1 && !s.hasAnyName(groups):
		it := &s.items[numbers[0]]
		if c.Callout == "" || s.has(isWord) || !s.hasValueHome(asked) || it.ranged || it.tol {
			return false
		}
		s.replace(&c, asked, it, numbers[0])
	default:
		return false
	}
	u.Claims, u.Answers = []Claim{c}, true
	return true
}

// affirms reports whether the note is a yes, and all that was asked is whether words that
// were not understood change a reading, or whether what a gauge sent twice was measured twice.
func (s *scan) affirms(asked *Claim) bool {
	if !s.ctx.Fresh || len(s.toks) > 5 || slices.ContainsFunc(asked.Doubts, func(d Doubt) bool { return d != Unknown && d != Twice }) || len(asked.Doubts) == 0 {
		return false
	}
	return s.saysOnly([]string{"yes", "yeah", "yep", "yup", "aye", "affirmative", "correct", "confirmed"},
		[]string{"that's", "that", "is", "it", "it's", "right", "exactly", ",", ".", "please"})
}

// saysOnly reports whether the note holds one of the words at least, and nothing but those
// and others.
func (s *scan) saysOnly(words, others []string) bool {
	said := false
	for i := range s.toks {
		switch t := s.toks[i].Text; {
		case slices.Contains(words, t):
			said = true
		case !slices.Contains(others, t):
			return false
		}
	}
	return said
}

// pending returns the one claim that was asked back and that a reply can complete.
func (s *scan) pending() *Claim {
	if len(s.ctx.Asked) != 1 || s.ctx.Else {
		return nil // since then another place or callout was spoken of
	}
	c := &s.ctx.Asked[0]
	if slices.Contains(c.Doubts, Negated) || slices.Contains(c.Doubts, Hearsay) {
		return nil
	}
	return c
}

func (s *scan) hasAnyName(groups []group) bool {
	for i := range groups {
		if len(groups[i].names) > 0 || s.hasPlace(&groups[i]) {
			return true
		}
	}
	return false
}

// hasValueHome reports whether all but the value of the asked claim is known.
func (s *scan) hasValueHome(asked *Claim) bool {
	for _, d := range asked.Doubts {
		switch d {
		case NoHome, TwoHomes, TwoPlaces, NoPlace, NoSuchPlace:
			return false
		case TwoNumbers, Approximate, Doubtful, Negated, Hearsay, Range, Missing, OddUnit, Unknown, TooLong, Twice, NoNumber:
		}
	}
	return true
}

// replace puts the number of a reply into the claim.
func (s *scan) replace(c, asked *Claim, it *item, k int) {
	c.Value, c.NoValue, c.Span = it.value, false, s.span(it)
	if v, ok := s.other(&it.num); ok {
		c.Other = &v
	}
	if s.mayAnswerPlace(it, asked) {
		c.Doubts = append(c.Doubts, TwoNumbers)
	}
	c.Doubts = append(c.Doubts, s.doubts(&bound{item: k, before: &group{}, after: &group{}}, 0, nil)...)
	c.Doubts = slices.Compact(c.Doubts)
	codes := s.meanings(it)
	c.Slang = nil
	n, ok := s.v.name(c.Callout)
	if !ok {
		return
	}
	if len(codes) > 0 {
		c.Unit = ""
		s.setUnit(c, n, codes)
	} else if asked.NoValue || !slices.Contains(asked.Doubts, Missing) {
		c.Unit = asked.Unit
	}
}

// mayAnswerPlace reports whether a small bare number in a reply may say which place is meant: "number
// four", "three".
func (s *scan) mayAnswerPlace(it *item, asked *Claim) bool {
	n, ok := s.v.name(asked.Callout)
	k, whole := it.isBareWhole()
	if !ok || !whole || len(n.Axes) == 0 {
		return false
	}
	v, plain := asked.Value.Whole()
	return s.hasValue(n.Axes[0], strconv.FormatInt(k, 10)) && (asked.NoValue || !plain || v > 2*k)
}

// completes fills in the unit, name or place that a reply without a number gives.
func (s *scan) completes(c, asked *Claim, groups []group) bool {
	g := &groups[0]
	if asked.NoValue || s.has(isWord) || s.hasCue(cueOr, cueHearsay, cueDoubt) || s.hasCue(cueDone, cueNotYet) && !s.has(isUnit) {
		return false
	}
	for k := range s.items {
		if s.items[k].kind != isUnit || s.hasAnyName(groups) {
			continue
		}
		n, ok := s.v.name(c.Callout)
		if !ok || !s.hasValueHome(asked) {
			return false
		}
		c.Unit, c.Slang = "", nil
		s.setUnit(c, n, s.meanings(&s.items[k]))
		return true
	}
	if s.hasValueHome(asked) {
		return false
	}
	return s.placed(c, asked, g)
}

// placed completes a claim that lacked its callout or place.
func (s *scan) placed(c, asked *Claim, g *group) bool {
	n, _ := s.readingName(g)
	if n == nil && c.Callout != "" && !slices.Contains(asked.Doubts, TwoHomes) {
		n, _ = s.v.name(c.Callout)
	}
	if n == nil {
		var codes []string
		if c.Unit != "" {
			codes = []string{c.Unit}
		}
		n, _ = s.home(&bound{places: g.places}, codes)
	}
	if n == nil {
		return false
	}
	if c.Unit != "" && dimension(c.Unit) != dimension(n.Unit) {
		return false
	}
	items := s.real(g.places)
	places, missing, doubt := s.spots(n, items)
	if len(places) != 1 || len(items) == 0 && len(n.Axes) > 0 {
		return false
	}
	at := places[0]
	missing = slices.DeleteFunc(missing, func(axis string) bool { // what was said with the value stands
		said := asked.At.On(axis) != "" && asked.Callout == n.Callout && !slices.Contains(asked.Carried, axis)
		if said {
			at = at.With(axis, asked.At.On(axis))
		}
		return said
	})
	p, carried, full := s.carry(n, at, missing, false)
	c.Callout, c.At, c.Carried, c.Others, c.Places = n.Callout, order(n, p), carried, nil, nil
	switch {
	case doubt != "":
		c.Doubts = append(c.Doubts, doubt)
	case !full:
		c.Doubts = append(c.Doubts, NoPlace)
	}
	if c.Slang != nil {
		slang := c.Slang
		c.Slang, c.Unit = nil, ""
		s.setUnit(c, n, slang)
	}
	return true
}

// leaves reports whether the note leaves what was asked for later.
func (s *scan) leaves() bool {
	if len(s.ctx.Asked) == 0 {
		return false
	}
	said := strings.ToLower(strings.Trim(s.note, " .,!"))
	return slices.Contains([]string{"skip that one", "skip that", "skip it", "leave it", "leave that", "leave that one", "come back to that", "come back to it", "later", "do it later", "never mind that one", "forget that one"}, said)
}

// takesBackLast reports whether the note is a mere no to what was recorded just before.
func (s *scan) takesBackLast() bool {
	if len(s.ctx.Undo) == 0 || len(s.ctx.Asked) > 0 || s.ctx.Else && len(s.ctx.Marks) == 0 || len(s.toks) > 6 {
		return false
	}
	return s.saysOnly([]string{"no", "nope", "nah", "wrong", "isn't", "hasn't", "wasn't", "weren't", "aren't"}, []string{",", ".", "that's", "it's", "that", "it", "is", "not", "yet", "sorry", "correction", "actually", "wrong", "they", "one"}) || s.undoesLast()
}

// untellsLast reports whether the note says no more than that what the last one told of is not so.
func (s *scan) untellsLast() bool {
	return s.toldAlone() && len(s.toks) <= 6 &&
		s.saysOnly([]string{"no", "nope", "nah", "wrong", "isn't", "wasn't"}, []string{",", ".", "that's", "it's", "that", "it", "is", "not", "sorry", "actually", "wrong"})
}

// undoesLast reports whether the note says in other words that what was recorded just before is no
// longer so, or never was.
func (s *scan) undoesLast() bool {
	said := strings.ToLower(strings.Trim(s.note, " .,!"))
	if len(s.ctx.Marks) > 0 && slices.Contains([]string{"off again", "taken off again", "took it off again", "took it out again", "out again", "it's off again", "power back on", "back on again"}, said) {
		return true
	}
	return len(s.ctx.Marks) == 0 && slices.Contains([]string{"it slipped", "wrench slipped", "the wrench slipped", "that slipped", "wrong one", "wrong nut", "wrong rod"}, said)
}

// declines reports whether the note is a no to what was asked.
func (s *scan) declines() bool {
	return (len(s.ctx.Asked) > 0 || s.ctx.Open != nil) && len(s.toks) <= 3 &&
		s.saysOnly([]string{"no", "nope", "nah", "negative"}, []string{",", ".", "that's", "it's", "not", "wrong", "it", "isn't"})
}
