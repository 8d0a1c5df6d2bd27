package parse

import (
	"slices"
	"strings"

	"readback/parse/unit"
)

// deeds are verbs of work that was done, as it is told before a reading: "took a shim out, shaft
// height forty two". What such a verb is said with changes no value. Verbs that can take back
// what follows (slipped, guessed, forgot) are none.
var deeds = strings.Fields(`
	added backed bled brushed cleaned cleared clipped degreased dressed dried drained eased emptied fetched filed filled fitted
	fixed flipped flushed freed grabbed greased knocked lapped let looked mic'd micd miked lifted loosened lubed moved nipped oiled opened packed polished popped pulled pushed put
	refitted released remade removed renewed replaced reset reseated rotated scraped shimmed shook shut slackened slid spun stood stripped swapped tapped
	tightened took trimmed turned undid unhooked unplugged warmed washed went wiped wound zeroed
	adding backing cleaning dressing drying easing filing filling fitting greasing lapping moving nipping oiling pulling refitting remaking
	removing renewing replacing resetting reseating shimming slackening swapping tapping tightening trimming turning undoing washing wiping zeroing`)

// told lets the words pass that nothing knows where they tell of work done before a reading: those
// behind a deed, up to a name, a place or a number; "after" before a time; what was misread, where
// the right value is said. What is said there of doubt, denial or damage still counts.
func (s *scan) told() {
	if !s.has(isNumber) {
		return // of a confirmation they may say that it was undone again
	}
	for k := range s.items[:max(0, len(s.items)-1)] {
		if t := s.toks[s.items[k].from].Text; t == "after" && s.items[k].kind == isWord && s.items[k+1].kind == isNumber && s.isTime(&s.items[k+1]) {
			s.items[k].kind = isFiller // "320 MΩ at 500 V after 1 min"
		}
	}
	for k := range s.items {
		switch {
		case !s.has(isWord):
			return
		case s.opensDeed(k) && (s.numberAfter(k) >= 0 || k > 0 && s.toks[s.items[k-1].from].Text == "after") && !s.takenFrom(k):
			if k > 0 && s.items[k-1].kind == isWord {
				s.items[k-1].kind = isFiller // "after nipping it up"
			}
			s.pass(k)
		case s.items[k].kind == isCue && s.items[k].cue == cueCorrect && s.hasCue(cueShould) && strings.HasPrefix(s.toks[s.items[k].to-1].Text, "mis"):
			s.pass(k + 1) // "should be 46.8, I misread the scale"
		}
	}
}

// takenFrom reports whether the deed at item k is done to the value itself: "pulled the number from
// the tag".
func (s *scan) takenFrom(k int) bool {
	for ; k < len(s.items) && s.items[k].kind != isNumber && s.items[k].kind != isName; k++ {
		switch s.toks[s.items[k].from].Text {
		case "number", "numbers", "figure", "figures", "value", "values", "reading", "readings", "written":
			return true
		}
	}
	return false
}

// isTime reports whether a number is a time.
func (s *scan) isTime(it *item) bool {
	return len(fitting(s.meanings(it), unit.Time)) > 0
}

// opensDeed reports whether item k is a deed that somebody tells of: it stands at the start of
// the note or of a clause, or behind "I", "and", "after".
func (s *scan) opensDeed(k int) bool {
	if !slices.Contains(deeds, s.toks[s.items[k].from].Text) {
		return false
	}
	if k == 0 || s.stop(k-1) {
		return true
	}
	switch s.toks[s.items[k-1].from].Text {
	case "i", "i've", "we", "we've", "and", "then", "after", "before", "just", "so", "now", "okay", "ok", "right", "um", "uh", "er", "well", "have", "had", "since", "because":
		return true
	}
	return false
}

// pass makes small words of what nothing knows from item k on.
func (s *scan) pass(k int) {
	turns := k < len(s.items) && slices.Contains([]string{"turned", "rotated", "spun", "swung"}, s.toks[s.items[k].from].Text)
	for ; k < len(s.items); k++ {
		switch it := &s.items[k]; it.kind {
		case isWord:
			it.kind, it.since = isFiller, "told of the work"
		case isFiller, isCue, isUnit, isThing, isSlot, isChoice, isDrop:
			if s.stop(k) {
				return
			}
		case isIndex:
			if k+1 >= len(s.items) || !slices.Contains([]string{"off", "out", "up", "down", "round", "over"}, s.toks[s.items[k+1].from].Text) {
				return // "backed stage two off and went again" goes on
			}
		case isNumber:
			if !turns || !slices.Contains(s.meanings(it), "deg") && !slices.Contains(s.meanings(it), "circ") {
				return
			}
			it.kind, it.codes, it.since = isFiller, nil, "told of the work" // "turned it ninety degrees"
		case isName, isWrong:
			return
		}
	}
}
