package parse

import (
	"slices"
	"strconv"
	"strings"

	"readback/parse/lexicon"
	"readback/parse/symptom"
	"readback/parse/token"
)

// found reads symptoms and instruments.
func (s *scan) found(u *Utterance) {
	s.instrument(u)
	for k := range s.items {
		if s.items[k].kind != isWrong {
			continue
		}
		c := Condition{Condition: s.v.wrongs[s.items[k].id], Span: s.span(&s.items[k])}
		c.Part = s.partNear(k)
		c.Degree, c.Where = s.degree(k), s.where(k)
		c.Absent = s.absent(k)
		u.Symptoms = append(u.Symptoms, c)
	}
}

// toldAnew takes back what the last note told of where this one puts it right: "correction, cracked", "no,
// badly cracked". What names no part is said of the same.
func (s *scan) toldAnew(u *Utterance) {
	if !s.toldAlone() || len(u.Symptoms) == 0 || len(u.Untold) > 0 || len(s.items) < 2 || s.items[0].kind != isCue ||
		s.items[0].cue != cueCorrect && (s.items[0].cue != cueNo || !s.comma(s.items[0].to)) {
		return
	}
	u.Untold = s.ctx.Told.Found
	if len(u.Untold) == 1 {
		for i := range u.Symptoms {
			if u.Symptoms[i].Part == "" {
				u.Symptoms[i].Part = u.Untold[0].Part
			}
		}
	}
}

// comma reports whether token i is one.
func (s *scan) comma(i int) bool { return i < len(s.toks) && s.toks[i].Text == "," }

// partNear returns the part that a condition is said of: the nearest before it, else
// the nearest after it.
func (s *scan) partNear(k int) string {
	for j := k - 1; j >= 0; j-- {
		if s.items[j].kind == isName || s.items[j].kind == isThing {
			return s.partAt(j)
		}
	}
	for j := k - 1; j >= 0; j-- {
		if p := s.partAt(j); p != "" {
			return p
		}
	}
	for j := k + 1; j < len(s.items); j++ {
		if p := s.partAt(j); p != "" {
			return p
		}
	}
	return ""
}

func (s *scan) partAt(j int) string {
	it := &s.items[j]
	switch it.kind {
	case isThing:
		return s.v.things[it.id]
	case isName:
		return strings.Join(s.v.forms[it.id].words, " ")
	case isIndex:
		if it.axis >= 0 {
			word := s.v.axes[it.axis].ID
			if len(it.places) == 1 {
				return word + " " + it.places[0]
			}
			return word
		}
	case isSlot:
		word := s.v.slots[it.id].word
		if len(it.places) == 1 {
			word += " " + it.places[0]
		}
		return word
	case isWord, isFiller, isCue, isNumber, isUnit, isChoice, isWrong, isDrop:
	}
	return ""
}

// degree returns a word of degree next to the condition: "badly".
func (s *scan) degree(k int) string {
	for _, i := range []int{s.items[k].from - 1, s.items[k].to} {
		if i >= 0 && i < len(s.toks) && slices.Contains(symptom.Degrees(), s.toks[i].Text) {
			return s.toks[i].Text
		}
	}
	return ""
}

// where returns the words after "on the", "under the", "near the" behind the
// condition.
func (s *scan) where(k int) string {
	i := s.items[k].to
	if i+1 >= len(s.toks) {
		return ""
	}
	switch s.toks[i].Text {
	case "on", "under", "at", "near", "in", "along", "around", "inside", "behind":
	default:
		return ""
	}
	end := min(i+5, len(s.toks))
	for j := i + 1; j < end; j++ {
		if t := s.toks[j].Text; t == "and" || t == "," || t == "but" {
			end = j
		}
	}
	return s.note[s.toks[i].Start:s.toks[end-1].End]
}

// absent reports whether the condition is denied: "no wear", "not worn".
func (s *scan) absent(k int) bool {
	for j := k - 1; j >= 0 && j >= k-2; j-- {
		if s.items[j].kind == isCue && s.items[j].cue == cueNo && s.comma(s.items[j].to) {
			return false // "no, cracked" says what it is instead
		}
		if s.items[j].kind == isCue && (s.items[j].cue == cueNo || s.items[j].cue == cueNot || s.items[j].cue == cueNotYet) {
			return true
		}
		if t := s.toks[s.items[j].from].Text; t == "without" || t == "free" {
			return true
		}
	}
	return false
}

// instrument reads what was measured with: "on wrench seven", "using torque wrench 4".
// A tool without its number is only talk.
func (s *scan) instrument(u *Utterance) {
	for k := range s.items {
		it := &s.items[k]
		if it.kind != isSlot || !s.v.slots[it.id].tool || len(it.places) == 0 {
			continue
		}
		word := strings.TrimSuffix(s.v.slots[it.id].word, " number")
		if n, err := strconv.Atoi(it.places[0]); err == nil && n > 0 {
			u.Instrument = word + " " + it.places[0]
		}
	}
}

// InstrumentName returns how an instrument is named in an [Utterance] that says it in
// these words: "wrench seven" is "wrench 7". ok is false where the words name none.
func InstrumentName(said string) (name string, ok bool) {
	u := Text("on "+said, trade(), Context{})
	return u.Instrument, u.Instrument != ""
}

// nearWrong returns the condition that a word which nothing knows nearly spells, right behind a
// part: "sleeve is scord"; -1 for none.
func (s *scan) nearWrong(i int) int {
	text := s.toks[i].Text
	if len(text) < 5 || s.toks[i].Kind != token.Word || !s.behindThing() {
		return -1
	}
	for _, w := range s.v.conditions {
		if text[0] == w.say[0] && lexicon.Slip(text, w.say, 1) <= 1 {
			return w.id
		}
	}
	return -1
}

// behindThing reports whether a part stands before, with only small words between.
func (s *scan) behindThing() bool {
	for k := range slices.Backward(s.items) {
		switch s.items[k].kind {
		case isThing:
			return true
		case isFiller:
		case isWord, isCue, isName, isIndex, isNumber, isUnit, isChoice, isSlot, isWrong, isDrop:
			return false
		}
	}
	return false
}
