package drift

import (
	"fmt"
	"math"
)

// Summary is what a series comes to, in the unit of its readings.
type Summary struct {
	N        int
	Mean     float64
	SD       float64 // standard deviation of a sample, over N-1
	Min, Max float64
}

// Summarise returns the summary of at least two readings. Mean and standard deviation are
// good to nearly all the digits that float64 can hold, also where the spread is a
// millionth of the values: sums carry what they lose, and the deviations are taken from
// the mean in a second pass, and from what the mean itself lost. An error is an [*Error] of kind Few, Many or NotANumber.
func Summarise(x []float64) (Summary, error) {
	if err := check(x, 2); err != nil {
		return Summary{}, err
	}
	return summarise(x), nil
}

// summarise is Summarise of a series that was checked and is not empty. The standard
// deviation of one reading is 0.
func summarise(x []float64) Summary {
	c := centreOf(x)
	s := Summary{N: len(x), Mean: c.mean, Min: x[0], Max: x[0]}
	for _, v := range x {
		s.Min, s.Max = min(s.Min, v), max(s.Max, v)
	}
	if s.Min == s.Max { // exactly, whatever the mean was rounded to
		s.Mean = s.Min
		return s
	}
	var square sum
	for _, v := range x {
		d := c.from(v)
		square.add(d * d)
	}
	s.SD = math.Ldexp(math.Sqrt(square.value()/float64(len(x)-1)), c.power)
	return s
}

// Lag1 returns the autocorrelation of the readings with those before them, from -1 to 1:
// near 0 where each reading is independent of the last. An error is as with [Summarise],
// or of kind NoSpread.
func Lag1(x []float64) (float64, error) {
	s, err := Summarise(x)
	if err != nil {
		return 0, err
	}
	if s.SD == 0 {
		return 0, noSpread(s)
	}
	return lag1(x), nil
}

// lag1 is Lag1 of a series that has spread.
func lag1(x []float64) float64 {
	var over, under sum
	c, last := centreOf(x), 0.0
	for _, v := range x {
		d := c.from(v)
		over.add(last * d)
		under.add(d * d)
		last = d
	}
	return over.value() / under.value()
}

func noSpread(s Summary) error {
	return &Error{
		NoSpread, fmt.Sprintf("all %d readings are %v", s.N, s.Min),
		"readings that never differ say nothing of drift: take them with a finer instrument, or read what was set",
	}
}

// sum adds without losing what is small beside the total (Neumaier, Zeitschrift für
// Angewandte Mathematik und Mechanik 54, 1974, from memory).
type sum struct{ total, lost float64 }

func (s *sum) add(v float64) {
	t := s.total + v
	if math.Abs(s.total) >= math.Abs(v) {
		s.lost += (s.total - t) + v
	} else {
		s.lost += (v - t) + s.total
	}
	s.total = t
}

func (s *sum) value() float64 { return s.total + s.lost }

// mean returns the mean of a series that is not empty.
func mean(x []float64) float64 {
	var s sum
	for _, v := range x {
		s.add(v)
	}
	return s.value() / float64(len(x))
}

// centre is what deviations are taken from.
type centre struct {
	mean  float64
	rest  float64 // what the mean lost when it was rounded
	power int     // deviations are given over two to this power, so that their squares stay in range
}

// centreOf returns the centre of a series that is not empty.
func centreOf(x []float64) centre {
	c := centre{mean: mean(x)}
	var rest sum
	most := 0.0
	for _, v := range x {
		rest.add(v - c.mean)
		most = max(most, math.Abs(v-c.mean))
	}
	c.rest = rest.value() / float64(len(x))
	_, c.power = math.Frexp(most)
	return c
}

// from returns how far v is from the centre, in units of two to the power.
func (c centre) from(v float64) float64 { return math.Ldexp(v-c.mean-c.rest, -c.power) }
