package sphinx_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"readback/capture/hear"
	"readback/capture/hear/sphinx"
)

const head = "#JSGF V1.0;\ngrammar note;\n"

// lexicon is all words that the tests of grammars know.
func lexicon(word string) bool {
	return slices.Contains(strings.Fields("collar nut stage one two yes no"), word)
}

func TestCheckGrammar(t *testing.T) {
	tests := []struct{ name, grammar, want string }{
		{"sound", head + "<n> = one | two;\npublic <note> = /0.7/ collar nut [stage <n>] | /0.3/ (yes | no) <NULL>;", ""},
		{"no header", "grammar note; public <note> = yes;", "starts with #JSGF"},
		{"no name", "#JSGF V1.0;\npublic <note> = yes;", "grammar note;"},
		{"nothing public", head + "<note> = yes;", "no rule is public"},
		{"undefined rule", head + "public <note> = stage <n>;", "<n>, which <note> uses, is not defined"},
		{"defined twice", head + "<n> = one; <n> = two; public <note> = <n>;", "twice"},
		{"uses itself", head + "public <note> = yes <note>;", "uses itself"},
		{"in a ring", head + "<a> = one <b>; <b> = two <a>; public <note> = <a>;", "uses itself"},
		{"heavy empty", head + "public <note> = yes (/4/ <NULL> | /0.1/ no);", "/4/ is not over 0"},
		{"weights over one", head + "public <note> = /0.9/ yes | /0.4/ no;", "sum up to 1.300"},
		{"some weights", head + "public <note> = /0.9/ yes | no;", "1 of 2 alternatives"},
		{"weight of zero", head + "public <note> = /0/ yes | /1/ no;", "not over 0"},
		{"weight that is none", head + "public <note> = /many/ yes;", "not over 0"},
		{"weight in the middle", head + "public <note> = yes /0.4/ no;", "start of an alternative"},
		{"upper case", head + "public <note> = Yes;", "small letters"},
		{"hyphen", head + "public <note> = re-torqued;", "small letters"},
		{"unknown word", head + "public <note> = collar torque;", `"torque" has no pronunciation`},
		{"open bracket", head + "public <note> = (yes | no;", `";" is no word`},
		{"wrong bracket", head + "public <note> = (yes | no];", `"]" is no word`},
		{"no end", head + "public <note> = yes", `";" should come`},
		{"empty alternative", head + "public <note> = yes | ;", "is empty"},
		{"empty rule", head + "public <note> = ;", "is empty"},
		{"comment", head + "public <note> = yes; // always", "where a rule should start"},
		{"stray sign", head + "public <note> = yes > no;", "where a word should"},
		{"deep", head + "public <note> = " + strings.Repeat("(", 100000) + "yes;", "deep"},
		{"rules in rules", head + chain(200), "deep"},
		{"copied too often", head + doubled(40), "written out"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := sphinx.CheckGrammar(tt.grammar, lexicon)
			switch {
			case tt.want == "" && err != nil:
				t.Errorf("refused: %v", err)
			case tt.want != "" && (!errors.Is(err, hear.ErrGrammar) || !strings.Contains(err.Error(), tt.want)):
				t.Errorf("error %v, want one of the grammar that says %q", err, tt.want)
			}
		})
	}
}

// chain is rules, each of which uses the next.
func chain(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "<r%d> = <r%d>;\n", i, i+1)
	}
	fmt.Fprintf(&b, "<r%d> = yes; public <note> = <r0>;", n)
	return b.String()
}

// doubled is rules, each of which uses the next twice.
func doubled(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "<r%d> = <r%d> <r%d>;\n", i, i+1, i+1)
	}
	fmt.Fprintf(&b, "<r%d> = yes; public <note> = <r0>;", n)
	return b.String()
}

func FuzzCheckGrammar(f *testing.F) {
	f.Add(head + "<n> = one | two;\npublic <note> = /0.7/ collar nut [stage <n>] | /0.3/ (yes | no) <NULL>;")
	f.Add(head + "public <note> = (yes | [no;")
	f.Add("#JSGF V1.0; grammar x; <")
	f.Fuzz(func(t *testing.T, grammar string) {
		if err := sphinx.CheckGrammar(grammar, lexicon); err != nil && !errors.Is(err, hear.ErrGrammar) {
			t.Errorf("%v does not say that the grammar is wrong", err)
		}
	})
}

func TestWriteDict(t *testing.T) {
	var b strings.Builder
	sounds := map[string]string{"metre": "M IY T ER", "metre(2)": "M  IY T AH", "what's": "W AH T S"}
	if err := sphinx.WriteDict(&b, sounds); err != nil {
		t.Fatal(err)
	}
	if want := "metre M IY T ER\nmetre(2) M IY T AH\nwhat's W AH T S\n"; b.String() != want {
		t.Errorf("wrote %q, want %q", b.String(), want)
	}
	for name, sounds := range map[string]map[string]string{
		"none":           {},
		"empty":          {"metre": " "},
		"unknown sound":  {"metre": "M IY T ER0"},
		"only a variant": {"metre(2)": "M IY T ER"},
		"upper case":     {"Metre": "M IY T ER"},
		"two lines":      {"metre": "M IY\nT ER", "a\nb": "B"},
		"no word":        {"": "M"},
	} {
		t.Run(name, func(t *testing.T) {
			if err := sphinx.WriteDict(&b, sounds); !errors.Is(err, hear.ErrGrammar) {
				t.Errorf("error %v, want one of the grammar", err)
			}
		})
	}
}
