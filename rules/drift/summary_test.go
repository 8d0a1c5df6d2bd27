package drift_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"readback/rules/drift"
)

// near fails where got is not want within a distance.
func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %.12g, want %.12g within %g", what, got, want, within)
	}
}

// floats reads numbers, each times scale, off from.
func floats(t *testing.T, text string, from, scale float64) (out []float64) {
	t.Helper()
	for f := range strings.FieldsSeq(text) {
		v, err := strconv.ParseFloat(f, 64)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, from+v/scale)
	}
	return out
}

// turns returns first, then n times two values.
func turns(first float64, n int, a, b float64) []float64 {
	out := []float64{first}
	for range n {
		out = append(out, a, b)
	}
	return out
}

const (
	mavro = `180 170 180 190 180 170 150 140 150 150 170 180 180 190 190 210 200 160 140 130 130 150 150 160 150 140 130 140 150
		140 150 160 150 160 190 200 200 210 220 230 240 250 270 260 260 260 270 260 250 240`
	michelso = `850 740 900 1070 930 850 950 980 980 880 1000 980 930 650 760 810 1000 1000 960 960 960 940 960 940 880 800
		850 880 900 840 830 790 810 880 880 830 800 790 760 800 880 880 880 860 720 720 620 860 970 950 880 910 850 870 840 840 850 840 840 840
		890 810 810 820 800 770 760 740 750 760 910 920 890 860 880 720 840 850 850 780 890 840 780 810 760 810 790 810 820 850 870 870 810 740
		810 940 950 800 810 870`
)

// Data and certified values: NIST Statistical Reference Datasets, Univariate Summary
// Statistics. Where float64 cannot hold the data exactly, no s or r1 of them agrees with
// the certified one any further than within says: in NumAcc4 the readings themselves are
// off by up to a part in a hundred million of s.
func TestSummariseReferenceDatasets(t *testing.T) {
	tests := []struct {
		name         string
		x            []float64
		mean, sd, r1 float64
		within       float64 // relative, of s and r1
	}{
		{"NumAcc1", []float64{10000001, 10000003, 10000002}, 10000002, 1, -0.5, 0},
		{"NumAcc2", turns(1.2, 500, 1.1, 1.3), 1.2, 0.1, -0.999, 1e-14},
		{"NumAcc3", turns(1000000.2, 500, 1000000.1, 1000000.3), 1000000.2, 0.1, -0.999, 1e-9},
		{"NumAcc4", turns(10000000.2, 500, 10000000.1, 10000000.3), 10000000.2, 0.1, -0.999, 1e-8},
		{"Mavro", floats(t, mavro, 2, 1e5), 2.001856, 0.000429123454003053, 0.937989183438248, 1e-11},
		{"Michelso", floats(t, michelso, 299, 1000), 299.8524, 0.0790105478190518, 0.535199668621283, 1e-12},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, err := drift.Summarise(tt.x)
			if err != nil {
				t.Fatal(err)
			}
			r1, err := drift.Lag1(tt.x)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "the mean", s.Mean, tt.mean, 2e-16*tt.mean)
			near(t, "s", s.SD, tt.sd, tt.within*tt.sd)
			near(t, "r1", r1, tt.r1, tt.within)
		})
	}
}

// The best s and r1 that the data of NumAcc 2 to 4 have once they are float64, computed in
// exact rationals.
func TestSummariseIsAsGoodAsItsData(t *testing.T) {
	for _, tt := range []struct {
		name   string
		at     float64
		sd, r1 float64
	}{
		{"NumAcc2", 1, 0.09999999999999998, -0.999},
		{"NumAcc3", 1000000, 0.1000000000349246, -0.9989999999994185},
		{"NumAcc4", 10000000, 0.10000000055879354, -0.9989999999906961},
	} {
		x := turns(tt.at+0.2, 500, tt.at+0.1, tt.at+0.3)
		s, err := drift.Summarise(x)
		if err != nil {
			t.Fatal(err)
		}
		r1, err := drift.Lag1(x)
		if err != nil {
			t.Fatal(err)
		}
		near(t, tt.name+": s", s.SD, tt.sd, 1e-15)
		near(t, tt.name+": r1", r1, tt.r1, 1e-15)
	}
}

// A naive sum of squares loses all of these; squares of the last two leave float64.
func TestSummariseOfHardSeries(t *testing.T) {
	tests := []struct {
		name     string
		x        []float64
		mean, sd float64
	}{
		{"a small spread far from nought", []float64{1e15 + 1, 1e15 + 2, 1e15 + 3}, 1e15 + 2, 1},
		{"what cancels", []float64{1e16, 1, -1e16, 3}, 1, math.Sqrt(2e32/3 + 2)},
		{"all the same, and no fraction of two", []float64{0.1, 0.1, 0.1, 0.1, 0.1, 0.1}, 0.1, 0},
		{"as large as may be", []float64{1e100, -1e100}, 0, math.Sqrt2 * 1e100},
		{"very small", []float64{1e-200, 3e-200}, 2e-200, math.Sqrt2 * 1e-200},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, err := drift.Summarise(tt.x)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "the mean", s.Mean, tt.mean, 1e-16*math.Abs(tt.mean))
			near(t, "s", s.SD, tt.sd, 1e-15*tt.sd)
		})
	}
}
