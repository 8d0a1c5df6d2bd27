package say_test

import (
	"testing"

	"pgregory.net/rapid"

	"readback/parse"
	"readback/parse/number"
	"readback/parse/unit"
	"readback/rules/say"
)

// heard fails the test unless what is said of v is heard as exactly v again.
func heard(t interface {
	Helper()
	Errorf(format string, args ...any)
}, v number.Value, code string,
) {
	t.Helper()
	said := say.Quantity(v, code)
	got := parse.Quantities(said)
	if len(got) != 1 || got[0].Value != v || got[0].Unit != code {
		t.Errorf("%s %s is said %q, which is heard as %v", v, code, said, got)
		return
	}
	if got[0].Start != 0 || got[0].End != len(said) {
		t.Errorf("%q is heard only from %d to %d", said, got[0].Start, got[0].End)
	}
}

// tenth is read as a fraction of a thou, and heard so: the same size in other words.
const tenth = "10*-4.[in_i]"

// codes lists the units that the tool's own words for them leave no doubt about: not
// degrees of angle nor pounds of mass, which are asked about.
func codes() []string {
	var out []string
	for _, u := range unit.All() {
		alone := u.Code != tenth
		for _, f := range u.Forms {
			if f.Slang && f.Rank > 0 && (f.Say == u.One || f.Say == u.Many) {
				alone = false
			}
		}
		if alone {
			out = append(out, u.Code)
		}
	}
	return out
}

func TestTenthsOfAThouKeepTheirSize(t *testing.T) {
	for n := int64(1); n < 100; n++ {
		got := parse.Quantities(say.Quantity(number.Int(n), tenth))
		if len(got) != 1 {
			t.Errorf("%d tenths of a thou are heard as %v", n, got)
			continue
		}
		size, err := unit.Convert(got[0].Value.Rat(), got[0].Unit, tenth)
		if err != nil || size.Cmp(number.Int(n).Rat()) != 0 {
			t.Errorf("%d tenths of a thou are heard as %v (%v)", n, got, err)
		}
	}
}

func TestEveryUnitIsHeardAgain(t *testing.T) {
	for _, code := range codes() {
		for _, s := range []string{"1", "2", "48", "0.05", "-5", "99.50", "101", "120", "1005"} {
			heard(t, value(t, s), code)
		}
	}
}

func TestEveryFractionIsHeardAgain(t *testing.T) {
	for den := int64(3); den <= 64; den++ {
		for num := int64(1); num < 2*den; num++ {
			if v, ok := number.Fraction(num, den); ok {
				heard(t, v, "[in_i]")
			}
		}
	}
}

func TestWhatIsSaidIsHeardAgain(t *testing.T) {
	all := codes()
	rapid.Check(t, func(t *rapid.T) {
		code := rapid.SampledFrom(all).Draw(t, "code")
		v, ok := number.Decimal(rapid.Int64Range(-999_999_999_999_999, 999_999_999_999_999).Draw(t, "digits"), rapid.IntRange(0, 15).Draw(t, "scale"))
		if rapid.Bool().Draw(t, "fraction") {
			v, ok = number.Fraction(rapid.Int64Range(-999_999, 999_999).Draw(t, "num"), rapid.Int64Range(3, 64).Draw(t, "den"))
		}
		if den := v.Rat().Denom().Int64(); den > 12 && den <= 64 && den%10 == 2 && code == "1" {
			return // "thirty-seconds" with no unit behind it are a time
		}
		if ok {
			heard(t, v, code)
		}
	})
}

// Integers alone, large and small: no pair, no digit string may come of them.
func TestIntegersAreHeardAgain(t *testing.T) {
	for n := int64(-20); n <= 2100; n++ {
		heard(t, number.Int(n), "N.m")
		heard(t, number.Int(n), "1")
	}
}
