package parse

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"readback/parse/lexicon"
	"readback/parse/number"
)

// Explain reads a note as [Text] does and says, step by step, which words became what, what
// else they might have been, and why they do not count where they do not.
func Explain(note string, v *Vocabulary, ctx Context) Utterance {
	if tooLong(note) {
		return longNote(note)
	}
	s := newScan(note, v, &ctx)
	defer s.release()
	s.read()
	s.relate()
	steps := make([]Step, 0, len(s.items))
	taken := slices.Clone(s.items)
	for k := range s.items {
		it := &s.items[k]
		sp := s.span(it)
		steps = append(steps, Step{Span: sp, Words: note[sp.Start:sp.End], Is: s.describe(it), Why: s.why(it)})
	}
	u := s.utterance()
	s.aimed(&u)
	for k := range steps {
		was := &taken[k]
		i := slices.IndexFunc(s.items, func(it item) bool { return it.from == was.from && it.to == was.to })
		if i < 0 {
			continue
		}
		if why := s.changed(was, &s.items[i]); why != "" {
			steps[k].Why = strings.TrimPrefix(steps[k].Why+"; "+why, "; ")
		}
	}
	u.Steps = steps
	return u
}

// changed says why an item no longer counts as what it was taken for at first.
func (s *scan) changed(was, is *item) string {
	switch {
	case is.since != "" && was.kind != isFiller:
		return "does not count: " + is.since
	case is.kind == isDrop && was.kind != isDrop:
		return "withdrawn in the note"
	case is.kind == isNumber && was.kind == isCue:
		return "stands for " + is.value.String()
	case is.kind == isIndex && was.kind == isNumber, is.kind == isIndex && was.bare && !is.bare:
		return "is the place " + strings.Join(is.places, ", ")
	case is.kind == isNumber && is.num.Broken && !was.num.Broken:
		return "not taken: " + is.num.Why
	}
	return ""
}

// meansOf says in a few words what a word of discourse is for.
var meansOf = map[cue]string{
	cueScratch: "takes back", cueCorrect: "corrects", cueNo: "no", cueNot: "denies", cueShould: "corrects a reading that is there", cueSame: "the last value again",
	cueNext: "the next place", cueAgain: "measured again", cueAbout: "not exact", cueIsh: "not exact", cueBound: "a bound", cueBetween: "opens a range",
	cueDoubt: "not sure", cueNotYet: "not done", cueHearsay: "not measured here and now", cueQuestion: "asks", cueRemark: "talk about something else",
	cueSet: "a wrench's setting", cueDone: "done", cueAll: "every place", cueLast: "the last", cueFirst: "the first", cueOr: "or", cueAnd: "and", cueTo: "to",
	cueOn: "says where", cuePlusMinus: "a tolerance", cueEach: "every place", cueRest: "the places that are left", cueOff: "loosened",
	cueLeft: "what is left", cueLastSaid: "what was said last", cueOpen: "what is open", cueNote: "a remark", cueRetight: "tightened again", cueIf: "a condition",
	cueExcept: "leaves out", cueFine: "changes nothing",
}

// also lists what else stands at the first word of an item and was not taken: a unit, a name, a word
// that sounds like a digit.
func (s *scan) also(it *item) string {
	var out []string
	add := func(kind itemKind, sort lexicon.Sort, what func(id int32) string) {
		if m := s.m[it.from][sort]; m.End > 0 && it.kind != kind {
			out = append(out, what(m.IDs[0])+" "+strconv.Quote(s.note[s.toks[it.from].Start:s.toks[m.End-1].End]))
		}
	}
	if it.kind != isNumber {
		add(isUnit, lexicon.Unit, func(id int32) string { return "the unit " + s.v.units[id].code })
	}
	add(isName, lexicon.Name, func(id int32) string { return "the name " + s.v.names[s.v.forms[id].name].Callout })
	add(isChoice, lexicon.Choice, func(id int32) string { return "the kind " + s.v.choices[id].is })
	add(isWrong, lexicon.Wrong, func(id int32) string { return "the condition " + s.v.wrongs[id] })
	if it.kind != isName {
		add(isThing, lexicon.Thing, func(id int32) string { return "the part " + s.v.things[id] })
	}
	if w := s.nums[it.from]; it.kind != isNumber && it.kind != isIndex && (w.Class == number.Sounds || w.Nth > 0) {
		out = append(out, "the number "+strconv.FormatInt(w.N, 10))
	}
	if v, ok := s.other(&it.num); it.kind == isNumber && ok {
		out = append(out, "the number "+v.String())
	}
	if len(out) == 0 {
		return ""
	}
	return "not taken for " + strings.Join(out, ", ")
}

// describe says what an item was taken for.
func (s *scan) describe(it *item) string {
	switch it.kind {
	case isWord:
		return "unknown word"
	case isFiller:
		return "small word"
	case isCue:
		return "word of discourse: " + meansOf[it.cue]
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

// why gives the reason where an item is not what it seems at first sight, and what it was not
// taken for.
func (s *scan) why(it *item) string {
	var reasons []string
	for _, r := range []string{s.reason(it), s.also(it)} {
		if r != "" {
			reasons = append(reasons, r)
		}
	}
	return strings.Join(reasons, "; ")
}

func (s *scan) reason(it *item) string {
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
	case it.kind == isSlot && len(it.places) == 0:
		return "said without its number"
	case it.kind == isSlot && s.v.slots[it.id].axis < 0:
		return "an index, no reading"
	}
	return ""
}
