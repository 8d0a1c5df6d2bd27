package grammar

import (
	"fmt"
	"maps"
	"strings"

	"readback/capture/hear"
	"readback/parse/symptom"
	"readback/rules"
)

// Openers are the words behind which speech is free of any grammar: what follows is kept as sound. In
// the grammar each may stand before all else that can be said, so that a reading which is told in a
// remark ("note collar nut three was forty eight") is heard with the word that makes it one.
//
// "Note" is near to "no", "not" and "nut". What package listen makes of it rests on a second decode,
// and is asked where the two do not agree.
func Openers() []string { return []string{"note", "make a note", "for the record"} }

// How often a note begins with one of [Openers], and is a lead-in alone. Both are put higher than they
// are counted: a remark that is heard without its opener may pass for a reading.
const (
	opened = 0.1
	called = 0.1
)

// Free adds to what is listened for the words that open speech without a grammar, and the lead-in of
// an open microphone, "" for none. The error is a [MissingError] where its words have no
// pronunciation.
func Free(w hear.Words, lead string, d *Dictionary) (hear.Words, error) {
	form := fmt.Sprintf("(/%s/ <NULL> | /%s/ (%s)) <said>", raised(1-opened, strength), raised(opened, strength), strings.Join(Openers(), " | "))
	return behind(w, form, lead, d)
}

// Served is what a server listens for at a bench: [OfBench] with the register of the job's shop and what is expected
// next, behind [Free].
func Served(j *rules.Job, own *symptom.Own, people []string, lead string, d *Dictionary) (hear.Words, error) {
	w, err := OfBench(j, j.Shop(), own, people, d, j.Expected()...)
	if err != nil {
		return hear.Words{}, err
	}
	return Free(w, lead, d.With(Given(j.Spec())))
}

// Led adds to what is listened for the lead-in of an open microphone, "" for none, and no words that open
// a remark. The error is as that of [Free].
func Led(w hear.Words, lead string, d *Dictionary) (hear.Words, error) {
	if lead == "" {
		return w, nil
	}
	return behind(w, "<said>", lead, d)
}

// behind puts what is listened for into a form, where it is <said>, and that behind a lead-in.
func behind(w hear.Words, form, lead string, d *Dictionary) (hear.Words, error) {
	before, rest, ok := strings.Cut(w.Grammar, "public <"+public+"> = ")
	body, after, whole := strings.Cut(rest, ";\n")
	if !ok || !whole {
		return hear.Words{}, fmt.Errorf("%w: its grammar has no rule of the name %s", hear.ErrGrammar, public)
	}
	if lead != "" {
		if err := CheckLead(lead, d); err != nil {
			return hear.Words{}, err
		}
		form = "/" + raised(1-called, strength) + "/ [" + lead + "] " + form + " | /" + raised(called, strength) + "/ " + lead
	}
	out := hear.Words{Sounds: maps.Clone(w.Sounds), Lead: lead}
	out.Grammar = before + after + fmt.Sprintf("<said> = %s;\npublic <%s> = %s;\n", body, public, form)
	for _, word := range wordsOf(out.Grammar) {
		if out.Sounds[word] == "" {
			d.entries(word, out.Sounds)
		}
	}
	return out, nil
}

// mostLead is how many words a lead-in has at most.
const mostLead = 4

// CheckLead says whether a lead-in can be heard: a few words, small and without signs, that have a
// pronunciation. One short word is said in passing too often to be one.
func CheckLead(lead string, d *Dictionary) error {
	words := strings.Fields(lead)
	phones := 0
	for _, w := range words {
		sounds := d.Sounds(w)
		if sounds == nil {
			return &MissingError{[]Missing{{Word: w, Form: lead, Of: "the lead-in"}}}
		}
		phones += len(strings.Fields(sounds[0]))
	}
	switch {
	case len(words) == 0, len(words) > mostLead, strings.Join(words, " ") != lead:
		return fmt.Errorf("%w: the lead-in %q has to be one to %d words in small letters, such as bench seven", hear.ErrGrammar, lead, mostLead)
	case phones < leastLead:
		return fmt.Errorf("%w: the lead-in %q is so short that other words are taken for it; take two words, such as bench seven", hear.ErrGrammar, lead)
	}
	return nil
}

// leastLead is how many phones a lead-in has at least.
const leastLead = 6
