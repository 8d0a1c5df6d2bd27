package parse

import (
	"errors"
	"slices"
	"strconv"
	"strings"
	"sync"

	"readback/parse/lexicon"
	"readback/parse/number"
	"readback/parse/symptom"
	"readback/parse/unit"
)

// Trade is what holds on every job of a shop: units, discourse, symptoms, and the shop's own words for
// these. It is read-only, and safe for use by many goroutines. A nil Trade has no words of its own.
type Trade struct {
	base  *Vocabulary
	parts map[string]string // each way to name a part: its usual name
}

// NewTrade returns what a shop's own words make of it. A word that notes are read by must not mean
// something else to whoever reads them: a unit, a number, "scratch that". The error joins one
// *[symptom.FaultError] for each that does.
func NewTrade(own *symptom.Own) (*Trade, error) {
	plain := builtIn().Vocabulary(Words{})
	var faults []error
	for _, f := range own.Forms {
		if is := plain.means(f.Say); is != "" {
			faults = append(faults, f.Fault(strconv.Quote(f.Say)+" is read as "+is, "take it out, say it in other words, or give the entry only: search"))
		}
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	return newTrade(own), nil
}

// builtIn is the trade without a shop's own words. It is compiled once.
var builtIn = sync.OnceValue(func() *Trade { return newTrade(symptom.BuiltIn()) })

func newTrade(own *symptom.Own) *Trade {
	v, b := &Vocabulary{}, lexicon.NewBuilder()
	b.Small(fillerWords()...)
	b.Inner(strings.Split(inners, "|")...)
	b.Small(denialWords...)
	b.Inner(denialWords...)
	v.addUnits(b)
	v.addCues(b)
	v.addSymptoms(b, own)
	v.lex = b.Build()
	t := &Trade{v, map[string]string{}}
	for _, e := range symptom.Parts() {
		for _, form := range e.Say {
			t.parts[form] = e.ID
		}
	}
	for _, f := range own.Forms {
		if f.Sort == symptom.IsPart {
			t.parts[f.Say] = f.Means
		}
	}
	return t
}

// or returns t, or what is built in for nil.
func (t *Trade) or() *Trade {
	if t == nil {
		return builtIn()
	}
	return t
}

// Vocabulary is [NewVocabulary] with the words of the shop.
func (t *Trade) Vocabulary(w Words) *Vocabulary {
	v := *t.or().base
	v.names, v.axes, v.dims = w.Names, w.Axes, map[unit.Dimension]bool{}
	v.anchors, v.solid, v.sounds = map[string][]anchor{}, map[string]int{}, map[string][]int{}
	b := v.lex.Extend()
	v.addSlots(b)
	v.addNames(b)
	v.lex = b.Build()
	return &v
}

// Part returns the usual name of a part in one of the forms that mean it, or "".
func (t *Trade) Part(said string) string { return t.or().parts[said] }

// means says what a phrase is taken for where it stands alone and is no symptom and no part; "" for
// nothing.
func (v *Vocabulary) means(phrase string) string {
	s := newScan(phrase, v, &Context{})
	defer s.release()
	n := len(s.toks)
	sorts := []struct {
		sort lexicon.Sort
		is   string
	}{{lexicon.Unit, "a unit"}, {lexicon.Cue, "a word of discourse"}, {lexicon.Slot, "what takes a number"}}
	for _, x := range sorts {
		if s.m[0][x.sort].End == n {
			return x.is
		}
	}
	small, numbers := true, true
	for i := range s.toks {
		small = small && (s.words[i].Filler || slices.Contains(symptom.Degrees(), s.toks[i].Text))
		numbers = numbers && (s.words[i].Filler || s.nums[i].Class != number.None)
	}
	switch {
	case small || slices.Contains(symptom.Degrees(), phrase):
		return "a small word"
	case numbers:
		return "a number"
	case IsPhoto(phrase):
		return "the command to take a photo"
	case s.ofHanding(): // a symptom in them would make an ordinary note of them
		return "a word of handing over"
	}
	if u := Text(phrase, v, Context{}); u.Kind == Question || u.Kind == Correction || u.Kind == Confirm || u.Kind == Instrument || u.Over {
		return "a " + string(u.Kind)
	}
	return ""
}
