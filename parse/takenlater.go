package parse

import (
	"slices"
	"strings"
)

// addsTaken completes the last reading with what it was taken at, where the note says that
// and nothing else: "at thirty degrees" behind an insulation reading. It reports whether it
// did. What was said before gives way only to a correction.
func (s *scan) addsTaken(u *Utterance, fix amends, groups []group, numbers []int) bool {
	last := s.lastClaim()
	if last == nil || len(s.ctx.Last) != 1 || s.ctx.Gone || s.ctx.Else || s.askedOfCallout() || len(numbers) == 0 || s.hasAnyName(groups) {
		return false
	}
	n, ok := s.v.name(last.Callout)
	if !ok || len(n.Takes) == 0 || !s.onlyTaken(n) {
		return false
	}
	full := claimed{Claim: Claim{Target: last.Target, Value: last.Value, Unit: last.Unit, How: last.How, With: slices.Clone(last.With), Adds: true}, item: numbers[0]}
	for _, k := range numbers {
		before := len(full.With)
		codes := s.meanings(&s.items[k])
		if len(codes) == 0 && len(numbers) == 1 && len(s.ctx.Wants) == 1 {
			codes = s.wanted(n)
		}
		if !s.takenAt(&full, n, &s.items[k], codes) {
			return false
		}
		for _, d := range s.doubts(&bound{item: k, before: &group{}, after: &group{}}, 0, nil) {
			full.doubt(d)
		}
		said := full.With[before]
		i := slices.IndexFunc(full.With[:before], func(t Taken) bool { return t.Name == said.Name })
		switch {
		case i >= 0 && !fix.record:
			return false
		case i >= 0:
			full.With[i], full.With = said, full.With[:before]
		}
	}
	for _, d := range s.noteDoubts() {
		full.doubt(d)
	}
	u.Claims = []Claim{full.Claim}
	return true
}

// wanted returns the unit of what was asked for with the last reading: "thirty" behind "What is the
// temperature?".
func (s *scan) wanted(n *Name) []string {
	for _, t := range n.Takes {
		if t.Name == s.ctx.Wants[0] {
			return []string{t.Unit}
		}
	}
	return nil
}

// askedOfCallout reports whether something is asked of a callout: then the note may answer that.
func (s *scan) askedOfCallout() bool {
	return slices.ContainsFunc(s.ctx.Asked, func(c Claim) bool { return c.Callout != "" })
}

// takenWords are small words that may stand beside what a reading was taken at.
var takenWords = []string{"at", "for", "and", "test", "tested", "taken", "it", "it's", "was", "is", "that", "that's", "with", ",", ".", "correction", "the", "a", "an", "about", "around", "roughly", "i", "think"}

// onlyTaken reports whether the note holds nothing but numbers and words of what a reading of n is
// taken at: "test voltage five hundred volts". Anything else may make the number another's: the
// room's, "thirty degrees in here".
func (s *scan) onlyTaken(n *Name) bool {
	if s.hasCue(cueScratch, cueSame, cueNext, cueAll, cueEach, cueRest, cueQuestion, cueExcept, cueNot, cueNotYet) {
		return false
	}
	for k := range s.items {
		it := &s.items[k]
		switch it.kind {
		case isNumber, isUnit:
			continue
		case isName, isIndex, isChoice, isSlot, isThing, isWrong:
			return false
		case isWord, isFiller, isCue, isDrop:
		}
		for i := it.from; i < it.to; i++ {
			w := s.toks[i].Text
			if !slices.Contains(takenWords, w) && !slices.ContainsFunc(n.Takes, func(t Taking) bool { return slices.Contains(strings.Split(t.Name, "_"), w) }) {
				return false
			}
		}
		if it.kind == isWord {
			it.kind = isFiller
		}
	}
	return true
}
