package drift_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"readback/rules/drift"
)

// repeat returns x over and over, n values of it.
func repeat(n int, x ...float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = x[i%len(x)]
	}
	return out
}

// Definitions of rules 1 to 4 of the Statistical Quality Control Handbook (Western
// Electric, 1956) and of tests 1 to 8 of L. S. Nelson (Journal of Quality Technology 16,
// 1984), about a centre of 0 with a sigma of 1. At counts from 1, 0 for no signal.
func TestRules(t *testing.T) {
	tests := []struct {
		name   string
		rule   drift.Rule
		x      []float64
		at     int
		points []int // from 0
	}{
		{"1: beyond three sigma", drift.Beyond, []float64{0.2, -0.4, 3.01}, 3, []int{2}},
		{"1: on the line is no signal", drift.Beyond, []float64{0.2, -0.4, 3.0}, 0, nil},
		{"1: below", drift.Beyond, []float64{-3.01, 0}, 1, []int{0}},
		{"2: nine on one side", drift.NineOneSide, repeat(9, 0.5, 0.3), 9, series(0, 9)},
		{"2: eight are none", drift.NineOneSide, repeat(8, 0.5, 0.3), 0, nil},
		{"2: twelve are one signal", drift.NineOneSide, append([]float64{-1}, repeat(12, 0.5, 0.3)...), 10, series(1, 13)},
		{"2: one on the centre ends it", drift.NineOneSide, append(repeat(5, 0.5), append([]float64{0}, repeat(4, 0.5)...)...), 0, nil},
		{"rule 4: eight on one side", drift.EightOneSide, repeat(8, -0.5, -0.3), 8, series(0, 8)},
		{"rule 4: seven are none", drift.EightOneSide, repeat(7, -0.5, -0.3), 0, nil},
		{"3: six rising", drift.SixTrend, []float64{-1.2, -0.7, -0.2, 0.3, 0.8, 1.3}, 6, series(0, 6)},
		{"3: six falling, after others", drift.SixTrend, []float64{0, 1.3, 0.8, 0.3, -0.2, -0.7, -1.2, 0}, 7, series(1, 7)},
		{"3: five rising are none", drift.SixTrend, []float64{0, -0.7, -0.2, 0.3, 0.8, 1.3}, 0, nil},
		{"3: two alike end it", drift.SixTrend, []float64{-1.2, -0.7, -0.2, -0.2, 0.3, 0.8, 1.3}, 0, nil},
		{"4: fourteen in turn", drift.FourteenTurns, repeat(14, 0.6, -0.6), 14, series(0, 14)},
		{"4: in turn on one side of the centre", drift.FourteenTurns, repeat(15, 0.6, 0.5), 14, series(0, 15)},
		{"4: thirteen are none", drift.FourteenTurns, repeat(13, 0.6, -0.6), 0, nil},
		{"5: two of three", drift.TwoOfThree, []float64{2.1, 0.4, 2.2}, 3, []int{0, 2}},
		{"5: on two sides is none", drift.TwoOfThree, []float64{2.1, 0.4, -2.2}, 0, nil},
		{"5: two of four are none", drift.TwoOfThree, []float64{2.1, 0.4, 0.4, 2.2}, 0, nil},
		{"5: the first two", drift.TwoOfThree, []float64{-2.1, -2.4}, 2, []int{0, 1}},
		{"5: on the line is none", drift.TwoOfThree, []float64{2, 0.4, 2.2}, 0, nil},
		{"5: one that goes on is one", drift.TwoOfThree, []float64{2.1, 0.4, 2.2, 2.3}, 3, []int{0, 2, 3}},
		{"6: four of five", drift.FourOfFive, []float64{1.1, 1.2, -0.3, 1.3, 1.4}, 5, []int{0, 1, 3, 4}},
		{"6: three of five are none", drift.FourOfFive, []float64{1.1, 1.2, -0.3, 1.3, 0.9}, 0, nil},
		{"6: not on one side", drift.FourOfFive, []float64{1.1, 1.2, -1.3, 1.3, 0}, 0, nil},
		{"7: fifteen within", drift.FifteenWithin, repeat(15, 0.3, 0.4, -0.3, -0.4), 15, series(0, 15)},
		{"7: fourteen are none", drift.FifteenWithin, repeat(14, 0.3, 0.4, -0.3, -0.4), 0, nil},
		{"7: fifteen beyond are none", drift.FifteenWithin, repeat(15, 1.3, -1.4), 0, nil},
		{"8: eight beyond, on both sides", drift.EightBeyond, repeat(8, 1.2, 1.3, -1.4, -1.2), 8, series(0, 8)},
		{"8: on one side alone is none", drift.EightBeyond, repeat(8, 1.2, 1.3), 0, nil},
		{"8: one within ends it", drift.EightBeyond, append(repeat(7, 1.2, -1.3), 0.9), 0, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := drift.Set{Rules: []drift.Rule{tt.rule}}.Fire(tt.x, 0, 1)
			if err != nil {
				t.Fatal(err)
			}
			var want []drift.Signal
			if tt.at > 0 {
				want = []drift.Signal{{Rule: tt.rule, At: tt.at - 1, Points: tt.points}}
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("%v (-want +got):\n%s", tt.x, diff)
			}
		})
	}
}

func series(from, to int) (out []int) {
	for i := from; i < to; i++ {
		out = append(out, i)
	}
	return out
}

func TestSignalText(t *testing.T) {
	jobs := []string{"MW-1040", "MW-1041", "MW-1042", "MW-1043", "MW-1044"}
	name := func(i int) string { return jobs[i] }
	tests := []struct {
		signal drift.Signal
		name   func(int) string
		want   string
	}{
		{drift.Signal{Rule: drift.Beyond, Points: []int{6}}, nil, "one point beyond the limits: reading 7"},
		{drift.Signal{Rule: drift.NineOneSide, Points: series(2, 11)}, nil, "nine in a row on one side: readings 3 to 11"},
		{drift.Signal{Rule: drift.TwoOfThree, Points: []int{0, 2}}, nil, "two of three beyond two sigma on one side: readings 1, 3"},
		{drift.Signal{Rule: drift.TwoOfThree, Points: []int{0, 2}}, name, "two of three beyond two sigma on one side: MW-1040, MW-1042"},
		{drift.Signal{Rule: drift.SixTrend, Points: series(0, 5)}, name, "six in a row all rising or all falling: MW-1040 to MW-1044"},
		{drift.Signal{Rule: drift.Beyond, Points: []int{3}}, name, "one point beyond the limits: MW-1043"},
	}
	for _, tt := range tests {
		if got := tt.signal.Text(tt.name); got != tt.want {
			t.Errorf("Text is %q, want %q", got, tt.want)
		}
	}
}

// A mean is rounded, and a reading that equals it is on the centre all the same: here the
// mean of ten readings of tenths falls a bit in float64 beside them.
func TestAReadingOnTheCentreIsOnNoSide(t *testing.T) {
	x := []float64{0.1, 0.3, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2}
	c, err := drift.NewIndividuals(x, 0, drift.EightTests())
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range c.Signals {
		if s.Rule == drift.NineOneSide {
			t.Errorf("%v: readings of 0.2 are said to be on one side of their mean of %.17g", s, c.Centre)
		}
	}
}

// The definitions as they are written, tried at every reading: whether the readings up to
// this one make the pattern, and which of them.
var byDefinition = map[drift.Rule]func(x []float64) []int{
	drift.Beyond:       func(x []float64) []int { return mostOf(x, 1, 1, 3) },
	drift.EightOneSide: func(x []float64) []int { return allOf(x, 8, oneSide) },
	drift.NineOneSide:  func(x []float64) []int { return allOf(x, 9, oneSide) },
	drift.SixTrend: func(x []float64) []int {
		return allOf(x, 6, func(w []float64) bool { return strictly(w) || strictly(negated(w)) })
	},
	drift.FourteenTurns: func(x []float64) []int {
		return allOf(x, 14, func(w []float64) bool {
			for i := 2; i < len(w); i++ {
				if (w[i]-w[i-1])*(w[i-1]-w[i-2]) >= 0 {
					return false
				}
			}
			return true
		})
	},
	drift.TwoOfThree: func(x []float64) []int { return mostOf(x, 2, 3, 2) },
	drift.FourOfFive: func(x []float64) []int { return mostOf(x, 4, 5, 1) },
	drift.FifteenWithin: func(x []float64) []int {
		return allOf(x, 15, func(w []float64) bool {
			return !slices.ContainsFunc(w, func(v float64) bool { return math.Abs(v) >= 1 })
		})
	},
	drift.EightBeyond: func(x []float64) []int {
		return allOf(x, 8, func(w []float64) bool {
			return !slices.ContainsFunc(w, func(v float64) bool { return math.Abs(v) <= 1 }) && slices.Max(w) > 0 && slices.Min(w) < 0
		})
	},
}

func oneSide(w []float64) bool { return slices.Min(w) > 0 || slices.Max(w) < 0 }

func strictly(w []float64) bool {
	for i := 1; i < len(w); i++ {
		if w[i] <= w[i-1] {
			return false
		}
	}
	return true
}

func negated(w []float64) []float64 {
	out := slices.Clone(w)
	for i := range out {
		out[i] = -out[i]
	}
	return out
}

func allOf(x []float64, n int, holds func([]float64) bool) []int {
	if len(x) < n || !holds(x[len(x)-n:]) {
		return nil
	}
	return series(len(x)-n, len(x))
}

// mostOf wants the newest value to be one of those beyond.
func mostOf(x []float64, need, window int, k float64) []int {
	from := max(len(x)-window, 0)
	for _, side := range []float64{1, -1} {
		var points []int
		for i := from; i < len(x); i++ {
			if x[i]*side > k {
				points = append(points, i)
			}
		}
		if len(points) >= need && points[len(points)-1] == len(x)-1 {
			return points
		}
	}
	return nil
}

var allRules = append(drift.EightTests().Rules, drift.EightOneSide)

// lines are values on and between the lines of a chart, few, so that patterns come.
var lines = []float64{-3.5, -3, -2.5, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2, 2.5, 3.5}

func TestRulesAgainstTheirDefinitions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.SampledFrom(lines)
		var x []float64
		for _, part := range rapid.SliceOfN(rapid.SliceOfN(value, 1, 6), 1, 6).Draw(t, "parts") {
			x = append(x, repeat(rapid.IntRange(1, 16).Draw(t, "n"), part...)...)
		}
		for _, rule := range allRules {
			if _, wrong := tried(rule, x); wrong != "" {
				t.Fatal(wrong)
			}
		}
	})
}

// The same on series of a fixed seed, ramps and calm stretches among them, in which each
// rule fires many times.
func TestRulesAgainstTheirDefinitionsOftenFire(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	fired := map[drift.Rule]int{}
	for range 2000 {
		var x []float64
		for range 1 + r.IntN(5) {
			from, n := r.IntN(len(lines)), 1+r.IntN(4)
			part := slices.Clone(lines[from:min(from+1+r.IntN(7), len(lines))])
			switch r.IntN(4) {
			case 0:
				slices.Reverse(part)
			case 1:
				part, n = []float64{lines[5+r.IntN(3)], lines[5+r.IntN(3)]}, 18 // within one sigma
			case 2:
				part, n = []float64{lines[r.IntN(13)], lines[r.IntN(13)]}, 2+r.IntN(15)
			default:
				n = len(part)
			}
			x = append(x, repeat(max(n, len(part)), part...)...)
		}
		for _, rule := range allRules {
			first, wrong := tried(rule, x)
			if wrong != "" {
				t.Fatal(wrong)
			}
			if first >= 0 {
				fired[rule]++
			}
		}
	}
	for _, rule := range allRules {
		if fired[rule] < 20 {
			t.Errorf("%q fired in %d series: the series do not try it", rule, fired[rule])
		}
	}
}

// tried returns the reading at which a rule fires first by its definition, -1 for none, and
// in what the package says otherwise.
func tried(rule drift.Rule, x []float64) (first int, wrong string) {
	got, err := drift.Set{Rules: []drift.Rule{rule}}.Fire(x, 0, 1)
	if err != nil {
		return -1, err.Error()
	}
	want := map[int]bool{}
	first = -1
	for i := range x {
		points := byDefinition[rule](x[:i+1])
		if points != nil && first < 0 {
			first = i
		}
		for _, p := range points {
			want[p] = true
		}
	}
	all := map[int]bool{}
	for _, s := range got {
		for _, p := range s.Points {
			all[p] = true
		}
		if byDefinition[rule](x[:s.At+1]) == nil {
			return first, fmt.Sprintf("%s fires at %d of %v, where it does not hold", rule, s.At, x)
		}
	}
	if diff := cmp.Diff(want, all); diff != "" {
		return first, fmt.Sprintf("%s on %v, the points (-want +got):\n%s", rule, x, diff)
	}
	if first >= 0 && got[0].At != first {
		return first, fmt.Sprintf("%s on %v fires at %d first, want %d", rule, x, got[0].At, first)
	}
	return first, ""
}
