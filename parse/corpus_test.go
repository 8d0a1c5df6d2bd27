package parse_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"readback/parse"
	"readback/parse/number"
	"readback/parse/parsetest"
	"readback/parse/unit"
	"readback/testdata"
)

// quantityCase is one line of a corpus of quantities.
type quantityCase struct {
	ID, Text, Class string
	Want            []struct{ Value, Low, High, Unit string }
}

func readCases(t *testing.T, src []byte) (cases []quantityCase) {
	t.Helper()
	in := bufio.NewScanner(bytes.NewReader(src))
	for in.Scan() {
		var c quantityCase
		if err := json.Unmarshal(in.Bytes(), &c); err != nil {
			t.Fatal(err)
		}
		cases = append(cases, c)
	}
	if len(cases) < 100 {
		t.Fatalf("only %d cases were read", len(cases))
	}
	return cases
}

// size writes a quantity so that equal sizes are equal: exact, in its dimension's base.
func size(t *testing.T, value, code string) string {
	t.Helper()
	v, ok := new(big.Rat).SetString(value)
	if !ok {
		t.Fatalf("%q is not a number", value)
	}
	m, err := unit.Parse(code)
	if err != nil {
		return value + " " + code
	}
	v.Mul(v, m.Factor)
	if m.Offset != nil {
		v.Add(v, m.Offset)
	}
	return v.RatString() + " " + m.String()
}

// judge compares what was found with what is wanted: all right, and whether something
// was found that was not said. Bare numbers count only where some are wanted.
func judge(t *testing.T, c quantityCase) (right, misread bool, got []string) {
	t.Helper()
	var want []string
	bare := false
	for _, w := range c.Want {
		for _, v := range []string{w.Value, w.Low, w.High} {
			if v != "" {
				want = append(want, size(t, v, w.Unit))
			}
		}
		bare = bare || w.Unit == "1"
	}
	for _, q := range parse.Quantities(c.Text) {
		if q.Unit != "1" || bare {
			got = append(got, size(t, q.Value.String(), q.Unit))
		}
	}
	left := slices.Clone(want)
	for _, g := range got {
		i := slices.Index(left, g)
		if i < 0 {
			misread = true
			continue
		}
		left = slices.Delete(left, i, i+1)
	}
	return !misread && len(left) == 0, misread, got
}

// TestOwnQuantities reads the 300 bench phrases. All must be right.
func TestOwnQuantities(t *testing.T) {
	src, err := testdata.Files.ReadFile("notes/quantities.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range readCases(t, src) {
		right, misread, got := judge(t, c)
		if misread || !right {
			t.Errorf("%s %q: got %v, want %v", c.ID, c.Text, got, c.Want)
		}
	}
}

// TestOutsideQuantities reads the public corpora of two general recognisers from the
// folder that READBACK_CORPORA names. Conventions that are not ours are listed by id
// in testdata/conventions.txt with the reason, and printed. Recognizers-Text and
// duckling are the sources; their cases are not copied here.
func TestOutsideQuantities(t *testing.T) {
	folder := os.Getenv("READBACK_CORPORA")
	if folder == "" {
		t.Log("the public corpora were not read: READBACK_CORPORA names no folder")
		return
	}
	aside := conventions(t)
	right, total := 0, 0
	for _, name := range []string{"recognizers-en.jsonl", "duckling-en.jsonl"} {
		src, err := os.ReadFile(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range readCases(t, src) {
			if c.Class == "ambiguous" || c.Class == "compound" {
				continue // two readings are as good: no gate
			}
			if why := aside[c.ID]; why != "" {
				t.Logf("aside: %s %q: %s", c.ID, c.Text, why)
				continue
			}
			ok, _, got := judge(t, c)
			if total++; ok {
				right++
			} else {
				t.Logf("missed: %s %q: got %v, want %v", c.ID, c.Text, got, c.Want)
			}
		}
	}
	t.Logf("%d of %d cases right, %d aside", right, total, len(aside))
	if right*100 < total*95 {
		t.Errorf("%d of %d cases right, want 95 of 100", right, total)
	}
}

// conventions lists the outside cases that are deliberately read otherwise.
func conventions(t *testing.T) map[string]string {
	t.Helper()
	src, err := os.ReadFile(filepath.Join("testdata", "conventions.txt"))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for line := range strings.Lines(string(src)) {
		if id, why, ok := strings.Cut(strings.TrimSpace(line), " "); ok && id[0] != '#' {
			out[id] = why
		}
	}
	return out
}

// TestSpokenFigures reads figures as they are spoken on the radio: FAA Aeronautical
// Information Manual, 4-2-7 and 4-2-8; ICAO says decimal for point.
func TestSpokenFigures(t *testing.T) {
	tests := []struct{ said, want string }{
		{"five hundred", "500"},
		{"four thousand five hundred", "4500"},
		{"one zero thousand", "10000"},
		{"one three thousand five hundred", "13500"},
		{"one zero", "10"},
		{"one two two point one", "122.1"},
		{"one two two decimal one", "122.1"},
		{"fower eight", "48"},
		{"niner niner decimal fife", "99.5"},
		{"point zero fife", "0.05"},
		{"one two zero", "120"},
		{"fife zero", "50"},
		{"one fife", "15"},
		{"tree ait", "38"},
	}
	for _, tt := range tests {
		q := parse.Quantities(tt.said + " newton metres")
		if len(q) != 1 || q[0].Value.String() != tt.want || q[0].Unit != "N.m" {
			t.Errorf("Quantities(%q) = %v, want %s N.m", tt.said, q, tt.want)
		}
	}
}

// TestEveryWholeNumberIsUnderstood speaks each number up to 9,999 in four ways.
func TestEveryWholeNumberIsUnderstood(t *testing.T) {
	for n := int64(1); n < 10_000; n++ {
		for _, said := range parsetest.Ways(n) {
			q := parse.Quantities(said + " newton metres")
			if len(q) != 1 || q[0].Value != number.Int(n) {
				t.Fatalf("Quantities(%q) = %v, want %d", said, q, n)
			}
		}
	}
}
