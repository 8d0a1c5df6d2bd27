package drift

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Rule is a pattern of readings that chance seldom makes, in plain words. Beyond a line
// means past it: a reading on the line is on neither side of it.
type Rule string

// The rules. Sigma is the chart's own; the limits are at three.
const (
	Beyond        Rule = "one point beyond the limits"
	EightOneSide  Rule = "eight in a row on one side"
	NineOneSide   Rule = "nine in a row on one side"
	SixTrend      Rule = "six in a row all rising or all falling"
	FourteenTurns Rule = "fourteen in a row up and down in turn"
	TwoOfThree    Rule = "two of three beyond two sigma on one side"
	FourOfFive    Rule = "four of five beyond one sigma on one side"
	FifteenWithin Rule = "fifteen in a row within one sigma"
	EightBeyond   Rule = "eight in a row beyond one sigma, on both sides"
)

// Set is a published set of rules, to be named wherever its signals are shown.
type Set struct {
	Name  string
	Rules []Rule
}

// FourRules are rules 1 to 4 of the Statistical Quality Control Handbook, 1956 (Western
// Electric): their run on one side is of eight.
func FourRules() Set {
	return Set{"the four rules of the 1956 quality control handbook", []Rule{Beyond, TwoOfThree, FourOfFive, EightOneSide}}
}

// EightTests are tests 1 to 8 of L. S. Nelson, Journal of Quality Technology 16, 1984:
// their run on one side is of nine. More rules make more false alarms.
func EightTests() Set {
	return Set{"the eight tests of the Journal of Quality Technology, 1984", []Rule{
		Beyond, NineOneSide, SixTrend, FourteenTurns, TwoOfThree, FourOfFive, FifteenWithin, EightBeyond,
	}}
}

// LimitsAlone is the chart's limits and no more: in control, one point in 370 is beyond.
func LimitsAlone() Set { return Set{"the limits alone", []Rule{Beyond}} }

// Signal is a rule that fired. One that fires again at the next reading, for it and those
// before, is one signal.
type Signal struct {
	Rule   Rule
	At     int   // the reading, from 0, at which it fired first
	Points []int // the readings that make it, from 0, in order
}

// Text returns the rule and its readings, by their number from 1 or, where name is given,
// by name: "nine in a row on one side: readings 3 to 11", or ": MW-1043 to MW-1051".
func (s Signal) Text(name func(i int) string) string {
	lead := string(s.Rule) + ": "
	if name == nil {
		name = func(i int) string { return strconv.Itoa(i + 1) }
		lead += "reading"
		if len(s.Points) > 1 {
			lead += "s"
		}
		lead += " "
	}
	first, last := s.Points[0], s.Points[len(s.Points)-1]
	if last-first == len(s.Points)-1 && len(s.Points) > 2 {
		return lead + name(first) + " to " + name(last)
	}
	names := make([]string, len(s.Points))
	for i, p := range s.Points {
		names[i] = name(p)
	}
	return lead + strings.Join(names, ", ")
}

// Fire returns the signals of the rules on readings in order of time, about a centre and a
// sigma that are known from elsewhere: a target, or an earlier chart. An error is an
// [*Error].
func (s Set) Fire(x []float64, centre, sigma float64) ([]Signal, error) {
	if err := check(x, 1); err != nil {
		return nil, err
	}
	if err := checkPlan(centre, sigma); err != nil {
		return nil, err
	}
	return s.on(x, centre, sigma), nil
}

// checkPlan wants a centre that is a value and a sigma above 0.
func checkPlan(centre, sigma float64) error {
	if !sound(centre) || !sound(sigma) || sigma <= 0 {
		return badPlan(fmt.Sprintf("a centre of %v with a sigma of %v makes no chart", centre, sigma), "give a centre, and a sigma above 0")
	}
	return nil
}

// on is Fire of a series that was checked.
func (s Set) on(x []float64, centre, sigma float64) (out []Signal) {
	r := runs{x, centre, sigma, blur(x, centre, sigma)}
	for _, rule := range s.Rules {
		out = append(out, r.fire(rule)...)
	}
	slices.SortStableFunc(out, func(a, b Signal) int { return cmp.Compare(a.At, b.At) })
	return out
}

// runs looks for patterns in readings about a centre.
type runs struct {
	x             []float64
	centre, sigma float64
	blur          float64 // how far from a line is still on it
}

// blur returns how near two values are taken for the same: readings have few digits, and
// the last bits of a mean must not decide on which side of it they are.
func blur(x []float64, centre, sigma float64) float64 {
	most := math.Abs(centre)
	for _, v := range x {
		most = max(most, math.Abs(v))
	}
	return 1e-9*sigma + 8*(math.Nextafter(most, math.Inf(1))-most)
}

// sign returns 1 for more than 0, -1 for less, 0 for as good as 0.
func (r runs) sign(d float64) int {
	switch {
	case d > r.blur:
		return 1
	case d < -r.blur:
		return -1
	}
	return 0
}

// beyond returns the side on which reading i is past k sigma from the centre, 0 for none.
func (r runs) beyond(i int, k float64) int {
	d := r.x[i] - r.centre
	if r.sign(math.Abs(d)-k*r.sigma) > 0 {
		return r.sign(d)
	}
	return 0
}

// step returns whether reading i is above (1) or below (-1) the one before.
func (r runs) step(i int) int { return r.sign(r.x[i] - r.x[i-1]) }

func (r runs) fire(rule Rule) []Signal {
	switch rule {
	case Beyond:
		return r.each(rule)
	case EightOneSide:
		return r.row(rule, 8, 0, func(i int) int { return r.beyond(i, 0) })
	case NineOneSide:
		return r.row(rule, 9, 0, func(i int) int { return r.beyond(i, 0) })
	case SixTrend:
		return r.row(rule, 6, 1, r.step)
	case FourteenTurns:
		return r.row(rule, 14, 1, func(i int) int { return r.step(i) * (1 - i%2*2) })
	case TwoOfThree:
		return r.most(rule, 2, 3, 2)
	case FourOfFive:
		return r.most(rule, 4, 5, 1)
	case FifteenWithin:
		return r.row(rule, 15, 0, func(i int) int { return max(-r.sign(math.Abs(r.x[i]-r.centre)-r.sigma), 0) })
	case EightBeyond:
		return r.bothSides(rule, 8)
	}
	return nil
}

// each fires at every reading beyond the limits.
func (r runs) each(rule Rule) (out []Signal) {
	for i := range r.x {
		if r.beyond(i, Width) != 0 {
			out = append(out, Signal{rule, i, []int{i}})
		}
	}
	return out
}

// row fires where need readings in a row are of one kind, which is not 0. With joints 1 a
// kind is that of the step from the reading before, and need readings have a step less.
func (r runs) row(rule Rule, need, joints int, kind func(i int) int) (out []Signal) {
	for i := joints; i < len(r.x); {
		k, from := kind(i), i
		for i++; i < len(r.x) && kind(i) == k; i++ {
		}
		from -= joints
		if k != 0 && i-from >= need {
			out = append(out, Signal{rule, from + need - 1, series(from, i)})
		}
	}
	return out
}

// bothSides fires where the last need readings are beyond one sigma and not all on one side.
func (r runs) bothSides(rule Rule, need int) (out []Signal) {
	last := map[int]int{-1: -1, 0: -1, 1: -1} // where each side was last
	for i := range r.x {
		last[r.beyond(i, 1)] = i
		from := i - need + 1
		if last[0] >= from || last[-1] < from || last[1] < from {
			continue
		}
		if n := len(out); n > 0 && out[n-1].Points[len(out[n-1].Points)-1] == i-1 {
			out[n-1].Points = append(out[n-1].Points, i)
			continue
		}
		out = append(out, Signal{rule, i, series(from, i+1)})
	}
	return out
}

// most fires at a reading beyond k sigma that, with those beyond on its side among the
// window-1 before it, makes need.
func (r runs) most(rule Rule, need, window int, k float64) (out []Signal) {
	var recent [2][]int // those beyond below and above, within the window
	var open [2]int     // the signal that may go on, by its place in out, from 1
	for i := range r.x {
		side := r.beyond(i, k)
		if side == 0 {
			continue
		}
		s := (side + 1) / 2
		recent[s] = slices.DeleteFunc(append(recent[s], i), func(p int) bool { return p <= i-window })
		if len(recent[s]) < need {
			continue
		}
		if open[s] > 0 {
			was := &out[open[s]-1]
			if end := was.Points[len(was.Points)-1]; slices.Contains(recent[s], end) {
				for _, p := range recent[s] {
					if p > end {
						was.Points = append(was.Points, p)
					}
				}
				continue
			}
		}
		out = append(out, Signal{rule, i, slices.Clone(recent[s])})
		open[s] = len(out)
	}
	return out
}

// series returns the whole numbers of a range, its end left out.
func series(from, to int) []int {
	out := make([]int, to-from)
	for i := range out {
		out[i] = from + i
	}
	return out
}
