package bench_test

import (
	"bufio"
	"bytes"
	"fmt"
	"math/big"
	"slices"
	"strings"
	"testing"

	"readback/capture/bench"
	"readback/parse"
	"readback/parse/unit"
	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

// expected is a note of a notes file with what must come of it: "= callout place value
// unit verdict" a reading, "?" none recorded, "k KIND" its kind.
type expected struct {
	text, kind string
	readings   []string
	ask        bool
}

// script reads an annotated notes file: its options and its notes.
func script(t *testing.T, name string) (options map[string]string, notes []expected) {
	t.Helper()
	src, err := testdata.Files.ReadFile("notes/" + name)
	if err != nil {
		t.Fatal(err)
	}
	options = map[string]string{}
	in := bufio.NewScanner(bytes.NewReader(src))
	for in.Scan() {
		mark, rest, _ := strings.Cut(in.Text(), " ")
		switch mark {
		case "#":
			if set, ok := strings.CutPrefix(rest, "options "); ok {
				for o := range strings.FieldsSeq(set) {
					k, v, _ := strings.Cut(o, "=")
					options[k] = v
				}
			}
		case ">":
			notes = append(notes, expected{text: rest})
		case "=":
			f := strings.Fields(rest)
			last := &notes[len(notes)-1]
			last.readings = append(last.readings, strings.Join([]string{f[0], f[1], size(t, f[2], f[3]), f[4]}, " "))
		case "?":
			notes[len(notes)-1].ask = true
		case "k":
			notes[len(notes)-1].kind = strings.Fields(rest)[0]
		}
	}
	return options, notes
}

// size writes a value in a unit as its exact size.
func size(t *testing.T, value, code string) string {
	t.Helper()
	v, ok := new(big.Rat).SetString(value)
	m, err := unit.Parse(code)
	if !ok || err != nil {
		t.Fatalf("%s %s: %v", value, code, err)
	}
	return v.Mul(v, m.Factor).RatString()
}

// recorded writes the readings that were recorded as an expected one.
func recorded(t *testing.T, a rules.Answer) (out []string) {
	t.Helper()
	for _, r := range a.Readings {
		if r.Verdict == rules.Unclear {
			continue
		}
		at := "-"
		if r.At != "" {
			at = string(r.At)
		}
		out = append(out, fmt.Sprintf("%s %s %s %s", r.Callout, at, size(t, r.Value.String(), r.Unit), r.Verdict))
	}
	slices.Sort(out)
	return out
}

// TestWholeJobs plays whole jobs, note by note as one job, and compares what was
// recorded, with its verdict, and the kind of the note.
func TestWholeJobs(t *testing.T) {
	for _, name := range []string{"bench-notes.txt"} {
		t.Run(name, func(t *testing.T) {
			options, notes := script(t, name)
			b := demo(t, options).open(t)
			for _, n := range notes {
				_, a := b.Say(n.text)
				slices.Sort(n.readings)
				if got := recorded(t, a); (n.readings != nil || n.ask || n.kind != "") && !slices.Equal(got, n.readings) {
					t.Errorf("%q records %q, want %q", n.text, got, n.readings)
				}
				if n.kind != "" && string(a.Kind) != n.kind {
					t.Errorf("%q is a %s, want a %s", n.text, a.Kind, n.kind)
				}
			}
		})
	}
}

// shop opens jobs of one spec with the same options; what the parser needs is made once.
type shop struct {
	spec    *rules.Spec
	options map[string]string
	words   *parse.Vocabulary
}

func (s *shop) open(t *testing.T) *bench.Bench {
	t.Helper()
	j, err := rules.NewJob(s.spec, s.options)
	if err != nil {
		t.Fatal(err)
	}
	if s.words == nil {
		s.words = parse.NewVocabulary(j.Words())
	}
	return bench.New(j, s.words)
}

func demo(t *testing.T, options map[string]string) *shop {
	t.Helper()
	src, err := testdata.Files.ReadFile("specs/mr5.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := spec.Load("mr5.yaml", src)
	if err != nil {
		t.Fatal(err)
	}
	return &shop{spec: s, options: options}
}

// TestMutatedNotesAreNeverMisread changes notes as a keyboard, a recogniser or a
// hurried speaker would: what is recorded then is what was meant, or it is asked.
func TestMutatedNotesAreNeverMisread(t *testing.T) {
	options, notes := script(t, "bench-notes.txt")
	changes, shop := mutations(), demo(t, options)
	tried := 0
	for at, n := range notes {
		for _, m := range changes {
			changed := m.change(n.text)
			if changed == n.text {
				continue
			}
			tried++
			b := shop.open(t)
			for _, before := range notes[max(0, at-3):at] {
				b.Say(before.text)
			}
			_, plain := b.Say(n.text)
			want := recorded(t, plain)
			if len(want) == 0 && m.name == "the dropped unit" {
				continue // the unit was what made it unclear
			}
			b = shop.open(t)
			for _, before := range notes[max(0, at-3):at] {
				b.Say(before.text)
			}
			_, a := b.Say(changed)
			for _, got := range recorded(t, a) {
				if !slices.Contains(want, got) {
					t.Errorf("%s: %q, said %q, records %s, want one of %q", m.name, n.text, changed, got, want)
				}
			}
		}
	}
	if tried < 500 {
		t.Errorf("only %d changed notes were tried", tried)
	}
}

type mutation struct {
	name   string
	change func(string) string
}

// mutations lists the ways in which notes are changed without changing their meaning.
func mutations() []mutation {
	replace := func(pairs ...string) func(string) string { return strings.NewReplacer(pairs...).Replace }
	words := func(from, to string) func(string) string {
		return func(s string) string {
			f := strings.Fields(s)
			for i := range f {
				if f[i] == from {
					f[i] = to
				}
			}
			return strings.Join(f, " ")
		}
	}
	without := func(small ...string) func(string) string {
		return func(s string) string {
			return strings.Join(slices.DeleteFunc(strings.Fields(s), func(w string) bool { return slices.Contains(small, w) }), " ")
		}
	}
	return []mutation{
		{"capitals", strings.ToUpper},
		{"title case", func(s string) string {
			f := strings.Fields(s)
			for i := range f {
				f[i] = strings.ToUpper(f[i][:1]) + f[i][1:]
			}
			return strings.Join(f, " ")
		}},
		{"hyphenated tens", replace("twenty ", "twenty-", "thirty ", "thirty-", "forty ", "forty-", "eighty ", "eighty-")},
		{"full stop", func(s string) string { return s + "." }},
		{"um", func(s string) string { return "um " + s }},
		{"please", func(s string) string { return s + " please" }},
		{"okay so", func(s string) string { return "okay so " + s }},
		{"spaces", replace(" ", "  ")},
		{"no-break spaces", replace(" ", "\u00a0")},
		{"American", replace("metre", "meter", "litre", "liter")},
		{"ate", words("eight", "ate")},
		{"won", words("one", "won")},
		{"tree", words("three", "tree")},
		{"niner", words("nine", "niner")},
		{"fife", words("five", "fife")},
		{"nought", words("oh", "nought")},
		{"decimal", words("point", "decimal")},
		{"caller nut", replace("collar", "caller")},
		{"color nut", replace("collar", "color")},
		{"new ton metres", replace("newton metres", "new ton metres")},
		{"N.m", replace("newton metres", "N.m")},
		{"without small words", without("the", "on", "at", "is", "now", "a")},
		{"the dropped unit", func(s string) string { return strings.TrimSuffix(s, " newton metres") }},
	}
}
