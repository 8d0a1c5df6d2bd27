package unit

import (
	"math/big"
	"strconv"
	"strings"
)

// The base units: UCUM's, but for the kilogram and the degree of angle, and with a
// base of its own for what is neither.
const (
	metre = iota
	kilogram
	second
	kelvin
	coulomb
	candela
	radian
	degree
	bel
	bases
)

var baseCodes = [bases]string{"m", "kg", "s", "K", "C", "cd", "rad", "deg", "B"}

// Measure is the size of a unit: a factor and the powers of the base units.
type Measure struct {
	Factor *big.Rat // of the base units
	Offset *big.Rat // K at its zero; nil where both zeros are the same
	powers [bases]int
}

// Comparable reports whether quantities in m and n convert into each other.
func (m Measure) Comparable(n Measure) bool { return m.powers == n.powers }

// Times returns the unit m·n^exp, and false where it would be no unit: Cel and [degF]
// have no products, for their zeros are not zero.
func (m Measure) Times(n Measure, exp int) (Measure, bool) {
	if m.Offset != nil || n.Offset != nil {
		return Measure{}, false
	}
	out := Measure{Factor: new(big.Rat).Set(m.Factor), powers: m.powers}
	f := n.Factor
	if exp < 0 {
		f = new(big.Rat).Inv(f)
	}
	for range max(exp, -exp) {
		out.Factor.Mul(out.Factor, f)
	}
	for i := range out.powers {
		out.powers[i] += exp * n.powers[i]
	}
	return out, true
}

// Interval returns the unit of differences: K for Cel, [degR] for [degF], m itself
// for all others.
func (m Measure) Interval() Measure {
	m.Offset = nil
	return m
}

// String writes the powers of the base units as a UCUM code: "m2.kg.s-2".
func (m Measure) String() string {
	var parts []string
	for i, p := range m.powers {
		switch p {
		case 0:
		case 1:
			parts = append(parts, baseCodes[i])
		default:
			parts = append(parts, baseCodes[i]+strconv.Itoa(p))
		}
	}
	if len(parts) == 0 {
		return "1"
	}
	return strings.Join(parts, ".")
}
