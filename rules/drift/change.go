package drift

import (
	"fmt"
)

// leastForChange is how few points a change is sought in.
const leastForChange = 8

// start returns where the points have a start that holds to the end, nil for none, and what
// is to be said of it.
func (c Comparison) start(s sides, level float64) (since *Since, caution string) {
	shift, crossed, holds := changeOf(offsOf(c.Points), pooled(byGroup(s.others)).sd)
	if !crossed {
		return nil, ""
	}
	first := c.Points[shift.Since]
	switch {
	case !holds:
		return nil, fmt.Sprintf("It seems to have read %s from %s for a time, and not at the end.", shift.Side, c.month(first.When))
	case shift.Since == 0: // it was so from the first reading: when it began is not known
		return nil, ""
	}
	d, err := s.since(first.When, c.Instrument).difference(level)
	if err != nil || !d.Shown() || (d.Value > 0) != (shift.Side == High) {
		return nil, fmt.Sprintf("It may read %s since %s, but too little was read since then by it or the others to say how much.",
			shift.Side, c.month(first.When))
	}
	return &Since{Index: shift.Since, When: first.When, Crossed: c.Points[shift.At].When, Difference: d},
		fmt.Sprintf("The start in %s is a guess from the readings themselves, by their cumulated sum: "+
			"the confidence is somewhat narrower than it should be.", c.month(first.When))
}

// changeOf returns the last shift of the points from 0, whether there was any, and whether
// it holds to the end. Sigma is the points' own, from one to the next, or the others' where
// that is more.
func changeOf(offs []float64, others float64) (s Shift, crossed, holds bool) {
	if len(offs) < leastForChange {
		return s, false, false
	}
	own, err := NewIndividuals(offs, 0, Set{})
	if err != nil { // no spread
		return s, false, false
	}
	sigma := max(own.Sigma, others)
	sums, err := NewCUSUM(offs, Sums{Sigma: sigma, Slack: 0.5, Threshold: 5})
	if err != nil || len(sums.Shifts) == 0 {
		return s, false, false
	}
	s = sums.Shifts[len(sums.Shifts)-1]
	average, err := NewEWMA(offs, Plan{Sigma: sigma, Lambda: 0.2, Width: Width})
	if err != nil {
		return s, true, false
	}
	last := len(offs) - 1
	lower, upper := average.Limits(last)
	off := average.Averages[last] < lower && s.Side == Low || average.Averages[last] > upper && s.Side == High
	return s, true, s.Until == len(offs) && off
}
