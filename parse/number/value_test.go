package number_test

import (
	"encoding/json"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"readback/parse"
	"readback/parse/number"
)

func TestDecimal(t *testing.T) {
	tests := []struct {
		digits int64
		scale  int
		want   string // "" where it is refused
	}{
		{48, 0, "48"},
		{9950, 2, "99.50"},
		{995, 1, "99.5"},
		{5, 2, "0.05"},
		{-5, 1, "-0.5"},
		{0, 2, "0.00"},
		{3, -3, "3000"},
		{999_999_999_999_999, 0, "999999999999999"},
		{1, 15, "0.000000000000001"},
		{1_000_000_000_000_000, 0, ""}, // 16 digits
		{-1_000_000_000_000_000, 0, ""},
		{1, 16, ""},
		{1, -15, ""},
		{9, -100_000, ""},
		{-9, -100_000, ""},
	}
	for _, tt := range tests {
		v, ok := number.Decimal(tt.digits, tt.scale)
		if ok != (tt.want != "") || ok && v.String() != tt.want {
			t.Errorf("Decimal(%d, %d) = %s, %v, want %q", tt.digits, tt.scale, v, ok, tt.want)
		}
	}
}

func TestFraction(t *testing.T) {
	tests := []struct {
		num, den int64
		want     string // "" where it is refused
	}{
		{1, 8, "0.125"},
		{3, 16, "0.1875"},
		{31, 64, "0.484375"},
		{1, 3, "1/3"},
		{2, 6, "1/3"},
		{-2, 3, "-2/3"},
		{2, -3, "-2/3"},
		{-2, -3, "2/3"},
		{6, 3, "2"},
		{0, 7, "0"},
		{7, 0, ""},
		{1_000_000_000_000_000, 3, ""},
		{1, 1_000_000_000_000_000, ""},
	}
	for _, tt := range tests {
		v, ok := number.Fraction(tt.num, tt.den)
		if ok != (tt.want != "") || ok && v.String() != tt.want {
			t.Errorf("Fraction(%d, %d) = %s, %v, want %q", tt.num, tt.den, v, ok, tt.want)
		}
	}
}

func TestParse(t *testing.T) {
	for _, s := range []string{"0", "48", "-5", "99.50", "0.05", "-0.5", "1/3", "-2/3", "999999999999999", "0.000000000000001"} {
		if v, ok := number.Parse(s); !ok || v.String() != s {
			t.Errorf("Parse(%q) = %s, %v", s, v, ok)
		}
	}
	refused := []string{
		"", "-", ".", "1.", ".5", "-.5", "+1", "1e3", " 1", "1 ", "1,5", "1/0", "1/-3", "1/+3", "+1/3", "1/", "/3", "1//3", "1/3/5", "1.5/3",
		"--1", "1.-5", "1.2.3", "0x1", "１", "1_000", "NaN", "Inf", "1000000000000000", "0.1000000000000000", "99999999999999999999",
	}
	for _, s := range refused {
		if v, ok := number.Parse(s); ok {
			t.Errorf("Parse(%q) = %s, want a refusal", s, v)
		}
	}
}

func TestSignWholeScale(t *testing.T) {
	tests := []struct {
		s     string
		sign  int
		whole bool
		scale int
	}{
		{"0", 0, true, 0},
		{"-5", -1, true, 0},
		{"5.0", 1, false, 1},
		{"2/3", 1, false, 0},
		{"-2/3", -1, false, 0},
		{"0.00", 0, false, 2},
	}
	for _, tt := range tests {
		v, _ := number.Parse(tt.s)
		if _, whole := v.Whole(); v.Sign() != tt.sign || whole != tt.whole || v.Scale() != tt.scale {
			t.Errorf("%s: sign %d, whole %v, scale %d", tt.s, v.Sign(), whole, v.Scale())
		}
		if v.Neg().Sign() != -tt.sign || v.Neg().Neg() != v {
			t.Errorf("-(%s) = %s", tt.s, v.Neg())
		}
	}
	var zero number.Value
	if zero.String() != "0" || zero != number.Int(0) {
		t.Errorf("the zero Value is %s", zero)
	}
}

// 99.50 is as large as 99.5 and was still said otherwise.
func TestSame(t *testing.T) {
	a, _ := number.Parse("99.50")
	b, _ := number.Parse("99.5")
	c, _ := number.Parse("199/2")
	if a == b || !a.Same(b) || !b.Same(c) || b != c {
		t.Errorf("%s, %s and %s", a, b, c)
	}
	if d, _ := number.Parse("99.51"); a.Same(d) {
		t.Errorf("%s is the same as %s", a, d)
	}
}

func TestShift(t *testing.T) {
	tests := []struct {
		s    string
		n    int
		want string
	}{
		{"48.2", 1, "482"},
		{"48.20", 1, "482.0"},
		{"48", 2, "4800"},
		{"48", -3, "0.048"},
		{"2/3", 1, "20/3"},
		{"2/3", -2, "1/150"},
		{"2/3", 6, "2000000/3"},
		{"2/3", -6, "1/1500000"},
		{"1/3", 14, "100000000000000/3"},
		{"1/3", 15, ""},
		{"1/3", -15, ""},
		{"-1/3", 99999, ""},
		{"1", 15, ""},
		{"1", -16, ""},
		{"9.9", 99999, ""},
	}
	for _, tt := range tests {
		v, _ := number.Parse(tt.s)
		got, ok := v.Shift(tt.n)
		if ok != (tt.want != "") || ok && got.String() != tt.want {
			t.Errorf("%s x 10^%d = %s, %v, want %q", tt.s, tt.n, got, ok, tt.want)
		}
	}
}

func TestText(t *testing.T) {
	v, _ := number.Parse("99.50")
	got, err := json.Marshal(map[string]number.Value{"v": v})
	if err != nil || string(got) != `{"v":"99.50"}` {
		t.Errorf("99.50 becomes %s (%v)", got, err)
	}
	var back map[string]number.Value
	if err := json.Unmarshal(got, &back); err != nil || back["v"] != v {
		t.Errorf("%s comes back as %s (%v)", got, back["v"], err)
	}
	if err := json.Unmarshal([]byte(`{"v":"lots"}`), &back); err == nil || !strings.Contains(err.Error(), "at most 15 digits") {
		t.Errorf("\"lots\" gives the error %v", err)
	}
}

// value draws a Value of any kind.
func value() *rapid.Generator[number.Value] {
	return rapid.Custom(func(t *rapid.T) number.Value {
		const limit = 999_999_999_999_999
		num := rapid.Int64Range(-limit, limit).Draw(t, "num")
		if rapid.Bool().Draw(t, "fraction") {
			v, _ := number.Fraction(num, rapid.Int64Range(1, limit).Draw(t, "den"))
			return v
		}
		v, _ := number.Decimal(num, rapid.IntRange(0, number.MaxDigits).Draw(t, "scale"))
		return v
	})
}

func TestStringAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := value().Draw(t, "v")
		back, ok := number.Parse(v.String())
		if !ok || back != v {
			t.Fatalf("%s comes back as %s, %v", v, back, ok)
		}
		if r, ok := new(big.Rat).SetString(v.String()); !ok || r.Cmp(v.Rat()) != 0 {
			t.Fatalf("%s is %s", v, v.Rat())
		}
	})
}

func TestShiftIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v, n := value().Draw(t, "v"), rapid.IntRange(-20, 20).Draw(t, "n")
		got, ok := v.Shift(n)
		if !ok {
			return
		}
		want := v.Rat()
		ten := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(n, -n))), nil))
		if n < 0 {
			ten.Inv(ten)
		}
		if got.Rat().Cmp(want.Mul(want, ten)) != 0 {
			t.Fatalf("%s x 10^%d = %s", v, n, got)
		}
	})
}

func TestFractionIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		num, den := rapid.Int64().Draw(t, "num"), rapid.Int64().Draw(t, "den")
		v, ok := number.Fraction(num, den)
		if ok && v.Rat().Cmp(big.NewRat(num, den)) != 0 {
			t.Fatalf("Fraction(%d, %d) = %s", num, den, v)
		}
	})
}

// A number that is too long is no reading: it is neither rounded nor cut.
func TestTooLongGivesNoQuantity(t *testing.T) {
	for _, note := range []string{
		"1e99999 mm", "1e-99999 mm", "1234567890123456 mm", "0.1234567890123456 mm", "1x10^999 bar", "9e15 Pa",
		"nine hundred trillion million bar",
		"two thousand thousand mm", "five thousand two million mm", "two hundred hundred mm", "fifty five sixty seven eighty mm", "one point two point three mm",
		"nine thousand trillion mm",
		"ninety nine hundred hundred hundred hundred hundred hundred hundred hundred trillion mm",
		"double five double five double five double five double five double five double five double five double five",
	} {
		if got := parse.Quantities(note); len(got) > 0 {
			t.Errorf("%q gives %v", note, got)
		}
	}
	if got := parse.Quantities("123456789012345 mm"); len(got) != 1 || got[0].Value.String() != "123456789012345" {
		t.Errorf("15 digits give %v", got)
	}
}

func TestPlus(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v, n := value().Draw(t, "v"), rapid.Int64Range(-9_999, 9_999).Draw(t, "n")
		sum, ok := v.Plus(n)
		if want := new(big.Rat).Add(v.Rat(), new(big.Rat).SetInt64(n)); ok && (sum.Rat().Cmp(want) != 0 || sum.Scale() != v.Scale()) {
			t.Fatalf("%s + %d = %s", v, n, sum)
		}
	})
}
