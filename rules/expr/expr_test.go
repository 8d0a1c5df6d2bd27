package expr_test

import (
	"errors"
	"fmt"
	"math/big"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"readback/rules/expr"
)

// readings are those of a job: lengths in mm, torques in N.m, a plain count.
var readings = map[string]string{"up": "81.25", "down": "82.60", "spacer": "1.2", "nut": "48", "zero": "0", "n": "10"}

var dimensions = map[string]string{"up": "length", "down": "length", "spacer": "length", "zero": "length", "nut": "torque"}

var errUnread = errors.New("not read yet")

func reading(name string) (*big.Rat, error) {
	s, ok := readings[name]
	if !ok {
		return nil, fmt.Errorf("%s: %w", name, errUnread)
	}
	r, _ := new(big.Rat).SetString(s)
	return r, nil
}

func dimension(name string) string { return dimensions[name] }

func parse(t *testing.T, text string) *expr.Expr {
	t.Helper()
	e, err := expr.Parse(text)
	if err != nil {
		t.Fatalf("Parse(%q): %v", text, err)
	}
	return e
}

func TestEval(t *testing.T) {
	tests := []struct{ text, want string }{
		{"down - up", "1.35"},
		{"down-up", "1.35"},
		{"2 + 3 * 4", "14"},
		{"(2 + 3) * 4", "20"},
		{"10 - 4 - 3", "3"}, // from left to right
		{"100 / 10 / 2", "5"},
		{"100 / (10 / 2)", "20"},
		{"-5 + 3", "-2"},
		{"--5", "5"},
		{"2 * -3", "-6"},
		{"-(down - up)", "-1.35"},
		{"1 / 3", "1/3"},
		{"0.1 + 0.2", "0.3"},
		{"(down - up - spacer) / 2", "0.075"},
		{"  n ", "10"},
		{"((((n))))", "10"},
		{"0 / n", "0"},
	}
	for _, tt := range tests {
		got, err := parse(t, tt.text).Eval(reading)
		want, _ := new(big.Rat).SetString(tt.want)
		if err != nil || got.Cmp(want) != 0 {
			t.Errorf("%s = %v (%v), want %s", tt.text, got, err, tt.want)
		}
	}
}

func TestEvalErrors(t *testing.T) {
	for _, text := range []string{"n / 0", "1 / zero", "1 / (up - up)", "n / -0", "1 + 2 / (3 - 3)"} {
		if got, err := parse(t, text).Eval(reading); !errors.Is(err, expr.ErrZero) {
			t.Errorf("%s = %v (%v), want a division by zero", text, got, err)
		}
	}
	for text, want := range map[string]string{"1 / zero": "zero: division by zero", "1 / (up - up)": "division by zero"} {
		if _, err := parse(t, text).Eval(reading); err == nil || err.Error() != want {
			t.Errorf("%s: %v, want %s", text, err, want)
		}
	}
	for _, text := range []string{"gap", "-gap", "up - gap", "gap - up", "1 / gap"} {
		if got, err := parse(t, text).Eval(reading); !errors.Is(err, errUnread) {
			t.Errorf("%s = %v (%v), want the error of the name", text, got, err)
		}
	}
}

// Computing changes neither the readings nor the numbers of the expression.
func TestEvalTwice(t *testing.T) {
	up, five := big.NewRat(3, 1), parse(t, "-up + 5")
	of := func(string) (*big.Rat, error) { return up, nil }
	a, _ := five.Eval(of)
	a.SetInt64(99)
	five5 := parse(t, "5")
	b, _ := five5.Eval(of)
	b.SetInt64(99)
	again, err := five.Eval(of)
	if err != nil || again.Cmp(big.NewRat(2, 1)) != 0 || up.Cmp(big.NewRat(3, 1)) != 0 {
		t.Errorf("the second time -up + 5 is %v (%v), up %v", again, err, up)
	}
	if b, _ = five5.Eval(of); b.Cmp(big.NewRat(5, 1)) != 0 {
		t.Errorf("the second time 5 is %v", b)
	}
}

func TestNames(t *testing.T) {
	e := parse(t, "(down - up) / 2 + down * x_1.a")
	if diff := cmp.Diff([]string{"down", "up", "x_1.a"}, e.Names()); diff != "" {
		t.Errorf("names (-want +got):\n%s", diff)
	}
	e.Names()[0] = "other"
	if e.Names()[0] != "down" || e.String() != "(down - up) / 2 + down * x_1.a" {
		t.Errorf("the expression became %s with %v", e, e.Names())
	}
}

func TestDimension(t *testing.T) {
	tests := []struct{ text, want, says string }{
		{"down - up", "length", ""},
		{"-down", "length", ""},
		{"(down - up) / 2", "length", ""},
		{"2 * nut", "torque", ""},
		{"nut * 2", "torque", ""},
		{"down / up", "", ""},
		{"down / up * nut", "torque", ""},
		{"n + 1", "", ""},
		{"n * 3 / 2", "", ""},
		{"down - nut", "", "length and torque cannot be added or subtracted"},
		{"nut + 1", "", "torque and a plain number cannot be added or subtracted"},
		{"1 - nut", "", "a plain number and torque cannot be added or subtracted"},
		{"nut * down", "", "torque times length is not supported"},
		{"nut / down", "", "torque divided by length is not supported"},
		{"1 / nut", "", "a plain number divided by torque is not supported"},
		{"(up + nut) * 2", "", "cannot be added"},
		{"2 * (up + nut)", "", "cannot be added"},
		{"-(up + nut)", "", "cannot be added"},
	}
	for _, tt := range tests {
		got, err := parse(t, tt.text).Dimension(dimension)
		switch {
		case tt.says == "" && (err != nil || got != tt.want):
			t.Errorf("%s is of dimension %q (%v), want %q", tt.text, got, err, tt.want)
		case tt.says != "" && (err == nil || !strings.Contains(err.Error(), tt.says)):
			t.Errorf("%s is of dimension %q (%v), want the error %q", tt.text, got, err, tt.says)
		}
	}
}

func TestParseFaults(t *testing.T) {
	tests := []struct {
		text string
		at   int
		says string
	}{
		{"", 0, "missing"},
		{"   ", 3, "missing"},
		{"up -", 4, "missing"},
		{"up - * down", 5, "missing"},
		{"+up", 0, "missing"},
		{"()", 1, "missing"},
		{"(up", 3, "not closed"},
		{"up)", 2, `")" does not belong here`},
		{"up down", 3, `"down" does not belong here`},
		{"up ^ 2", 3, "does not belong here"},
		{"2x", 0, "not a decimal number"},
		{"1.", 0, "not a decimal number"},
		{"1.2.3", 0, "not a decimal number"},
		{"up + 1234567890123456", 5, "not a decimal number"},
		{"1e9", 0, "not a decimal number"},
		{"up\t- down", 2, "does not belong here"},
		{"né", 1, "does not belong here"},
		{"\xff", 0, "missing"},
	}
	for _, tt := range tests {
		e, err := expr.Parse(tt.text)
		fault, ok := errors.AsType[*expr.Error](err)
		if !ok {
			t.Errorf("Parse(%q) = %v, %v, want an *expr.Error", tt.text, e, err)
			continue
		}
		if fault.At != tt.at || !strings.Contains(fault.Wrong, tt.says) || fault.Error() != fault.Wrong {
			t.Errorf("Parse(%q): %q at %d, want %q at %d", tt.text, fault.Wrong, fault.At, tt.says, tt.at)
		}
	}
}

func TestBounds(t *testing.T) {
	nested := func(n int) string { return strings.Repeat("(", n) + "1" + strings.Repeat(")", n) }
	if _, err := expr.Parse(nested(expr.MaxDepth - 1)); err != nil {
		t.Errorf("%d brackets: %v", expr.MaxDepth-1, err)
	}
	for _, text := range []string{nested(expr.MaxDepth), nested(200), strings.Repeat("-", expr.MaxDepth) + "1"} {
		if _, err := expr.Parse(text); err == nil || !strings.Contains(err.Error(), "nested more than 20 deep") {
			t.Errorf("Parse(%q): %v", text, err)
		}
	}
	long := "1" + strings.Repeat("+1", (expr.MaxLength-1)/2)
	if e, err := expr.Parse(long); err != nil {
		t.Errorf("%d characters: %v", len(long), err)
	} else if got, err := e.Eval(reading); err != nil || got.Cmp(big.NewRat(int64(len(long)+1)/2, 1)) != 0 {
		t.Errorf("%d ones are %v (%v)", (len(long)+1)/2, got, err)
	}
	if _, err := expr.Parse(long + " + 1"); err == nil || !strings.Contains(err.Error(), "longer than 500 characters") {
		t.Errorf("%d characters: %v", len(long)+4, err)
	}
}

// Sums of the same readings do not depend on how they are grouped.
func TestGrouping(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := rapid.IntRange(0, 999).Draw(t, "a"), rapid.IntRange(0, 999).Draw(t, "b"), rapid.IntRange(1, 999).Draw(t, "c")
		for _, pair := range [][2]string{
			{"%d - %d - %d", "%d - (%d + %d)"},
			{"(%d + %d) / %d", "((%d + %d) / %d)"},
			{"%d + %d / %d", "%d + (%d / %d)"},
		} {
			left, err := expr.Parse(fmt.Sprintf(pair[0], a, b, c))
			right, err2 := expr.Parse(fmt.Sprintf(pair[1], a, b, c))
			if err != nil || err2 != nil {
				t.Fatal(err, err2)
			}
			x, err := left.Eval(reading)
			y, err2 := right.Eval(reading)
			if err != nil || err2 != nil || x.Cmp(y) != 0 {
				t.Fatalf("%s = %v, %s = %v", left, x, right, y)
			}
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"down - up", "(a + b) / 2", "--1", "((", "1..2", "a b", "0.5*-n", "1/0", "\xff", strings.Repeat("(", 30)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		e, err := expr.Parse(text)
		if err != nil {
			fault, ok := errors.AsType[*expr.Error](err)
			if !ok || fault.At < 0 || fault.At > len(text) || fault.Wrong == "" {
				t.Fatalf("Parse(%q): %#v", text, err)
			}
			return
		}
		for _, name := range e.Names() {
			if name == "" || !strings.Contains(text, name) {
				t.Fatalf("Parse(%q) has the name %q", text, name)
			}
		}
		one := func(string) (*big.Rat, error) { return big.NewRat(1, 1), nil }
		x, err := e.Eval(one)
		y, err2 := e.Eval(one)
		if (err == nil) != (err2 == nil) || err == nil && x.Cmp(y) != 0 {
			t.Fatalf("%q is %v (%v), then %v (%v)", text, x, err, y, err2)
		}
		if err != nil && !errors.Is(err, expr.ErrZero) {
			t.Fatalf("%q: %v", text, err)
		}
		if again, err := expr.Parse(e.String()); err != nil || again.String() != text {
			t.Fatalf("%q does not come back: %v", text, err)
		}
	})
}
