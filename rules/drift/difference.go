package drift

import (
	"fmt"
	"math"
)

// Difference is how far one mean is above another.
type Difference struct {
	Value     float64
	Interval          // of Value
	DF        float64 // degrees of freedom, not always whole (Welch and Satterthwaite)
	N, Others int     // readings on each side
}

// Shown reports whether the interval leaves 0 out.
func (d Difference) Shown() bool { return !d.Holds(0) }

// Welch returns the difference of the means of a and b, which need not vary alike: the
// interval by Student's t with the degrees of freedom of Welch and Satterthwaite
// (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.3). Both need two readings, and
// one of them spread. An error is an [*Error].
func Welch(a, b Summary, level float64) (Difference, error) {
	if err := checkLevel(level); err != nil {
		return Difference{}, err
	}
	if n := min(a.N, b.N); n < 2 {
		return Difference{}, few(max(n, 0), 2)
	}
	d := Difference{Value: a.Mean - b.Mean, N: a.N, Others: b.N}
	return d.within(level, part{a.SD, 1 / float64(a.N), a.N - 1}, part{b.SD, 1 / float64(b.N), b.N - 1})
}

// part is what one side adds to the variance of a difference: factor sd².
type part struct {
	sd, factor float64
	df         int
}

// within gives d its interval.
func (d Difference) within(level float64, a, b part) (Difference, error) {
	ea, eb := a.sd*math.Sqrt(a.factor), b.sd*math.Sqrt(b.factor)
	se := math.Hypot(ea, eb)
	if !(se > 0) {
		return Difference{}, &Error{
			NoSpread, fmt.Sprintf("the %d readings never differ from each other within a side", d.N+d.Others),
			"a difference needs readings that vary: take them with a finer instrument",
		}
	}
	ra, rb := ea/se*(ea/se), eb/se*(eb/se)
	d.DF = 1 / (ra*ra/float64(a.df) + rb*rb/float64(b.df))
	half := student(level, d.DF) * se
	d.Interval = Interval{d.Value - half, d.Value + half, level}
	return d, nil
}

// Together returns the level at which each of m comparisons is to be made so that all of
// them hold with the given confidence (Bonferroni): a lead who looks at every instrument
// in turn finds one that is off by chance.
func Together(level float64, m int) float64 { return 1 - (1-level)/float64(max(m, 1)) }
