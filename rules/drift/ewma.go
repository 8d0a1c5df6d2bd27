package drift

import (
	"fmt"
	"math"
)

// Plan says how an [EWMA] is made.
type Plan struct {
	Target float64 // where the chart starts, and its centre: a nominal, or the centre of an earlier chart
	Sigma  float64 // of single readings, as Individuals.Sigma; above 0
	Lambda float64 // the weight of the newest reading, above 0 to 1; 0.2 to 0.3 is usual, less finds smaller shifts
	Width  float64 // how many sigma of the average the limits are from the centre; 3 is usual
}

// EWMA is the chart of the exponentially weighted moving average: it forgets slowly, and so
// shows a small shift that lasts, which single readings hide.
type EWMA struct {
	Plan
	Values       []float64
	Averages     []float64 // after each reading; before the first it is Target
	Lower, Upper float64   // the limits that it comes to after many readings
	Outside      []int     // the readings, from 0, after which the average is outside the limits of its place
}

// NewEWMA returns the chart of at least one reading, in order of time (NIST/SEMATECH
// e-Handbook of Statistical Methods, 6.3.2.4). An error is an [*Error].
func NewEWMA(x []float64, p Plan) (EWMA, error) {
	if err := check(x, 1); err != nil {
		return EWMA{}, err
	}
	if err := checkPlan(p.Target, p.Sigma); err != nil {
		return EWMA{}, err
	}
	if !(p.Lambda > 0 && p.Lambda <= 1) {
		return EWMA{}, badPlan(fmt.Sprintf("a weight of %v is out of range", p.Lambda), "give one above 0, at most 1, such as 0.2")
	}
	if !(p.Width > 0 && p.Width <= 10) {
		return EWMA{}, badPlan(fmt.Sprintf("limits of %v sigma are out of range", p.Width), "give a width above 0, at most 10, such as 3")
	}
	steady := p.Width * p.Sigma * math.Sqrt(p.Lambda/(2-p.Lambda))
	e := EWMA{Plan: p, Values: x, Averages: make([]float64, len(x)), Lower: p.Target - steady, Upper: p.Target + steady}
	last := p.Target
	for i, v := range x {
		last += p.Lambda * (v - last)
		e.Averages[i] = last
		if lower, upper := e.Limits(i); last < lower || last > upper {
			e.Outside = append(e.Outside, i)
		}
	}
	return e, nil
}

// Limits returns the exact limits of the average after reading i, from 0: they are narrow
// at first, while few readings are in it.
func (e EWMA) Limits(i int) (lower, upper float64) {
	share := 1.0 // of the variance that it comes to: 1 - (1-λ)^2(i+1), kept exact for a small λ
	if e.Lambda < 1 {
		share = -math.Expm1(2 * float64(i+1) * math.Log1p(-e.Lambda))
	}
	half := e.Width * e.Sigma * math.Sqrt(e.Lambda/(2-e.Lambda)*share)
	return e.Target - half, e.Target + half
}
