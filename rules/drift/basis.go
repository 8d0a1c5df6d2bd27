package drift

import (
	"fmt"
	"math"

	"readback/rules/decide"
)

// Basis is what a reading is told in, so that readings of several callouts compare.
type Basis string

// The bases, as they stand behind a number.
const (
	OfNominal Basis = "per cent"                      // see [OffNominal]
	OfWidth   Basis = "per cent of the limits' width" // see [OffMiddle]
)

// OffNominal returns how far a reading is from its nominal, in per cent of that: -2 for
// 47.04 at 48. It suits what errs in proportion, as a torque wrench does. An error is an
// [*Error].
func OffNominal(value, nominal float64) (float64, error) {
	if !sound(nominal) || nominal == 0 {
		return 0, &Error{BadLimits, fmt.Sprintf("a nominal of %v has no per cent", nominal), "compare by the width of the limits"}
	}
	return share(value, nominal, math.Abs(nominal))
}

// OffMiddle returns how far a reading is from the middle of its limits, in per cent of
// their width: 50 on the upper one. Both ends must be closed. An error is an [*Error].
func OffMiddle(value float64, limits decide.Limits) (float64, error) {
	if err := checkLimits(limits); err != nil {
		return 0, err
	}
	if math.IsNaN(limits.Min) || math.IsNaN(limits.Max) {
		return 0, &Error{BadLimits, "limits with an open end have no width", "compare by the nominal"}
	}
	return share(value, limits.Min/2+limits.Max/2, limits.Max-limits.Min)
}

func share(value, from, full float64) (float64, error) {
	off := 100 * ((value - from) / full)
	if !sound(value) || !sound(off) {
		return 0, &Error{NotANumber, fmt.Sprintf("the reading %v is no reading", value), "leave it out or take it again"}
	}
	return off, nil
}
