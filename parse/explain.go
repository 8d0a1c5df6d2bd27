package parse

import (
	"fmt"
	"strings"
)

// Explain reads a note as [Text] does and says, step by step, which words became what
// and why.
func Explain(note string, v *Vocabulary, ctx Context) Utterance {
	if tooLong(note) {
		return longNote(note)
	}
	s := newScan(note, v, &ctx)
	defer s.release()
	s.read()
	s.relate()
	steps := make([]Step, 0, len(s.items))
	for k := range s.items {
		it := &s.items[k]
		sp := s.span(it)
		steps = append(steps, Step{Span: sp, Words: note[sp.Start:sp.End], Is: s.describe(it), Why: s.why(it)})
	}
	u := s.utterance()
	u.Steps = steps
	return u
}

// describe says what an item was taken for.
func (s *scan) describe(it *item) string {
	switch it.kind {
	case isWord:
		return "unknown word"
	case isFiller:
		return "small word"
	case isCue:
		return "word of discourse"
	case isName:
		return "name " + s.nameOf(it).Callout
	case isIndex:
		axis := "the name's axis"
		if it.axis >= 0 {
			axis = s.v.axes[it.axis].ID
		}
		return strings.TrimSpace("place " + axis + " " + strings.Join(it.places, ", "))
	case isNumber:
		if codes := s.meanings(it); len(codes) > 0 {
			return "number " + it.value.String() + " in " + strings.Join(codes, " or ")
		}
		return "number " + it.value.String()
	case isUnit:
		return "unit " + strings.Join(s.meanings(it), " or ")
	case isChoice:
		return "kind of part " + s.v.choices[it.id].is
	case isSlot:
		return strings.TrimSpace(s.v.slots[it.id].word + " " + strings.Join(it.places, ", "))
	case isThing:
		return "part " + s.v.things[it.id]
	case isWrong:
		return "condition " + s.v.wrongs[it.id]
	case isDrop:
		return "withdrawn"
	}
	return ""
}

// why gives the reason where an item is not what it seems at first sight.
func (s *scan) why(it *item) string {
	switch {
	case it.kind == isName && it.guess:
		return fmt.Sprintf("sounds or is spelt like %q", strings.Join(s.v.forms[it.id].words, " "))
	case it.kind == isNumber && it.num.Broken:
		return "not taken: " + it.num.Why
	case it.kind == isNumber && it.num.HasOther:
		return "or " + it.num.Other.String() + ": " + it.num.Why
	case it.kind == isNumber && it.open:
		return "the unit goes on in a word that no unit has"
	case it.kind == isNumber && it.tol:
		return "the tolerance of the number before"
	case it.kind == isNumber && it.ranged:
		return "one end of a range"
	case it.kind == isIndex && it.absent:
		return "the job has no such place"
	case it.kind == isIndex && it.either:
		return "which of them was not said"
	case it.kind == isIndex && it.bare:
		return "no index follows"
	case it.kind == isSlot && s.v.slots[it.id].axis < 0:
		return "an index, no reading"
	}
	return ""
}
