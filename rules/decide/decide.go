// Package decide says what a reading proves about its limits, given how well it was
// measured: standard uncertainties from what is known of an instrument, the probability
// that the true value conforms, and the guard band of a decision rule.
//
// Uncertainties follow the GUM (JCGM 100:2008), decision rules JCGM 106:2012. Values are
// in any one unit; probabilities and uncertainties are float64, since they are estimates.
// Whether a value is inside its limits is never decided here but exactly, by rules.
package decide

import (
	"math"
)

// Coverage is k of the expanded uncertainty U = k u: about 95 % where the distribution
// is nearly normal (GUM 6.3.3, clause number from memory).
const Coverage = 2

// Rectangular returns the standard uncertainty of a value known to lie within ±a, any
// value there being as likely: a/√3 (GUM 4.3.7, clause number from memory).
func Rectangular(a float64) float64 { return math.Abs(a) / math.Sqrt(3) }

// Step returns the standard uncertainty that comes of reading to the nearest step d of a
// scale or display: d/√12 (GUM F.2.2.1).
func Step(d float64) float64 { return math.Abs(d) / math.Sqrt(12) }

// Combine returns the standard uncertainty of a sum or difference of independent parts:
// the root of the sum of their squares (GUM 5.1.2, clause number from memory). Errors that
// the parts share would cancel in a difference; to take them as independent is the cautious
// choice.
func Combine(parts ...float64) float64 {
	sum := 0.0
	for _, p := range parts {
		sum += p * p
	}
	return math.Sqrt(sum)
}

// Limits are the ends of a tolerance; an end that is NaN is open.
type Limits struct{ Min, Max float64 }

// Open is an end that nothing limits.
func Open() float64 { return math.NaN() }

// Conformity returns the probability that the true value lies within the limits when y
// was read with the standard uncertainty u, from 0 to 1: Φ((Max-y)/u) - Φ((Min-y)/u), an
// open end leaving its term out (JCGM 106, 7.2 to 7.4). With u = 0 it is 0 or 1.
func Conformity(y, u float64, l Limits) float64 {
	if u <= 0 {
		if y < l.Min || y > l.Max { // false for an open end
			return 0
		}
		return 1
	}
	p := 1.0
	if !math.IsNaN(l.Max) {
		p = phi((l.Max - y) / u)
	}
	if !math.IsNaN(l.Min) {
		p -= phi((l.Min - y) / u)
	}
	return min(max(p, 0), 1)
}

// phi is the standard normal distribution.
func phi(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// Rule is a decision rule. The zero Rule is simple acceptance: what is inside its limits
// is in, however well it was measured.
type Rule struct {
	Guard float64 // guard band in units of U = 2u; 0 for simple acceptance, 1 for JCGM 106's g = U
}

// Band returns the width of the guard band inside each limit for the standard uncertainty
// u: g = r U (JCGM 106, 8.3.2).
func (r Rule) Band(u float64) float64 { return r.Guard * Coverage * u }

// InGuard reports whether y, which is inside its limits, lies within the guard band of one
// of them.
func (r Rule) InGuard(y, u float64, l Limits) bool {
	g := r.Band(u)
	return g > 0 && (y-l.Min < g || l.Max-y < g) // false for an open end
}

// Proves reports whether a measurement with the standard uncertainty u can show a value
// to be within the limits at all: U must leave room between them. With one limit, room is
// the distance to floor, the least value that can be.
func Proves(u float64, l Limits, floor float64) bool {
	width := l.Max - l.Min
	switch {
	case math.IsNaN(l.Min) && math.IsNaN(l.Max):
		return true
	case math.IsNaN(l.Min):
		return math.IsNaN(floor) || Coverage*u < l.Max-floor
	case math.IsNaN(l.Max):
		return Coverage*u < math.Abs(l.Min) || l.Min == 0
	}
	return 2*Coverage*u < width
}
