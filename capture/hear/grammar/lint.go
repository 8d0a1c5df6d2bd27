package grammar

import (
	"errors"
	"slices"
	"strconv"
	"strings"

	"readback/parse"
	"readback/parse/symptom"
	"readback/rules"
	"readback/rules/spec"
)

// Lint returns what of a spec file cannot be heard, with its place: words that no dictionary knows,
// and spoken forms of two callouts that sound the same. It is nil where all is well, and where the
// file is no spec.
func Lint(file string, src []byte, d *Dictionary) spec.Errors {
	s, err := spec.Load(file, src)
	if err != nil {
		return nil //nolint:nilerr // what is wrong spec.Lint tells
	}
	l := &linter{file: file, dict: d.With(Given(s)), forms: spec.Forms(file, src)}
	l.mute()
	l.alike()
	if len(l.faults) == 0 {
		return nil
	}
	return l.faults[:min(len(l.faults), spec.MaxFaults)]
}

// LintOwn returns what of a shop's own words cannot be heard, as [symptom.FaultError]s joined.
func LintOwn(own *symptom.Own, d *Dictionary) error {
	d = d.With(own.Sounds)
	var faults []error
	told := map[string]bool{}
	for _, f := range own.Forms {
		for _, w := range spell(f.Say) {
			if !told[w] && d.Sounds(w) == nil {
				told[w] = true
				faults = append(faults, f.Fault("nobody says how "+strconv.Quote(w)+" sounds, in "+strconv.Quote(f.Say),
					"add its phones under pronounce: in the file, as squawk: S K W AO K, or write words that a dictionary has"))
			}
		}
	}
	return errors.Join(faults...)
}

type linter struct {
	file   string
	dict   *Dictionary
	forms  []spec.Spoken
	faults spec.Errors
}

func (l *linter) fail(at spec.Spoken, wrong, mend string) {
	l.faults = append(l.faults, &spec.Error{File: l.file, Line: at.Line, Column: at.Column, Wrong: wrong, Mend: mend})
}

// mute tells of words without a pronunciation, each at its first use. A written abbreviation is
// none where the same thing has a form that can be said.
func (l *linter) mute() {
	told := map[string]bool{}
	sayable := map[string]bool{}
	for _, f := range l.forms {
		if heard(f) && l.dict.knows(spell(f.Form)) {
			sayable[f.Of] = true
		}
	}
	for _, f := range l.forms {
		if !heard(f) {
			continue
		}
		words := slices.DeleteFunc(spell(f.Form), func(w string) bool { return l.dict.Sounds(w) != nil })
		if sayable[f.Of] && slices.ContainsFunc(words, abbreviated) {
			continue
		}
		for _, w := range words {
			if !told[w] {
				told[w] = true
				l.fail(f, "nobody says how "+strconv.Quote(w)+" sounds, in "+strconv.Quote(f.Form)+" of "+f.Of,
					"add its phones under pronounce: at the top of the file, as runout: R AH N AW T, or write words that a dictionary has")
			}
		}
	}
}

// heard reports whether a form is listened for: a detail in free words is not.
func heard(f spec.Spoken) bool {
	return f.Kind != parse.Detail || spelt(parse.Name{Say: []string{f.Form}})
}

// alike tells of forms of two callouts of one job that sound the same. Those that are written the
// same the loader has told.
func (l *linter) alike() {
	bySound := map[string][]spec.Spoken{}
	told := map[[2]string]bool{}
	for _, f := range l.forms {
		if !f.Callout || !heard(f) || !l.dict.knows(spell(f.Form)) {
			continue
		}
		sound := l.dict.sound(spell(f.Form))
		for _, g := range bySound[sound] {
			pair := [2]string{g.Of, f.Of}
			valued := (f.Kind == parse.Reading) != (g.Kind == parse.Reading) // told apart by the value that only one has
			if g.Of == f.Of || told[pair] || valued || strings.EqualFold(g.Form, f.Form) || !together(f, g) {
				continue
			}
			told[pair] = true
			l.fail(f, strconv.Quote(f.Form)+" of "+f.Of+" sounds the same as "+strconv.Quote(g.Form)+" of "+g.Of+": "+sound, "give one of them other words")
		}
		bySound[sound] = append(bySound[sound], f)
	}
}

// together reports whether two callouts can be called for in one job.
func together(f, g spec.Spoken) bool {
	return !slices.ContainsFunc(f.When, func(x rules.Condition) bool {
		return slices.ContainsFunc(g.When, func(y rules.Condition) bool { return x.Option == y.Option && x.Is != y.Is })
	})
}
