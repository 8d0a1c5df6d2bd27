// Package drift says whether readings drift: of one callout over many jobs, and of one
// instrument against the others. It draws nothing and decides nothing about a part: it
// gives a lead the charts of statistical process control, the capability of a callout
// against its limits, and the difference of an instrument, each with what it is worth.
//
// It stands in rules because it is pure: the same readings give the same answer, with no
// clock, file or log. It needs no more of the house than the limits of package decide, and
// what is above it may use it: search and web to gather readings and to show them, cmd to
// print them. It takes values as float64 in any one unit, since all that it gives is an
// estimate; whether one reading is inside its limits is decided elsewhere, and exactly.
//
// Start reading at [NewIndividuals] (one callout), [NewEWMA] and [NewCUSUM] (small shifts),
// [NewCapability] and [Compare] (one instrument). Each takes at most [MaxReadings] and works
// in time proportional to their number. What cannot be computed is an [*Error], which says
// what would help.
package drift

import (
	"fmt"
	"math"
)

const (
	// MaxReadings is the longest series that is taken.
	MaxReadings = 1_000_000
	// Largest is the largest value, of either sign, that is taken for a reading.
	Largest = 1e100
)

// Kind says what is wrong with a request.
type Kind string

// The kinds of an [Error].
const (
	Few        Kind = "few"          // too few readings for what was asked
	Many       Kind = "many"         // more than MaxReadings
	NotANumber Kind = "not a number" // a value is NaN, infinite or beyond Largest
	NoSpread   Kind = "no spread"    // all readings are the same
	BadLimits  Kind = "bad limits"   // limits the wrong way round, none, or infinite
	BadPlan    Kind = "bad plan"     // a setting of a chart or a comparison is out of its range
)

// Error says why nothing was computed, and what would help.
type Error struct {
	Kind  Kind
	Wrong string // what is wrong
	Do    string // what would help
}

// Error returns both sentences in one.
func (e *Error) Error() string { return e.Wrong + "; " + e.Do }

// check looks a series over: enough values, and none that is no number.
func check(x []float64, least int) error {
	switch {
	case len(x) > MaxReadings:
		return tooMany(len(x))
	case len(x) < least:
		return few(len(x), least)
	}
	for i, v := range x {
		if !sound(v) {
			return &Error{
				NotANumber, fmt.Sprintf("reading %d of %d is %v, which is no reading", i+1, len(x), v),
				"leave it out or take it again",
			}
		}
	}
	return nil
}

// sound reports whether v can be a reading.
func sound(v float64) bool { return math.Abs(v) <= Largest } // false for NaN

func few(have, need int) error {
	return &Error{
		Few, fmt.Sprintf("there %s, and this needs at least %d", are(have), need),
		"wait for more jobs, or choose a longer time",
	}
}

func tooMany(have int) error {
	return &Error{
		Many, fmt.Sprintf("%d readings are more than the %d that are taken at once", have, MaxReadings),
		"choose a shorter time",
	}
}

func badPlan(wrong, do string) error { return &Error{BadPlan, wrong, do} }

// are returns "is 1 reading", "are 3 readings".
func are(n int) string {
	if n == 1 {
		return "is 1 reading"
	}
	return "are " + counted(n)
}

// counted returns "1 reading", "3 readings".
func counted(n int) string {
	if n == 1 {
		return "1 reading"
	}
	return fmt.Sprintf("%d readings", n)
}
