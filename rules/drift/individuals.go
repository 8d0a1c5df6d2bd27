package drift

import (
	"fmt"
	"math"
)

// Factors of a moving range of two: for readings that are normal and independent, the
// mean range is D2 sigma. Tables print them rounded, D2 as 1.128, and so 3/D2 as 2.66 and
// D4 as 3.267.
const (
	// D2 is 2/√π.
	D2 = 1.1283791670955126
	// D4 is 1 + 3 √(π/2 - 1): the upper limit of the ranges over their mean.
	D4 = 3.2665319192886013
	// Width is how many sigma the limits of a chart are from its centre.
	Width = 3
)

// leastForLimits is how many readings make limits that are no longer called provisional:
// common practice asks for 20 to 25.
const leastForLimits = 20

// Individuals is the chart of individual readings with their moving ranges, in the order
// in which they were taken.
type Individuals struct {
	Values []float64 // the readings that were handed in, not a copy
	Base   int       // how many of the first readings the limits come from

	Centre       float64 // the mean of the base
	Sigma        float64 // the base's mean moving range over D2: what varies from one reading to the next
	Lower, Upper float64 // Centre ∓ Width Sigma

	Ranges     []float64 // |Values[i+1] - Values[i]|
	MeanRange  float64   // of the base
	RangeUpper float64   // D4 MeanRange; the lower limit is 0
	WideRanges []int     // the readings, from 0, whose range from the one before is over RangeUpper

	Set      Set
	Signals  []Signal // by the first reading at which they fired
	Cautions []string // what weakens the chart, each in a sentence
}

// NewIndividuals returns the chart of at least two readings, in order of time, and the run
// rules of set that fired. The limits are made from the first base readings, and the others
// are judged by them; with base 0 all readings make them. An error is an [*Error].
func NewIndividuals(x []float64, base int, set Set) (Individuals, error) {
	if err := check(x, 2); err != nil {
		return Individuals{}, err
	}
	if base == 0 {
		base = len(x)
	}
	if base < 2 || base > len(x) {
		return Individuals{}, badPlan(fmt.Sprintf("limits cannot come from %d of %s", base, counted(len(x))),
			fmt.Sprintf("take at least 2 and at most %d for them", len(x)))
	}
	c := Individuals{Values: x, Base: base, Set: set, Ranges: make([]float64, len(x)-1)}
	for i := range c.Ranges {
		c.Ranges[i] = math.Abs(x[i+1] - x[i])
	}
	s := summarise(x[:base])
	if s.SD == 0 {
		return Individuals{}, noSpread(s)
	}
	c.Centre, c.MeanRange = s.Mean, mean(c.Ranges[:base-1])
	c.Sigma = c.MeanRange / D2
	c.Lower, c.Upper, c.RangeUpper = c.Centre-Width*c.Sigma, c.Centre+Width*c.Sigma, D4*c.MeanRange
	for i, r := range c.Ranges {
		if r > c.RangeUpper {
			c.WideRanges = append(c.WideRanges, i+1)
		}
	}
	c.Signals = set.on(x, c.Centre, c.Sigma)
	c.Cautions = cautions(x[:base], s)
	return c, nil
}

// cautions says what weakens limits that come from these readings.
func cautions(x []float64, s Summary) (out []string) {
	if s.N < leastForLimits {
		out = append(out, fmt.Sprintf("The limits come from %s; with fewer than %d they are provisional.", counted(s.N), leastForLimits))
	}
	if n := distinct(x, 4); n < 4 && s.N >= 8 {
		out = append(out, fmt.Sprintf("The %d readings have only %d different values: read in such coarse steps, they make the limits unsure.", s.N, n))
	}
	if c := follow(x, s); c != "" {
		out = append(out, c)
	}
	return out
}

// follow warns where readings are not independent: their autocorrelation is more than 2/√n
// from 0, as about one independent series in twenty is.
func follow(x []float64, s Summary) string {
	if s.N < 8 || s.SD == 0 {
		return ""
	}
	switch r := lag1(x); {
	case r > 2/math.Sqrt(float64(s.N)):
		return fmt.Sprintf("Each reading is like the one before (autocorrelation %.2f): limits and confidence are narrower than they should be.", r)
	case r < -2/math.Sqrt(float64(s.N)):
		return fmt.Sprintf("High and low readings take turns (autocorrelation %.2f): limits and confidence are wider than they should be.", r)
	}
	return ""
}

// distinct counts the different values of x, up to enough.
func distinct(x []float64, enough int) int {
	var seen []float64
next:
	for _, v := range x {
		for _, s := range seen {
			if s == v {
				continue next
			}
		}
		if seen = append(seen, v); len(seen) == enough {
			break
		}
	}
	return len(seen)
}
