// Package number reads numbers as technicians say and write them, exactly: digits,
// words, pairs ("one twenty"), digit strings ("two oh five"), fractions and
// exponents. It never uses floating point.
//
// Start reading at [Read]; [Value] is what comes out.
package number

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"
)

// MaxDigits is the longest number, in decimal digits, that is taken for a reading.
// Anything longer is no measurement, and is refused rather than rounded.
const MaxDigits = 15

// Value is an exact number as it was said: a decimal that keeps its written
// resolution (99.50 is not 99.5), or a fraction in lowest terms where no decimal is
// finite (2/3). The zero Value is 0. Values are comparable with ==, which compares
// what was said; [Value.Rat] compares sizes.
type Value struct {
	num   int64 // the digits, with the sign
	den   int64 // 0 for a decimal, else the denominator of a fraction without finite decimal
	scale int8  // decimals after the point; 0 for a fraction
}

// Decimal returns digits × 10^-scale. A negative scale is written out in full:
// Decimal(3, -3) is 3000. ok is false where the number would be longer than
// [MaxDigits].
func Decimal(digits int64, scale int) (v Value, ok bool) {
	for ; scale < 0; scale++ {
		if digits > limit/10 || digits < -limit/10 {
			return Value{}, false
		}
		digits *= 10
	}
	if scale > MaxDigits || digits > limit || digits < -limit {
		return Value{}, false
	}
	return Value{num: digits, scale: int8(scale)}, true
}

// Int returns n as a Value. n must not be longer than [MaxDigits].
func Int(n int64) Value { return Value{num: n} }

// limit is the largest number of MaxDigits digits.
const limit = 999_999_999_999_999

// Fraction returns num/den: a decimal where one is finite within [MaxDigits], else a
// fraction in lowest terms. ok is false for a zero denominator or too long a number.
func Fraction(num, den int64) (v Value, ok bool) {
	if den == 0 || num > limit || num < -limit || den > limit || den < -limit {
		return Value{}, false
	}
	if den < 0 {
		num, den = -num, -den
	}
	g := gcd(num, den)
	num, den = num/g, den/g
	scale, pow := 0, int64(1)
	for scale <= MaxDigits && pow%den != 0 {
		scale, pow = scale+1, pow*10
	}
	if scale > MaxDigits {
		return Value{num: num, den: den}, true
	}
	times := pow / den
	if num > limit/times || num < -limit/times {
		return Value{num: num, den: den}, true
	}
	return Value{num: num * times, scale: int8(scale)}, true
}

func gcd(a, b int64) int64 {
	if a < 0 {
		a = -a
	}
	for b != 0 {
		a, b = b, a%b
	}
	return max(a, 1)
}

// Rat returns the exact size of v, as a new number.
func (v Value) Rat() *big.Rat {
	if v.den != 0 {
		return big.NewRat(v.num, v.den)
	}
	return big.NewRat(v.num, pow10(int(v.scale)))
}

// Scale returns the number of decimals that were said: 2 for 99.50. It is 0 for a
// fraction.
func (v Value) Scale() int { return int(v.scale) }

// Sign returns -1, 0 or 1.
func (v Value) Sign() int {
	switch {
	case v.num < 0:
		return -1
	case v.num > 0:
		return 1
	}
	return 0
}

// Whole returns v as an integer where it was said as one.
func (v Value) Whole() (n int64, ok bool) { return v.num, v.den == 0 && v.scale == 0 }

// Neg returns -v.
func (v Value) Neg() Value {
	v.num = -v.num
	return v
}

// Same reports whether v and w are the same size, however they were written.
func (v Value) Same(w Value) bool {
	return v == w || v.Rat().Cmp(w.Rat()) == 0
}

// Shift returns v × 10^n, keeping every digit that was said. ok is false where that
// would be longer than [MaxDigits].
func (v Value) Shift(n int) (w Value, ok bool) {
	if v.den == 0 {
		return Decimal(v.num, int(v.scale)-n)
	}
	if n > MaxDigits || n < -MaxDigits {
		return Value{}, false
	}
	times := pow10(max(n, -n))
	if n < 0 {
		g := gcd(v.num, times)
		return Fraction(v.num/g, product(v.den, times/g))
	}
	g := gcd(v.den, times)
	return Fraction(product(v.num, times/g), v.den/g)
}

// product returns a×b for b > 0, or a number longer than [MaxDigits] where it is one.
func product(a, b int64) int64 {
	if a > limit/b || a < -limit/b {
		return limit + 1
	}
	return a * b
}

// Times returns v × n, written out; ok is false where it would be too long.
func (v Value) Times(n int64) (Value, bool) {
	den := v.den
	if den == 0 {
		den = pow10(int(v.scale))
	}
	if n <= 0 || v.num > limit/n || v.num < -limit/n {
		return v, false
	}
	return Fraction(v.num*n, den)
}

func pow10(n int) int64 {
	p := int64(1)
	for range n {
		p *= 10
	}
	return p
}

// Plus returns v + n, at the resolution of v. ok is false where the sum would be longer than
// [MaxDigits].
func (v Value) Plus(n int64) (sum Value, ok bool) {
	if n > limit || n < -limit {
		return Value{}, false
	}
	unit := v.den
	if unit == 0 {
		unit = pow10(int(v.scale))
	}
	if n > limit/unit || n < -limit/unit {
		return Value{}, false
	}
	v.num += n * unit
	return v, v.num <= limit && v.num >= -limit
}

// String writes v as it was said: "99.50", "-5", "2/3".
func (v Value) String() string {
	if v.den != 0 {
		return strconv.FormatInt(v.num, 10) + "/" + strconv.FormatInt(v.den, 10)
	}
	if v.scale == 0 {
		return strconv.FormatInt(v.num, 10)
	}
	digits, sign := strconv.FormatInt(v.num, 10), ""
	if v.num < 0 {
		digits, sign = digits[1:], "-"
	}
	if pad := int(v.scale) + 1 - len(digits); pad > 0 {
		digits = strings.Repeat("0", pad) + digits
	}
	at := len(digits) - int(v.scale)
	return sign + digits[:at] + "." + digits[at:]
}

// MarshalText writes v as [Value.String] does.
func (v Value) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// UnmarshalText reads what [Value.MarshalText] wrote.
func (v *Value) UnmarshalText(text []byte) error {
	w, ok := Parse(string(text))
	if !ok {
		return fmt.Errorf("number %q: not a decimal or a fraction of at most %d digits", text, MaxDigits)
	}
	*v = w
	return nil
}

// Parse reads the machine form of a value: an optional sign, digits, and either a
// point with digits or "/" with digits. Nothing else is accepted: no exponent, no
// spaces, no separators.
func Parse(s string) (v Value, ok bool) {
	top, bottom, fraction := strings.Cut(s, "/")
	if fraction {
		n, err := strconv.ParseInt(top, 10, 64)
		d, err2 := strconv.ParseInt(bottom, 10, 64)
		if err != nil || err2 != nil || bottom[0] == '-' || bottom[0] == '+' || top[0] == '+' {
			return Value{}, false
		}
		return Fraction(n, d)
	}
	whole, decimals, point := strings.Cut(s, ".")
	if point && (decimals == "" || whole == "" || whole == "-" || strings.Trim(decimals, "0123456789") != "") {
		return Value{}, false
	}
	if len(whole)+len(decimals) > MaxDigits+2 || strings.HasPrefix(whole, "+") {
		return Value{}, false
	}
	n, err := strconv.ParseInt(whole+decimals, 10, 64)
	if err != nil {
		return Value{}, false
	}
	return Decimal(n, len(decimals))
}
