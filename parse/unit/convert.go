package unit

import (
	"fmt"
	"math/big"

	"readback/parse/number"
)

// Convert returns v, a quantity in the unit from, in the unit to. It is exact, and v
// is left alone. The error, for codes that are none and for units that measure
// different things, is meant for the author of a spec.
func Convert(v *big.Rat, from, to string) (*big.Rat, error) { return convert(v, from, to, false) }

// ConvertInterval is [Convert] for differences, tolerances and uncertainties: 18
// [degF] are 10 K, not -7.8 Cel.
func ConvertInterval(v *big.Rat, from, to string) (*big.Rat, error) {
	return convert(v, from, to, true)
}

func convert(v *big.Rat, from, to string, interval bool) (*big.Rat, error) {
	a, b, err := pair(from, to)
	if err != nil {
		return nil, err
	}
	if interval {
		a, b = a.Interval(), b.Interval()
	}
	out := new(big.Rat).Mul(v, a.Factor)
	if a.Offset != nil {
		out.Add(out, a.Offset)
	}
	if b.Offset != nil {
		out.Sub(out, b.Offset)
	}
	return out.Quo(out, b.Factor), nil
}

// pair parses two codes that must be of one dimension.
func pair(from, to string) (a, b Measure, err error) {
	if a, err = Parse(from); err != nil {
		return a, b, err
	}
	if b, err = Parse(to); err != nil {
		return a, b, err
	}
	if !a.Comparable(b) {
		return a, b, fmt.Errorf("%s is %s and %s is %s: neither converts into the other", from, name(from, a), to, name(to, b))
	}
	return a, b, nil
}

// name says what a unit measures.
func name(code string, m Measure) string {
	if u, ok := Lookup(code); ok {
		return string(u.Dimension)
	}
	return m.String()
}

// Show returns v, said in the unit from, as it is shown in the unit to: rounded so
// that its largest rounding error fits that of the number that was said, never
// coarser (NIST SP 811, B.7.2). 48 N.m is shown as 35.4 ft.lbf, 35.0 ft.lbf as 47.5
// N.m, 36 ft as 11.0 m. It is for show alone: limits are compared before rounding.
func Show(v number.Value, from, to string) (string, error) {
	if from == to {
		return v.String(), nil
	}
	y, err := Convert(v.Rat(), from, to)
	if err != nil {
		return "", err
	}
	a, b, err := pair(from, to)
	if err != nil {
		return "", err
	}
	step := new(big.Rat).Quo(a.Factor, b.Factor) // a step of 1 there, in the unit here
	return Round(y, place(step.Mul(step, lastDigit(v)))), nil
}

// lastDigit returns the size of the last digit that was said: 0.1 for 48.2. A
// fraction, which has none, counts as four significant digits.
func lastDigit(v number.Value) *big.Rat {
	if v.Scale() > 0 || v.Rat().IsInt() {
		return ten(-v.Scale())
	}
	size := new(big.Rat).Abs(v.Rat())
	return ten(place(size) - 3)
}

// place returns the greatest power of ten that is not above x, for x > 0.
func place(x *big.Rat) int {
	x = new(big.Rat).Abs(x)
	d := 0
	for x.Cmp(ten(d)) < 0 {
		d--
	}
	for x.Cmp(ten(d+1)) >= 0 {
		d++
	}
	return d
}

// ten returns 10^n.
func ten(n int) *big.Rat { return Measure{Factor: big.NewRat(1, 1)}.scaled(n).Factor }

// Round writes y rounded to a multiple of 10^place, ties to the even one: Round of
// 47.453 to place -1 is "47.5", of 689476 to place 3 "689000".
func Round(y *big.Rat, place int) string {
	steps := new(big.Rat).Quo(y, ten(place))
	n, rest := new(big.Int).DivMod(steps.Num(), steps.Denom(), new(big.Int))
	switch twice := rest.Lsh(rest, 1).Cmp(steps.Denom()); {
	case twice > 0, twice == 0 && n.Bit(0) == 1:
		n.Add(n, big.NewInt(1))
	}
	out := new(big.Rat).Mul(new(big.Rat).SetInt(n), ten(place))
	return out.FloatString(max(0, -place))
}
