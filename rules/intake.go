package rules

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"readback/parse"
	"readback/rules/say"
)

// Intake is what was understood of the options of a job, said in any order: "long base,
// eight stages, two cut, rebuild".
type Intake struct {
	Options map[string]string // what was said, by option
	Missing []Option          // not said, and without a default
	Unclear []string          // words or numbers of which nothing came
	Say     string            // the whole, with what is asked, as the sentence to be spoken
}

// ReadOptions understands what is said of a job's options. Nothing is guessed: a number
// without the word of its option beside it, or one that the option cannot be, is unclear.
func (s *Spec) ReadOptions(text string) Intake {
	r := intake{spec: s, text: s.written(strings.ToLower(text)), in: Intake{Options: map[string]string{}}}
	r.words = strings.FieldsFunc(r.text, func(c rune) bool {
		return !unicode.IsLetter(c) && !unicode.IsDigit(c) && c != ':' && c != '-' && c != '.'
	})
	r.numbers()
	r.noughts()
	for i := range s.Options {
		r.value(&s.Options[i])
	}
	for _, o := range s.Options {
		if r.in.Options[o.Name] == "" && o.Default == "" {
			r.in.Missing = append(r.in.Missing, o)
		}
	}
	r.in.Say = r.sentence()
	return r.in
}

type intake struct {
	spec  *Spec
	text  string
	words []string
	in    Intake
}

// numbers gives each number to the option whose word stands beside it, behind first.
func (r *intake) numbers() {
	for _, q := range parse.Quantities(r.text) {
		n, whole := q.Value.Whole()
		behind, before := wordsBehind(r.text[q.End:], 2), wordsBefore(r.text[:q.Start], 2)
		o := r.counted(behind)
		if o == nil {
			o = r.counted(before)
		}
		said := r.text[q.Start:q.End]
		if o == nil || !whole || q.Unit != "1" && !slices.Contains(o.Values, q.Value.String()) || !o.takes(strconv.FormatInt(n, 10)) {
			r.in.Unclear = append(r.in.Unclear, said)
			continue
		}
		r.set(o, strconv.FormatInt(n, 10), said)
	}
}

// noughts takes "no cut impellers" for none of them.
func (r *intake) noughts() {
	for i, w := range r.words {
		if w != "no" && w != "without" {
			continue
		}
		behind := r.words[i+1 : min(i+3, len(r.words))]
		if o := r.counted(behind); o != nil && o.takes("0") {
			r.set(o, "0", strings.Join(r.words[i:min(i+2, len(r.words))], " "))
		}
	}
}

// counted returns the one option that takes numbers and has one of the words in its name.
func (r *intake) counted(words []string) (found *Option) {
	for _, w := range words {
		for i := range r.spec.Options {
			o := &r.spec.Options[i]
			if !o.takesNumbers() || !slices.ContainsFunc(strings.Fields(o.Say), func(x string) bool { return sameNoun(x, w) }) {
				continue
			}
			if found != nil && found != o {
				return nil
			}
			found = o
		}
		if found != nil {
			return found
		}
	}
	return nil
}

func (o Option) takesNumbers() bool {
	if o.Values == nil {
		return true
	}
	_, err := strconv.Atoi(o.Values[0])
	return err == nil
}

// value finds an option's value by its word: "long base"; yes and no by the option's own
// name: "rebuild", "no rebuild".
func (r *intake) value(o *Option) {
	if o.takesNumbers() {
		return
	}
	if slices.Contains(o.Values, "yes") && slices.Contains(o.Values, "no") {
		if at := r.at(o.Say); at >= 0 {
			yes := "yes"
			if slices.ContainsFunc(r.words[max(0, at-2):at], func(w string) bool { return w == "no" || w == "not" || w == "without" }) ||
				at+1 < len(r.words) && r.words[at+1] == "no" {
				yes = "no"
			}
			r.set(o, yes, o.Say)
		}
		return
	}
	for _, v := range o.Values {
		if at := r.at(strings.ToLower(v)); at >= 0 && (r.own(v) || r.near(at, o)) {
			r.set(o, v, v)
		}
	}
}

// own reports whether no other option has that value.
func (r *intake) own(value string) bool {
	n := 0
	for _, o := range r.spec.Options {
		if slices.Contains(o.Values, value) {
			n++
		}
	}
	return n == 1
}

// near reports whether a word of the option's name stands right beside word at.
func (r *intake) near(at int, o *Option) bool {
	for _, i := range []int{at - 1, at + 1} {
		if i >= 0 && i < len(r.words) && slices.ContainsFunc(strings.Fields(o.Say), func(x string) bool { return sameNoun(x, r.words[i]) }) {
			return true
		}
	}
	return false
}

// at returns where a phrase stands among the words, or -1.
func (r *intake) at(phrase string) int {
	want := strings.Fields(phrase)
	for i := 0; i+len(want) <= len(r.words); i++ {
		if slices.Equal(r.words[i:i+len(want)], want) {
			return i
		}
	}
	return -1
}

// set records what an option is; said twice and differently, it is unclear.
func (r *intake) set(o *Option, value, said string) {
	if old := r.in.Options[o.Name]; old != "" && old != value {
		r.in.Unclear = append(r.in.Unclear, said)
		delete(r.in.Options, o.Name)
		return
	}
	r.in.Options[o.Name] = value
}

func (r *intake) sentence() string {
	var parts []string
	for _, o := range r.spec.Options {
		if v := r.in.Options[o.Name]; v != "" {
			parts = append(parts, o.Phrase(v))
		}
	}
	text := "I heard none of the options."
	if len(parts) > 0 {
		text = say.Cap(say.List(parts, "and")) + "."
	}
	for _, u := range r.in.Unclear {
		text += fmt.Sprintf(" What is %q?", strings.TrimSpace(u))
	}
	for _, o := range r.in.Missing {
		text += fmt.Sprintf(" Which %s: %s?", o.Say, o.allowed())
	}
	return text
}

// sameNoun reports whether two words are one noun, singular or plural.
func sameNoun(a, b string) bool {
	return a == b || a+"s" == b || a == b+"s"
}

func wordsBehind(text string, n int) []string {
	f := strings.FieldsFunc(text, func(c rune) bool { return !unicode.IsLetter(c) })
	if i := strings.IndexAny(text, ",;."); i >= 0 {
		f = strings.FieldsFunc(text[:i], func(c rune) bool { return !unicode.IsLetter(c) })
	}
	return f[:min(n, len(f))]
}

func wordsBefore(text string, n int) []string {
	f := strings.FieldsFunc(text[strings.LastIndexAny(text, ",;.")+1:], func(c rune) bool { return !unicode.IsLetter(c) })
	slices.Reverse(f)
	return f[:min(n, len(f))]
}
