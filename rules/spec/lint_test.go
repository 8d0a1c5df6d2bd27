package spec_test

import (
	"fmt"
	"strings"
	"testing"

	"readback/rules/spec"
	"readback/testdata"
	"readback/testdata/golden"
)

// lintFile lints a file of this folder's testdata.
func lintFile(t *testing.T, name string) ([]byte, spec.Errors) {
	t.Helper()
	src := file(t, name)
	return src, spec.Lint(name, src)
}

func TestTenMistakesAreTenFaults(t *testing.T) {
	src, faults := lintFile(t, "ten.yaml")
	var b strings.Builder
	for _, f := range faults {
		fmt.Fprintf(&b, "%v\n%s", f, f.Excerpt(src))
	}
	if len(faults) != 10 {
		t.Errorf("%d faults, want 10:\n%s", len(faults), &b)
	}
	golden.Equal(t, "testdata/ten.golden", []byte(b.String()))
}

func TestDemoSpecsAreClean(t *testing.T) {
	entries, err := testdata.Files.ReadDir("specs")
	if err != nil || len(entries) == 0 {
		t.Fatalf("%d specs, %v", len(entries), err)
	}
	for _, e := range entries {
		src, err := testdata.Files.ReadFile("specs/" + e.Name())
		if err != nil {
			t.Fatal(err)
		}
		if faults := spec.Lint(e.Name(), src); faults != nil {
			t.Error(faults)
		}
	}
}

// A spec that is legal and cannot be meant: Load takes it, Lint does not.
func TestLegalAndWrong(t *testing.T) {
	const seats = "  - {id: seat, kind: confirm, say: [seat clean]}\n  - {id: lid, kind: event, say: [lid on]}\n"
	tests := []struct{ name, src, want string }{
		{"a name that is a word of talk", "callouts:\n  - {id: a, kind: confirm, say: [scratch that]}\n", `callout a is spoken "scratch that", which is a correction already`},
		{"a name that is a question", "callouts:\n  - {id: a, unit: mm, say: [the gap, what is left]}\n", `callout a is spoken "what is left", which is a question already`},
		{"a name of signs alone", "callouts:\n  - {id: a, unit: mm, say: ['...']}\n", `no phrase reaches callout a: "... 7 millimetres" is understood as something else`},
		{"a name that is a number", "callouts:\n  - {id: a, unit: mm, say: [forty eight]}\n", `callout a is spoken "forty eight", which is a number already`},
		{"a part without choices", "callouts:\n  - {id: a, kind: part, say: [wear ring]}\n", `no phrase reaches callout a`},
		{"names that sound the same", "callouts:\n  - {id: a, unit: mm, say: [seal gap]}\n  - {id: b, unit: mm, say: [seel gap]}\n", `callouts a and b cannot be told apart: "seal gap" and "seel gap" sound the same`},
		{"names that differ in a hyphen", "callouts:\n  - {id: a, unit: mm, say: [tie rod]}\n  - {id: b, unit: mm, say: [tie-rod]}\n", `callouts a and b cannot be told apart: "tie rod" and "tie-rod" are spoken the same`},
		{"said and denied alike", "callouts:\n  - {id: a, kind: event, say: [cover off], denied: [cover off]}\n", `callout a is said and denied in the same words`},
		{"limits that exclude each other with one option", "options:\n  base: {values: [s, l], default: s}\ncallouts:\n  - {id: gap, unit: mm, limits: {min: 5, max: {base: {s: 6, l: 4}}}}\n", "no value is in the limits of callout gap where it is base l: from 5 down to 4"},
		{"a negative tolerance by place", "axes:\n  p: {say: [pass]}\ncallouts:\n  - {id: gap, unit: mm, at: {p: 1..2}, limits: {nominal: 5, within: {p: {\"1\": 1, \"2\": -1}}}}\n", "no value is in the limits of callout gap where it is p 2"},
		{"one of a list that is out", "callouts:\n  - {id: gap, unit: mm, limits: {max: 5, one_of: [4, 6]}}\n", "the limits of callout gap exclude each other: 6 is one of its values"},
		{"limits that are not plausible", "callouts:\n  - {id: gap, unit: mm, limits: {nominal: 48, within: 4 %}, plausible: 0..48}\n", "the limits of callout gap reach 49.92, which lies outside what is plausible (0..48)"},
		{"a circle of needs", "callouts:\n" + seats + "rules:\n  - {rule: step_order, step: seat, needs: [lid]}\n  - {rule: hold_point, past: lid, needs: [seat]}\n", "the order of the work goes in a circle: lid needs seat, which needs lid"},
		{"a step that needs itself", "axes:\n  p: {say: [pass]}\ncallouts:\n  - {id: gap, unit: mm, at: {p: 1..2}}\nrules:\n  - {rule: step_order, step: gap, needs: [{gap: {p: 1}}]}\n", "the order of the work goes in a circle: gap p 1 needs gap p 1"},
		{"an option that nothing uses", "options:\n  base: {values: [s, l], default: s}\ncallouts:\n" + seats, "nothing uses option base"},
		{"a value that nothing uses", "options:\n  base: {values: [s, l, xl], default: s}\ncallouts:\n" + seats + "  - {id: cap, kind: confirm, say: [end cap fitted], when: {base: l}}\n", "nothing uses the value xl of option base: it makes no difference to s"},
		{"a number that an option never is", "options:\n  n: {from: 1, to: 4, default: 2}\ncallouts:\n  - {id: cap, kind: confirm, say: [end cap fitted], when: {n: 7}}\n", "callout cap is never called for: option n is never 7"},
		{"a rule about two that never meet", "options:\n  base: {values: [s, l], default: s}\ncallouts:\n  - {id: cap, kind: confirm, say: [end cap fitted], when: {base: s}}\n  - {id: plug, kind: confirm, say: [drain plug fitted], when: {base: l}}\nrules:\n  - {rule: step_order, step: cap, needs: [plug]}\n", "a rule is about callout plug, which is never called for together with cap"},
		{"a diagonal for an odd number", "options:\n  n: {from: 4, to: 6, default: 4}\naxes:\n  b: {say: [bolt]}\n  p: {say: [pass]}\ncallouts:\n  - {id: flange_torque, unit: N.m, at: {b: 1..n, p: 1..2}}\nrules:\n  - {rule: pass_order, callout: flange_torque, rounds: p, over: b, order: diagonal}\n", "option n can be 5, and a diagonal order needs an even number of places, four or more"},
		{"an order for one number of many", "options:\n  n: {from: 4, to: 6, default: 4}\naxes:\n  b: {say: [bolt]}\n  p: {say: [pass]}\ncallouts:\n  - {id: flange_torque, unit: N.m, at: {b: 1..n, p: 1..2}}\nrules:\n  - {rule: pass_order, callout: flange_torque, rounds: p, over: b, order: [1, 3, 2, 4]}\n", "option n can be 5, and the order 1-3-2-4 is not every b once then"},
		{"a place that is never there", "axes:\n  p: {say: [pass]}\ncallouts:\n  - {id: gap, unit: mm, at: {p: 1..2}}\n" + seats + "rules:\n  - {rule: step_order, step: seat, needs: [{gap: {p: 3}}]}\n", "callout gap has never a p 3"},
		{"a hold point past many places", "axes:\n  p: {say: [pass]}\ncallouts:\n  - {id: gap, unit: mm, at: {p: 1..2}}\n" + seats + "rules:\n  - {rule: hold_point, past: gap, needs: [seat]}\n", "callout gap has places, and the rule hold_point waits for one that has none"},
		{"a choice that a part has not", "axes:\n  p: {say: [stage]}\ncallouts:\n  - {id: wheel, kind: part, say: [wheel], at: {p: 1..3}, choices: {full: [full], cut: [cut]}}\nrules:\n  - {rule: stack_order, part: wheel, along: p, last: 1, is: trimmed, else: full}\n", `callout wheel has no choice "trimmed"`},
		{"two rules for the kind of one part", "callouts:\n  - {id: cap, kind: part, say: [end cap], choices: {flat: [flat], bent: [bent]}}\nrules:\n  - {rule: part_choice, callout: cap, is: flat}\n  - {rule: part_choice, callout: cap, is: bent}\n", "another rule says already which kind of cap belongs"},
		{"a part choice by what does not matter", "options:\n  base: {values: [s, l], default: s}\ncallouts:\n  - {id: gap, unit: mm, limits: {max: 5}}\n  - {id: cap, kind: confirm, say: [end cap fitted], when: {base: s}}\nrules:\n  - {rule: part_choice, callout: gap, by: base}\n", "the limits of callout gap do not hang on option base"},
		{"a division by what may be nothing", "callouts:\n  - {id: width, unit: mm, plausible: 0..9}\n  - {id: height, unit: mm}\n  - {id: shape, unit: \"1\", is: height / width}\n", "callout shape divides by width, which may be 0"},
		{"readings that void", "callouts:\n  - {id: gap, unit: mm}\n" + seats + "rules:\n  - {rule: void, when: gap, voids: [seat]}\n", "callout gap is a reading, and the rule void waits for something that is done"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			src := []byte("spec: t\nrevision: \"1\"\n" + tt.src)
			if _, err := spec.Load("t.yaml", src); err != nil {
				t.Fatalf("Load refuses it: %v", err)
			}
			faults := spec.Lint("t.yaml", src)
			if len(faults) != 1 || !strings.Contains(faults[0].Wrong, tt.want) {
				t.Errorf("got  %v\nwant one fault: %s", faults, tt.want)
			}
			for _, f := range faults {
				if f.Line == 0 || f.Mend == "" {
					t.Errorf("it lacks its place or a mend: %v", f)
				}
			}
		})
	}
}

// What the checks must leave alone.
func TestLegalAndRight(t *testing.T) {
	tests := []struct{ name, src string }{
		{"the same name where one excludes the other", "options:\n  base: {values: [s, l], default: s}\ncallouts:\n  - {id: a, unit: mm, say: [seal gap], when: {base: s}}\n  - {id: b, unit: mm, say: [seel gap], when: {base: l}}\n"},
		{"a chain along an axis", "axes:\n  s: {say: [stage]}\ncallouts:\n  - {id: wheel, kind: confirm, say: [wheel fitted], at: {s: 1..3}}\n  - {id: nut, unit: N.m, say: [collar nut], at: {s: 1..3}}\nrules:\n  - {rule: step_order, step: wheel, after_each: s, needs: [wheel, nut]}\n"},
		{"a pass after the one before", "axes:\n  p: {say: [pass]}\ncallouts:\n  - {id: gap, unit: mm, at: {p: 1..2}}\nrules:\n  - {rule: step_order, step: gap, at: {p: 2}, needs: [{gap: {p: 1}}]}\n"},
		{"an option whose last value is the rest", "options:\n  new: {values: [\"yes\", \"no\"], default: \"no\"}\ncallouts:\n  - {id: a, unit: mm, when: {new: \"yes\"}, say: [seal gap]}\n"},
		{"a diagonal for even numbers that are listed", "options:\n  n: {values: [\"4\", \"6\"], default: \"4\"}\naxes:\n  b: {say: [bolt]}\n  p: {say: [pass]}\ncallouts:\n  - {id: flange_torque, unit: N.m, at: {b: 1..n, p: 1..2}}\nrules:\n  - {rule: pass_order, callout: flange_torque, rounds: p, over: b, order: diagonal}\n"},
		{"a divisor that is never 0", "callouts:\n  - {id: width, unit: mm, plausible: 0.1..9}\n  - {id: height, unit: mm}\n  - {id: shape, unit: \"1\", is: height / width}\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if faults := spec.Lint("t.yaml", []byte("spec: t\nrevision: \"1\"\n"+tt.src)); faults != nil {
				t.Errorf("it is at fault: %v", faults)
			}
		})
	}
}

func TestExcerpt(t *testing.T) {
	long := strings.Repeat("x", 300)
	tests := []struct {
		name, src, want string
		line, column    int
	}{
		{"a caret under the place", "spec: a\nunit: mm\n", "    2 | unit: mm\n      |       ^\n", 2, 7},
		{"letters of two bytes count once", "# Größe: mm\n", "    1 | # Größe: mm\n      |          ^\n", 1, 10},
		{"a tab is one character wide", "a:\tb\n", "    1 | a: b\n      |    ^\n", 1, 4},
		{"signs that would move the cursor are blanks", "a\x1b[2J: b\r\n", "    1 | a [2J: b\n      | ^\n", 1, 1},
		{"a long line is cut round the place", long, "    1 | ... " + strings.Repeat("x", 100) + " ...\n      | " + strings.Repeat(" ", 54) + "^\n", 1, 150},
		{"behind the end of the line", "ab\n", "    1 | ab\n      |   ^\n", 1, 9},
		{"a line that is not there", "ab", "", 7, 1},
		{"no place", "ab", "", 0, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := (&spec.Error{Line: tt.line, Column: tt.column}).Excerpt([]byte(tt.src)); got != tt.want {
				t.Errorf("got\n%s\nwant\n%s", got, tt.want)
			}
		})
	}
}
