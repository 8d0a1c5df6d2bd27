package drift

import "fmt"

// Sums says how a [CUSUM] is made. Slack 0.5 and Threshold 5 find a shift of one sigma in
// about ten readings, and call falsely about once in 465 (common figures, from memory).
type Sums struct {
	Target    float64
	Sigma     float64 // of single readings, above 0
	Slack     float64 // in sigma, 0 or more: half the shift that is looked for
	Threshold float64 // in sigma, above 0
}

// Side is where readings are, seen from where they should be.
type Side string

// The sides.
const (
	High Side = "high"
	Low  Side = "low"
)

// Shift is a time in which the sums say that readings were off to one side.
type Shift struct {
	Side Side
	// Since is the first reading, from 0, after the sum was last 0: the usual guess of where
	// the shift began.
	Since int
	At    int // the reading at which the sum crossed the threshold
	Until int // the reading after which it was below again; len(Values) where it was not
}

// CUSUM is the tabular chart of cumulated sums: how far readings have strayed to each side,
// beyond a slack that is let go each time.
type CUSUM struct {
	Sums
	Values       []float64
	Above, Below []float64 // both 0 or more, in the unit of the readings
	Line         float64   // Threshold Sigma: a sum above it is a shift
	Shifts       []Shift   // by At
}

// NewCUSUM returns the chart of at least one reading, in order of time (NIST/SEMATECH
// e-Handbook of Statistical Methods, 6.3.2.3). An error is an [*Error].
func NewCUSUM(x []float64, p Sums) (CUSUM, error) {
	if err := check(x, 1); err != nil {
		return CUSUM{}, err
	}
	if err := checkPlan(p.Target, p.Sigma); err != nil {
		return CUSUM{}, err
	}
	if !(p.Slack >= 0 && p.Slack <= 10 && p.Threshold > 0 && p.Threshold <= 100) {
		return CUSUM{}, badPlan(fmt.Sprintf("a slack of %v with a threshold of %v sigma is out of range", p.Slack, p.Threshold),
			"give a slack from 0 to 10 and a threshold above 0, at most 100, such as 0.5 and 5")
	}
	c := CUSUM{Sums: p, Values: x, Above: make([]float64, len(x)), Below: make([]float64, len(x)), Line: p.Threshold * p.Sigma}
	up, down := tally{side: High}, tally{side: Low}
	for i, v := range x {
		c.Above[i] = up.add(&c, i, v-p.Target-p.Slack*p.Sigma)
		c.Below[i] = down.add(&c, i, p.Target-v-p.Slack*p.Sigma)
	}
	return c, nil
}

// tally is the sum of one side.
type tally struct {
	side  Side
	sum   float64
	since int
	open  int // the shift that goes on, from 1
}

func (t *tally) add(c *CUSUM, i int, d float64) float64 {
	if t.sum == 0 {
		t.since = i
	}
	t.sum = max(0, t.sum+d)
	switch {
	case t.sum > c.Line && t.open == 0:
		c.Shifts = append(c.Shifts, Shift{t.side, t.since, i, len(c.Values)})
		t.open = len(c.Shifts)
	case t.sum <= c.Line && t.open > 0:
		c.Shifts[t.open-1].Until = i
		t.open = 0
	}
	return t.sum
}
