package parse

import "readback/parse/token"

// asides forgets the clauses of a note that are talk about something else: "stage four
// forty eight, can someone fetch me a rag". A clause ends at a comma, a semicolon or a full
// stop; nobody speaks those, so that what is heard is asked back instead. A clause is an
// aside if it names nothing of the job, has no unit of its own, puts nothing in doubt, and
// holds either a word of other talk or two words that nothing knows.
func (s *scan) asides() {
	from := 0
	cuts := 0
	for k := 0; k <= len(s.items); k++ {
		if k < len(s.items) && !s.stop(k) {
			continue
		}
		if k < len(s.items) {
			cuts++
		}
		if cuts > 0 && s.isAside(from, k) {
			for j := from; j < k; j++ {
				s.items[j].kind, s.items[j].codes = isFiller, nil
			}
		}
		from = k + 1
	}
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
	other, unknown := false, 0
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
			case cueAbout, cueIsh, cueBound, cueBetween, cueDoubt, cueNotYet, cueNot, cueHearsay, cueIf, cueScratch, cueShould,
				cueSame, cueNext, cueAgain, cueRetight, cuePlusMinus, cueOr:
				return false
			case cueNone, cueCorrect, cueNo, cueSet, cueDone, cueAll, cueLast, cueFirst, cueAnd, cueTo, cueOn, cueEach, cueRest, cueTurn,
				cueOff, cueLeft, cueLastSaid, cueOpen, cueNote, cueFine:
			}
		case isFiller, isUnit, isDrop:
		}
	}
	return other || unknown > 1
}
