package drift

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Interval holds the true value with the confidence Level, from 0 to 1.
type Interval struct {
	Lower, Upper float64
	Level        float64
}

// Holds reports whether v is in the interval, ends included.
func (i Interval) Holds(v float64) bool { return i.Lower <= v && v <= i.Upper }

// checkLevel wants a confidence level that quantiles can be found for.
func checkLevel(level float64) error {
	if level >= 0.5 && level <= 0.9999 {
		return nil
	}
	return badPlan(fmt.Sprintf("a confidence of %v is out of range", level), "give one from 0.5 to 0.9999, such as 0.95")
}

// student returns the t for which a share of level lies within ±t, in Student's
// distribution with df degrees of freedom, not always whole. It asks for the middle, not
// for a tail, so that nothing cancels where df is large.
func student(level, df float64) float64 {
	y := mathext.InvRegIncBeta(0.5, df/2, level) // t²/(df+t²)
	return math.Sqrt(df * y / (1 - y))
}

// normal returns the z for which a share of level lies within ±z.
func normal(level float64) float64 { return mathext.NormalQuantile((1 + level) / 2) }

// chi2 returns the value below which a share of p lies, in the chi-squared distribution
// with df degrees of freedom.
func chi2(p, df float64) float64 { return 2 * mathext.GammaIncRegInv(df/2, p) }
