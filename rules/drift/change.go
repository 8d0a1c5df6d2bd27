package drift

import (
	"fmt"
)

// leastForChange is how few points a change is sought in.
const leastForChange = 8

// findStart sets Since where the points have a start that holds to the end.
func (c *Comparison) findStart(s sides, level float64) {
	shift, crossed, holds := changeOf(offsOf(c.Points), pooled(byGroup(s.others)).sd)
	switch {
	case !crossed:
		return
	case !holds:
		c.Cautions = append(c.Cautions, fmt.Sprintf("It seems to have read %s from %s for a time, and not at the end.",
			shift.Side, c.month(c.Points[shift.Since].When)))
		return
	case shift.Since == 0: // it was so from the first reading: when it began is not known
		return
	}
	start := c.Points[shift.Since]
	since := Since{Index: shift.Since, When: start.When, Crossed: c.Points[shift.At].When}
	late := s.since(start.When, c.Instrument)
	d, err := late.difference(level)
	if err != nil || !d.Shown() || (d.Value > 0) != (shift.Side == High) {
		c.Cautions = append(c.Cautions, fmt.Sprintf("It may read %s since %s, but too little was read since then by it or the others to say how much.",
			shift.Side, c.month(start.When)))
		return
	}
	since.Difference = d
	c.Since = &since
	c.Cautions = append(c.Cautions, fmt.Sprintf("The start in %s is a guess from the readings themselves, by their cumulated sum: "+
		"the confidence is somewhat narrower than it should be.", c.month(start.When)))
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
