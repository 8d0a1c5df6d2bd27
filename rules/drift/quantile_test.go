package drift

import (
	"math"
	"testing"
)

func close6(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %.12g, want %.12g within %g", what, got, want, within)
	}
}

// Critical values of Student's t: NIST/SEMATECH e-Handbook, 1.3.6.7.2 (from memory; it
// prints three decimals, the last of them now and then off by one where the tail is 0.001).
func TestStudentTable(t *testing.T) {
	tails := []float64{0.10, 0.05, 0.025, 0.01, 0.005}
	for _, row := range []struct {
		df   float64
		want [5]float64
	}{
		{1, [5]float64{3.078, 6.314, 12.706, 31.821, 63.657}},
		{2, [5]float64{1.886, 2.920, 4.303, 6.965, 9.925}},
		{3, [5]float64{1.638, 2.353, 3.182, 4.541, 5.841}},
		{5, [5]float64{1.476, 2.015, 2.571, 3.365, 4.032}},
		{10, [5]float64{1.372, 1.812, 2.228, 2.764, 3.169}},
		{30, [5]float64{1.310, 1.697, 2.042, 2.457, 2.750}},
		{100, [5]float64{1.290, 1.660, 1.984, 2.364, 2.626}},
		{2e6, [5]float64{1.282, 1.645, 1.960, 2.326, 2.576}}, // its row of infinity
	} {
		for i, tail := range tails {
			close6(t, "t", student(1-2*tail, row.df), row.want[i], 0.00051)
		}
	}
}

// With one and two degrees of freedom t has a closed form; for others the density is
// integrated, which shares nothing with how t is found.
func TestStudentAgainstItsDensity(t *testing.T) {
	for _, level := range []float64{0.5, 0.8, 0.95, 0.99, 0.9999} {
		close6(t, "t of 1", student(level, 1)/math.Tan(math.Pi*level/2), 1, 1e-9)
		close6(t, "t of 2", student(level, 2)/(level*math.Sqrt(2/(1-level*level))), 1, 1e-9)
		for _, df := range []float64{1.7, 3, 4.25, 10, 136.875, 1e4, 1e6, 2e6} {
			close6(t, "the share within t", share2(student(level, df), df), level, 1e-8)
		}
		close6(t, "t of many", student(level, 2*MaxReadings), normal(level), 1e-5)
	}
}

// share2 integrates Student's density from -t to t by Simpson's rule, in steps that grow:
// t = sinh u.
func share2(t, df float64) float64 {
	a, _ := math.Lgamma((df + 1) / 2)
	b, _ := math.Lgamma(df / 2)
	at := func(u float64) float64 {
		x := math.Sinh(u)
		return math.Exp(a-b-(df+1)/2*math.Log1p(x*x/df)) / math.Sqrt(df*math.Pi) * math.Cosh(u)
	}
	const n = 4000
	end, sum := math.Asinh(t), 0.0
	for i := range n + 1 {
		weight := 2 + 2*float64(i%2)
		if i == 0 || i == n {
			weight = 1
		}
		sum += weight * at(end*float64(i)/n)
	}
	return 2 * sum * end / n / 3
}

// Critical values of chi-squared: NIST/SEMATECH e-Handbook, 1.3.6.7.4 (from memory), and
// the closed form for two degrees of freedom.
func TestChiSquaredTable(t *testing.T) {
	for _, tt := range []struct{ df, lower, upper float64 }{
		{1, 0.001, 5.024}, {10, 3.247, 20.483}, {19, 8.907, 32.852}, {30, 16.791, 46.979}, {100, 74.222, 129.561},
	} {
		close6(t, "the lower", chi2(0.025, tt.df), tt.lower, 0.00051)
		close6(t, "the upper", chi2(0.975, tt.df), tt.upper, 0.00051)
	}
	for _, p := range []float64{0.0001, 0.025, 0.5, 0.975, 0.9999} {
		close6(t, "chi-squared of 2", chi2(p, 2)/(-2*math.Log1p(-p)), 1, 1e-9)
	}
	// Wilson and Hilferty's cube, good to a few parts in a million here.
	const df = 999_999.0
	cube := math.Pow(1-2/(9*df)+normal(0.95)*math.Sqrt(2/(9*df)), 3) * df
	close6(t, "chi-squared of a million", chi2(0.975, df)/cube, 1, 1e-7)
}

func TestNormalTable(t *testing.T) { // any table of the normal distribution
	for level, want := range map[float64]float64{0.90: 1.644854, 0.95: 1.959964, 0.99: 2.575829, 0.9973002: 3.0} {
		close6(t, "z", normal(level), want, 5e-7)
	}
}
