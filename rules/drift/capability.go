package drift

import (
	"fmt"
	"math"

	"readback/rules/decide"
)

// Sizes of a sample that capability is worth something from (NIST/SEMATECH e-Handbook,
// 6.1.6, from memory): under the first its formulas of confidence do not hold well, and a
// study of capability wants the second.
const (
	leastForConfidence = 25
	leastForCapability = 100
)

// Index is a capability index with its confidence interval.
type Index struct {
	Value float64
	Interval
}

// Capability is how well readings keep within their limits, if they are normal and do not
// drift. Its sigma is the standard deviation of all the readings; indices from that are
// also called performance, Pp and Ppk. An index that a missing limit leaves open is nil.
type Capability struct {
	Summary
	Limits decide.Limits
	Cp     *Index // (Max - Min) / 6 s: what could be, if the mean were in the middle
	Cpl    *Index // (mean - Min) / 3 s
	Cpu    *Index // (Max - mean) / 3 s
	Cpk    *Index // the smaller of Cpl and Cpu, or the only one
	// Outside counts the readings beyond a limit, compared as float64.
	Outside  int
	Small    bool     // fewer than 25 readings: the intervals are rough, and the indices worth little
	Steady   bool     // no reading is beyond the limits of its own chart of individuals
	Cautions []string // what weakens the indices, each in a sentence
}

// NewCapability returns the capability of at least two readings, in order of time, with
// limits of which one end may be NaN for open. Intervals of Cp come from the chi-squared
// distribution: Cp √(χ²(α/2, n-1)/(n-1)) to the same with 1-α/2; those of the others are
// approximate: C ± z √(1/9n + C²/2(n-1)). Both are in the NIST/SEMATECH e-Handbook of
// Statistical Methods, 6.1.6; that of Cpk is from A. F. Bissell, Applied Statistics 39,
// 1990 (from memory). An error is an [*Error].
func NewCapability(x []float64, limits decide.Limits, level float64) (Capability, error) {
	if err := checkLimits(limits); err != nil {
		return Capability{}, err
	}
	if err := checkLevel(level); err != nil {
		return Capability{}, err
	}
	chart, err := NewIndividuals(x, 0, LimitsAlone())
	if err != nil {
		return Capability{}, err
	}
	c := Capability{Summary: summarise(x), Limits: limits, Steady: len(chart.Signals) == 0}
	c.Small = c.N < leastForConfidence
	for _, v := range x {
		if v < limits.Min || v > limits.Max { // false for an open end
			c.Outside++
		}
	}
	c = c.withIndices(level)
	c.Cautions = c.cautions(len(chart.Signals))
	if f := follow(x, c.Summary); f != "" {
		c.Cautions = append(c.Cautions, f)
	}
	return c, nil
}

// withIndices returns c with all the indices that its limits allow.
func (c Capability) withIndices(level float64) Capability {
	lower, upper := !math.IsNaN(c.Limits.Min), !math.IsNaN(c.Limits.Max)
	if lower {
		c.Cpl = c.oneSided((c.Mean-c.Limits.Min)/(3*c.SD), level)
		c.Cpk = c.Cpl
	}
	if upper {
		c.Cpu = c.oneSided((c.Limits.Max-c.Mean)/(3*c.SD), level)
		if c.Cpk == nil || c.Cpu.Value < c.Cpk.Value {
			c.Cpk = c.Cpu
		}
	}
	if lower && upper {
		cp, df := (c.Limits.Max-c.Limits.Min)/(6*c.SD), float64(c.N-1)
		c.Cp = &Index{cp, Interval{
			cp * math.Sqrt(chi2((1-level)/2, df)/df), cp * math.Sqrt(chi2((1+level)/2, df)/df), level,
		}}
	}
	return c
}

// oneSided returns the index with its approximate interval.
func (c Capability) oneSided(v, level float64) *Index {
	n := float64(c.N)
	half := normal(level) * math.Sqrt(1/(9*n)+v*v/(2*(n-1)))
	return &Index{v, Interval{v - half, v + half, level}}
}

func (c Capability) cautions(beyond int) (out []string) {
	switch {
	case c.Small:
		out = append(out, fmt.Sprintf("A small sample: %s. Under %d the confidence is rough, and the index worth little.",
			counted(c.N), leastForConfidence))
	case c.N < leastForCapability:
		out = append(out, fmt.Sprintf("%s are few: a study of capability wants %d.", counted(c.N), leastForCapability))
	}
	if beyond > 0 {
		out = append(out, fmt.Sprintf("%s beyond the limits of the readings' own chart: what is not steady has no capability yet.",
			counted(beyond)))
	}
	return out
}

// Text returns Cpk in a sentence: "Cpk 0.67 (95 % confidence 0.53 to 0.80, 50 readings)."
func (c Capability) Text() string {
	small := ""
	if c.Small {
		small = ", a small sample"
	}
	return fmt.Sprintf("Cpk %.2f (%s confidence %.2f to %.2f, %s%s).", c.Cpk.Value, percent(c.Cpk.Level),
		c.Cpk.Lower, c.Cpk.Upper, counted(c.N), small)
}

// checkLimits wants at least one end, and the lower below the upper.
func checkLimits(l decide.Limits) error {
	bad := func(wrong, do string) error { return &Error{BadLimits, wrong, do} }
	switch {
	case math.IsNaN(l.Min) && math.IsNaN(l.Max):
		return bad("there are no limits", "capability needs at least one: give the callout limits in its spec")
	case math.Abs(l.Min) > Largest || math.Abs(l.Max) > Largest: // false for an open end
		return bad(fmt.Sprintf("limits of %v to %v are beyond what is taken", l.Min, l.Max), "leave an end open that nothing limits")
	case l.Min >= l.Max:
		return bad(fmt.Sprintf("the lower limit %v is not below the upper %v", l.Min, l.Max), "give the smaller one first")
	}
	return nil
}
