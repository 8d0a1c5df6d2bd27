package parse

import (
	"slices"

	"readback/parse/token"
)

// asides forgets the clauses of a note that are talk about something else: "stage four
// forty eight, can someone fetch me a rag". A clause ends at a comma, a semicolon or a full
// stop; nobody speaks those, so that what is heard is asked back instead. A clause is an
// aside if it names nothing of the job, has no unit of its own, puts nothing in doubt, and
// holds either a word of other talk or two words that nothing knows.
func (s *scan) asides() {
	from, cuts := 0, 0
	for k := 0; k <= len(s.items); k++ {
		if k < len(s.items) && !s.stop(k) && !s.turnsToTalk(k) {
			continue
		}
		if k < len(s.items) {
			cuts++
		}
		if cuts > 0 && (s.isAside(from, k) || s.talked && s.isScore(from, k)) {
			for j := from; j < k; j++ {
				s.items[j].kind, s.items[j].codes, s.items[j].since = isFiller, nil, "talk about something else"
			}
			s.talked = true
		}
		from = k + 1
	}
}

// turnsToTalk reports whether item k is an "and" behind which other talk begins: "and can someone
// get the door".
func (s *scan) turnsToTalk(k int) bool {
	if s.toks[s.items[k].from].Text != "and" || k+1 >= len(s.items) || s.items[k+1].kind != isCue {
		return false
	}
	return s.items[k+1].cue == cueRemark || s.items[k+1].cue == cueQuestion
}

// isScore reports whether a clause behind other talk holds bare numbers and nothing else, where a
// number with its unit was said before: "..., did you see the match, three nil".
func (s *scan) isScore(from, to int) bool {
	numbers := 0
	for k := from; k < to; k++ {
		switch it := &s.items[k]; {
		case it.kind == isNumber && len(it.codes) == 0:
			numbers++
		case it.kind != isFiller:
			return false
		}
	}
	said := slices.ContainsFunc(s.items[:from], func(it item) bool { return it.kind == isNumber && len(it.codes) > 0 })
	return numbers > 0 && said
}

// stop reports whether item k is a mark of punctuation between clauses.
func (s *scan) stop(k int) bool {
	it := &s.items[k]
	t := &s.toks[it.from]
	if it.to != it.from+1 || t.Kind != token.Sign {
		return false
	}
	switch t.Text {
	case ",", ";", ".", "!", ":", "–", "—", "(", ")":
		return true
	}
	return false
}

func (s *scan) isAside(from, to int) bool {
	other, doubted, unknown := false, false, 0
	for k := from; k < to; k++ {
		switch it := &s.items[k]; it.kind {
		case isName, isIndex, isChoice, isWrong, isThing, isSlot:
			return false
		case isNumber:
			if len(it.codes) > 0 {
				return false
			}
		case isWord:
			unknown++
		case isCue:
			switch it.cue {
			case cueRemark, cueQuestion:
				other = true
			case cueAbout, cueIsh, cueBound, cueBetween:
				doubted = true // "order some more rags"; but never "forty eight, near enough"
			case cueDoubt, cueNotYet, cueNot, cueHearsay, cueIf, cueScratch, cueShould,
				cueSame, cueNext, cueAgain, cueRetight, cuePlusMinus, cueOr, cueExcept:
				return false
			case cueNone, cueCorrect, cueNo, cueSet, cueDone, cueAll, cueLast, cueFirst, cueAnd, cueTo, cueOn, cueEach, cueRest,
				cueOff, cueLeft, cueLastSaid, cueOpen, cueNote, cueFine:
			}
		case isFiller, isUnit, isDrop:
		}
	}
	return other || unknown > 1 && !doubted && s.numberAfter(to-1) >= 0 // behind a reading they may say how good it is
}

// clock takes a time of day: "14:32".
func (s *scan) clock(i int) (item, bool) {
	if i+2 >= len(s.toks) || s.toks[i].Kind != token.Numeral || s.toks[i+1].Text != ":" || !s.toks[i+1].Glued ||
		s.toks[i+2].Kind != token.Numeral || !s.toks[i+2].Glued || len(s.toks[i].Text) > 2 || len(s.toks[i+2].Text) != 2 {
		return item{}, false
	}
	return item{kind: isFiller, to: i + 3}, true
}

// tooling are words for what the work is done with.
var tooling = []string{
	"socket", "spanner", "drive", "extension", "bar", "breaker", "adapter", "crowfoot", "driver", "tool", "megger", "key", "hex", "ratchet",
}

// tooled forgets what a note says of the tool: "with the half inch drive", "w/ 36mm
// socket". Instruments, which the register knows, are none.
func (s *scan) tooled() {
	for k := range s.items {
		if t := s.toks[s.items[k].from].Text; t != "with" && t != "w" && t != "using" {
			continue
		}
		for j := k + 1; j < len(s.items) && j <= k+5; j++ {
			it := &s.items[j]
			if it.kind == isName || it.kind == isIndex || s.stop(j) && s.toks[it.from].Text != "/" {
				break
			}
			if slices.Contains(tooling, s.toks[it.to-1].Text) {
				for m := k; m <= j; m++ {
					s.items[m].kind, s.items[m].codes, s.items[m].since = isFiller, nil, "said of the tool"
				}
				break
			}
		}
	}
}

// gotInstead forgets what a value should be where the one that was measured is said as well:
// "target 20, got 19.6", "was 45.0, now 47.6".
func (s *scan) gotInstead() {
	for k := range s.items {
		it := &s.items[k]
		called := it.kind == isCue && it.cue == cueHearsay
		if !called && s.toks[it.from].Text != "was" {
			continue
		}
		n := s.numberAfter(k)
		if n < 0 || !s.adjacent(k, n) {
			continue
		}
		for m := s.numberAfter(n); m >= 0; m = s.numberAfter(m) {
			if !s.saysGot(n, m, called) {
				continue
			}
			for j := n; j < m; j++ {
				if c := s.items[j].kind; c == isNumber || c == isCue && s.items[j].cue == cuePlusMinus {
					s.items[j].kind, s.items[j].codes, s.items[j].since = isFiller, nil, "called for, and another value measured"
				}
			}
			it.kind = isFiller
			break
		}
	}
}

// saysGot reports whether the words between items n and m say that what follows was
// measured.
func (s *scan) saysGot(n, m int, called bool) bool {
	for i := s.items[n].to; i < s.items[m].from; i++ {
		switch s.toks[i].Text {
		case "now":
			return true
		case "got", "mine", "measured", "reads", "getting", "gets", "actual", "comes", "came", "runout", "reading":
			if called {
				return true
			}
		}
	}
	return false
}
