package spec_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

// file returns a file of this folder's testdata.
func file(t *testing.T, name string) []byte {
	t.Helper()
	src, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return src
}

// numbered repeats a line with its number.
func numbered(n int, line string) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, line, i)
	}
	return b.String()
}

// Files that would take minutes or gigabytes are refused in words. The test has no clock:
// without the bounds it does not end.
func TestSpecBombs(t *testing.T) {
	alias := "a: &a [x, x, x, x, x, x, x, x, x]\n"
	for _, c := range "bcdefghij" {
		alias += fmt.Sprintf("%c: &%c [*%c, *%c, *%c, *%c, *%c, *%c, *%c, *%c, *%c]\n", c, c, c-1, c-1, c-1, c-1, c-1, c-1, c-1, c-1, c-1)
	}
	tests := []struct{ name, src, want string }{
		{"ten megabytes", head + callout + strings.Repeat("# x\n", 10<<20/4), "the file is larger than 1 MiB"},
		{"aliases of aliases", head + callout + alias, `a spec has no key "a"`},
		{"aliases as values", head + "callouts: &a [*a, *a]\n", "anchors, aliases and tags are not read in a spec"},
		{"open brackets", "a: " + strings.Repeat("[", 1<<20-9), "inside each other more than 40 deep"},
		{"open braces", "a: " + strings.Repeat("{a: ", 1<<18-9), "inside each other more than 40 deep"},
		{"dashes", "a:\n" + strings.Repeat("- ", 1<<19-9), "inside each other more than 40 deep"},
		{"questions", strings.Repeat("? ", 1<<19-9), "inside each other more than 40 deep"},
		{"a tower of keys", numberedIndents(800), `a spec has no key "a"`},
		{"tags", "a: " + strings.Repeat("!a ", 1<<18), "more than 15000 keys and values"},
		{"keys without end", numbered(60_000, "k%d: 1\n"), "more than 15000 keys and values"},
		{"keys on one line", "{" + numbered(60_000, "k%d: 1,") + "}", "more than 15000 keys and values"},
		{"places of three axes", head + "  a: {}\n  b: {}\ncallouts:\n  - {id: x, unit: mm, at: {stage: 1..1000, a: 1..1000, b: 1..1000}}\n", "the spec calls for more than 10000 places"},
		{"places of many callouts", head + "callouts:\n" + numbered(20, "  - {id: x%d, unit: mm, at: {stage: 1..999}}\n"), "with callout x10 the spec calls for more than 10000 places"},
		{"brackets in an expression", head + "callouts:\n  - {id: a, unit: mm}\n  - {id: b, unit: mm, is: \"" + strings.Repeat("(", 100) + "a\"}\n", "brackets are nested more than 20 deep"},
		{"an endless expression", head + "callouts:\n  - {id: a, unit: mm}\n  - {id: b, unit: mm, is: a" + strings.Repeat(" + a", 1000) + "}\n", "the expression is longer than 500 characters"},
		{"an expression of itself", head + "callouts:\n  - {id: a, unit: mm, is: a + 1}\n", "callout a is computed from a, which is no reading"},
		{"expressions of each other", head + "callouts:\n  - {id: a, unit: mm, is: b}\n  - {id: b, unit: mm, is: a}\n", "callout a is computed from b, which is no reading"},
		{"a division by zero", head + "callouts:\n  - {id: a, unit: mm}\n  - {id: b, unit: mm, is: a / 0}\n", "the expression of callout b divides by zero"},
		{"a division by what is always zero", head + "callouts:\n  - {id: a, unit: mm}\n  - {id: b, unit: \"1\", is: a / (a - a)}\n", "the expression of callout b divides by zero"},
		{"faults without end", head + "callouts:\n" + numbered(2000, "  - {id: X%d, unit: q}\n"), `the id "X0" is not usable`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if _, err := spec.Load("t.yaml", []byte(tt.src)); err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("Load: %v\nwant %s", cut(err), tt.want)
			}
			faults := spec.Lint("t.yaml", []byte(tt.src))
			if len(faults) == 0 || len(faults) > spec.MaxFaults || !strings.Contains(faults.Error(), tt.want) {
				t.Errorf("Lint: %v\nwant %s", cut(faults), tt.want)
			}
		})
	}
}

func cut(err error) string {
	text := fmt.Sprint(err)
	return text[:min(len(text), 400)]
}

// numberedIndents nests keys by their indentation alone.
func numberedIndents(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "%sa:\n", strings.Repeat(" ", i))
	}
	return b.String()
}

// Many callouts and rules within the bounds are linted to the end.
func TestAFullSpecIsLinted(t *testing.T) {
	src := head + "callouts:\n" + numbered(700, "  - {id: x%d, unit: mm, at: {stage: 1..n}}\n") + "rules:\n"
	for i := range 600 {
		src += fmt.Sprintf("  - {rule: step_order, step: x%d, needs: [x%d]}\n", i+1, i)
	}
	if faults := spec.Lint("t.yaml", []byte(src+"  - {rule: step_order, step: x0, needs: [x600]}\n")); len(faults) == 0 || !strings.Contains(faults.Error(), "the order of the work goes in a circle") {
		t.Errorf("a circle of 601 steps is not found: %s", cut(faults))
	}
}

// FuzzLint lints torn specs: no panic, every fault has a place in the file, and what Load
// refuses is at fault.
func FuzzLint(f *testing.F) {
	entries, err := testdata.Files.ReadDir("specs")
	if err != nil {
		f.Fatal(err)
	}
	for _, e := range entries {
		src, err := testdata.Files.ReadFile("specs/" + e.Name())
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(src))
	}
	ten, err := os.ReadFile("testdata/ten.yaml")
	if err != nil {
		f.Fatal(err)
	}
	for _, s := range []string{string(ten), "", head + callout, "a: &a [*a]", head + "callouts:\n  - {id: a, unit: mm, at: {stage: []}, limits: {}}\nrules: [{rule: void}, {}]\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, src string) {
		faults := spec.Lint("t.yaml", []byte(src))
		if faults != nil && len(faults) == 0 {
			t.Fatal("faults that are none")
		}
		for _, x := range faults {
			if len(x.Wrong) < 10 {
				t.Fatalf("the fault %q says nothing", x.Wrong)
			}
			_ = x.Excerpt([]byte(src))
		}
		s, err := spec.Load("t.yaml", []byte(src))
		if err != nil && faults == nil {
			t.Fatalf("Lint finds nothing where Load says %v", err)
		}
		if s != nil {
			if j, err := rules.NewJob(s, nil); err == nil {
				j.State()
			}
		}
	})
}
