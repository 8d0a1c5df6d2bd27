// Package grammar makes what the recogniser listens for from the words of a job: a grammar in JSGF
// and how its words sound. A grammar holds what may be said at the bench: readings typed by what
// they measure, marks, corrections, answers, questions, symptoms and commands. What it does not
// hold cannot be heard: words of the technician's own, as a complaint has them.
//
// Nothing in it favours a value, or one that is in its limits; places that a job does not have can
// be said as well, or they would be heard as ones that it has. The same words always give the same
// bytes. Start reading at [Make]; rule.go has what a grammar is made of.
package grammar

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"readback/capture/hear"
	"readback/parse"
	"readback/parse/symptom"
	"readback/rules"
)

// Options is what a job gives beside its words. The zero Options add nothing.
type Options struct {
	Also   map[string][]string // codes of other units in use, by callout
	Tools  []string            // instruments as they are spoken: "wrench 7"
	Kit    []string            // what the job needs, as it is spoken: "collar washers"
	People []string            // to whom the bench may be handed, of [Names]
	Decide bool                // something is out, and takes a disposition
	Next   []string            // callouts of what is expected next: their names are a little likelier
	Own    *symptom.Own        // a shop's own words for symptoms and parts; nil for none
	Radio  bool                // digits are said as on the radio, too: niner, fife
}

// Of returns what to listen for in a job. What comes next is what was expected when the grammar was
// made. The error is a [MissingError] where words have no pronunciation.
func Of(j *rules.Job, shop *rules.Shop, d *Dictionary, next ...string) (hear.Words, error) {
	return OfBench(j, shop, nil, nil, d, next...)
}

// OfBench is [Of] with a shop's own words, nil for none, and the persons to whom the bench may be handed. Of
// those the names are heard that can be.
func OfBench(j *rules.Job, shop *rules.Shop, own *symptom.Own, people []string, d *Dictionary, next ...string) (hear.Words, error) {
	s := j.Spec()
	if own != nil {
		d = d.With(own.Sounds)
	}
	d = d.With(Given(s))
	people, _ = Names(people, d)
	o := Options{Also: map[string][]string{}, Own: own, Next: next, People: people, Decide: j.HeldUp()}
	for i := range s.Callouts {
		o.Also[s.Callouts[i].ID] = s.Callouts[i].AlsoIn
	}
	if shop != nil {
		for _, x := range shop.Instruments {
			o.Tools = append(o.Tools, x.Say...)
		}
	}
	for _, x := range s.Kit {
		o.Kit = append(o.Kit, x.Say)
	}
	w, err := Make(j.Words(), o, d)
	if err != nil {
		return hear.Words{}, err
	}
	for _, form := range dispositions() { // the recogniser makes itself anew for other sounds, and only the net for another grammar
		for _, word := range spell(form) {
			d.entries(word, w.Sounds)
		}
	}
	return w, nil
}

// Given returns the pronunciations that a spec gives, for [Dictionary.With].
func Given(s *rules.Spec) map[string][]string {
	out := map[string][]string{}
	for _, p := range s.Pronounce {
		out[p.Word] = p.Sounds
	}
	return out
}

// Make returns what to listen for where these words may be said. The error is a [MissingError]
// where words have no pronunciation.
func Make(w parse.Words, o Options, d *Dictionary) (hear.Words, error) {
	m := &maker{rules: ruleset{body: map[string]node{}}, words: w, options: o, dict: d, missing: map[Missing]bool{}}
	m.note()
	if len(m.missing) > 0 {
		return hear.Words{}, &MissingError{m.missingSorted()}
	}
	out := hear.Words{Grammar: m.rules.write(public), Sounds: map[string]string{}}
	for _, word := range wordsOf(out.Grammar) {
		if d.Sounds(word) == nil {
			m.missing[Missing{Word: word, Form: word}] = true
		}
		d.entries(word, out.Sounds)
	}
	if len(m.missing) > 0 {
		return hear.Words{}, &MissingError{m.missingSorted()}
	}
	return out, nil
}

// public is the rule that is listened for.
const public = "note"

// maker makes the grammar of one job.
type maker struct {
	rules   ruleset
	words   parse.Words
	options Options
	dict    *Dictionary
	missing map[Missing]bool
}

// Missing is a word that has no pronunciation.
type Missing struct {
	Word    string
	Form    string // the spoken form that uses it
	Of      string // whose form it is: the id of a callout or an axis; "" for what is said in any job
	Callout bool   // Of is a callout
}

// MissingError names all words that cannot be heard since nobody has said how they sound. It wraps
// [hear.ErrGrammar].
type MissingError struct{ Words []Missing }

// Error lists the words with the forms that use them.
func (e *MissingError) Error() string {
	parts := make([]string, len(e.Words))
	for i, m := range e.Words {
		parts[i] = fmt.Sprintf("%q in %q", m.Word, m.Form)
		if m.Of != "" {
			parts[i] += " of " + m.Of
		}
	}
	return hear.ErrGrammar.Error() + ": no pronunciation for " + strings.Join(parts, ", ") + "; add it to the spec, as pronounce: {runout: \"R AH N AW T\"}"
}

// Unwrap makes it a [hear.ErrGrammar].
func (*MissingError) Unwrap() error { return hear.ErrGrammar }

func (m *maker) missingSorted() []Missing {
	return slices.SortedFunc(maps.Keys(m.missing), func(a, b Missing) int {
		return strings.Compare(a.Word+"\x00"+a.Of+"\x00"+a.Form, b.Word+"\x00"+b.Of+"\x00"+b.Form)
	})
}

// forms returns the words of spoken forms of one thing. Those that sound the same as one before, or
// but for a single phone within, are left out: the recogniser cannot tell them apart and need not,
// as with a name that stands in a spec a second time as it is misheard. So are written abbreviations where the thing has other forms. What cannot be
// heard is noted.
func (m *maker) forms(of Missing, say ...string) (out [][]string) {
	var mute []Missing
	seen := map[string]bool{}
	for _, s := range say {
		words := spell(s)
		known := true
		short := false
		for _, w := range words {
			if m.dict.Sounds(w) == nil {
				known, short = false, short || abbreviated(w)
			}
		}
		if !known {
			for _, w := range words {
				if m.dict.Sounds(w) == nil {
					x := of
					x.Word, x.Form = w, s
					if !short {
						m.missing[x] = true
					}
					mute = append(mute, x)
				}
			}
			continue
		}
		sound := m.dict.sound(words)
		if len(words) > 0 && !slices.ContainsFunc(out, func(o []string) bool { return of.Callout && len(o) == len(words) && alike(m.dict.sound(o), sound) }) && !seen[sound] {
			seen[sound] = true
			out = append(out, words)
		}
	}
	if len(out) == 0 {
		for _, x := range mute {
			m.missing[x] = true
		}
	}
	return out
}

// alike reports whether two forms sound the same but for one phone at most. One that only ends
// otherwise does not: "nut" and "nuts" are both said.
func alike(a, b string) bool {
	x, y := strings.Fields(a), strings.Fields(b)
	if len(x) > len(y) {
		x, y = y, x
	}
	if len(x) < 4 || len(y) > len(x)+1 {
		return a == b
	}
	from, to := 0, 0
	for from < len(x) && x[from] == y[from] {
		from++
	}
	for to < len(x)-from && x[len(x)-1-to] == y[len(y)-1-to] {
		to++
	}
	return from == len(x) && len(x) == len(y) || to > 0 && len(y)-from-to <= 1
}

// list is one of the phrases of a list, separated by |, as they are said in any job.
func (m *maker) list(phrasesOf string) node {
	return phrases(m.forms(Missing{}, strings.Split(phrasesOf, "|")...))
}

// each is one of the words.
func each(words ...string) node {
	kids := make([]node, len(words))
	for i, w := range words {
		kids[i] = node{kind: word, text: w}
	}
	return alt(kids...)
}

// wordsOf lists the words of a grammar, sorted, each once.
func wordsOf(grammar string) []string {
	seen := map[string]bool{}
	for line := range strings.Lines(grammar) {
		_, body, ok := strings.Cut(line, " = ")
		if !ok {
			continue
		}
		for _, f := range strings.FieldsFunc(body, func(r rune) bool { return strings.ContainsRune(" ;()[]|*\n", r) }) {
			if !strings.HasPrefix(f, "<") && !strings.HasPrefix(f, "/") {
				seen[f] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(seen))
}
