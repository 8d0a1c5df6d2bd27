package drift_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/rules/drift"
)

// kindOf returns the kind of an error of this package, "" for none.
func kindOf(t *testing.T, err error) drift.Kind {
	t.Helper()
	if err == nil {
		return ""
	}
	e, ok := err.(*drift.Error) //nolint:errorlint // the functions return it bare, and this holds them to it
	if !ok || e.Wrong == "" || e.Do == "" {
		t.Fatalf("%v (%T) is no error that says what is wrong and what to do", err, err)
	}
	return e.Kind
}

var flowrates = []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}

// The worked example of the NIST/SEMATECH e-Handbook, 6.3.2.2, which uses d2 = 1.128, and
// the same with d2 = 2/√π.
func TestIndividualsWorkedExample(t *testing.T) {
	c, err := drift.NewIndividuals(flowrates, 0, drift.EightTests())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "the centre", c.Centre, 50.81, 1e-12)
	near(t, "the mean range", c.MeanRange, 1.8778, 5e-5) // as printed
	near(t, "the mean range, whole", c.MeanRange, 16.9/9, 1e-13)
	near(t, "the upper limit with the printed d2", c.Centre+drift.Width*c.MeanRange/1.128, 55.8041, 5e-5)
	near(t, "the lower limit with the printed d2", c.Centre-drift.Width*c.MeanRange/1.128, 45.8159, 5e-5)
	near(t, "the upper limit", c.Upper, 55.80241168, 5e-9)
	near(t, "the lower limit", c.Lower, 45.81758832, 5e-9)
	near(t, "the upper limit of the ranges", c.RangeUpper, 6.1338, 5e-5)
	if len(c.Signals)+len(c.WideRanges) > 0 {
		t.Errorf("it is out of control at %v and %v; the handbook says that it is in", c.Signals, c.WideRanges)
	}
	for i, want := range []float64{2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5} {
		near(t, "a range", c.Ranges[i], want, 1e-12)
	}
	if len(c.Cautions) != 1 || !strings.Contains(c.Cautions[0], "10 readings") {
		t.Errorf("of ten readings it says %q, want that the limits are provisional", c.Cautions)
	}
}

// Factors of a moving range of two as tables of control charts print them, and from the
// integrals that define them.
func TestFactors(t *testing.T) {
	near(t, "d2 printed", drift.D2, 1.128, 5e-4)
	near(t, "2.66", drift.Width/drift.D2, 2.66, 5e-3)
	near(t, "3.267", drift.D4, 3.267, 5e-4)
	near(t, "d2", drift.D2, 2/math.Sqrt(math.Pi), 1e-15)
	// d3² = E(R²) - d2² = 2 - d2², D4 = 1 + 3 d3/d2
	near(t, "D4", drift.D4, 1+3*math.Sqrt(2-drift.D2*drift.D2)/drift.D2, 1e-14)
}

func TestIndividualsByAnEarlierBase(t *testing.T) {
	x := append(slices.Clone(flowrates), 56, 50, 58)
	c, err := drift.NewIndividuals(x, len(flowrates), drift.LimitsAlone())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "the upper limit of the base", c.Upper, 55.80241168, 5e-9)
	want := []drift.Signal{{Rule: drift.Beyond, At: 10, Points: []int{10}}, {Rule: drift.Beyond, At: 12, Points: []int{12}}}
	if diff := cmp.Diff(want, c.Signals); diff != "" {
		t.Errorf("signals (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]int{12}, c.WideRanges); diff != "" { // 50 to 58; 56 to 50 is 6
		t.Errorf("wide ranges (-want +got):\n%s", diff)
	}
	all, err := drift.NewIndividuals(x, 0, drift.LimitsAlone())
	if err != nil {
		t.Fatal(err)
	}
	if all.Base != len(x) || all.Upper <= c.Upper {
		t.Errorf("with no base the limits come from %d readings and end at %g", all.Base, all.Upper)
	}
}

var ewmaData = []float64{
	52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1,
}

// The worked example of the NIST/SEMATECH e-Handbook, 6.3.2.4. The page prints two places
// and cuts 47.411568 to 47.4115.
func TestEWMAWorkedExample(t *testing.T) {
	e, err := drift.NewEWMA(ewmaData, drift.Plan{Target: 50, Sigma: 2.0539, Lambda: 0.3, Width: 3})
	if err != nil {
		t.Fatal(err)
	}
	printed := []float64{
		50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
	}
	for i, want := range printed {
		near(t, "an average", e.Averages[i], want, 0.005+1e-9)
	}
	near(t, "the last average", e.Averages[19], 51.9882, 5e-5)
	near(t, "the upper limit", e.Upper, 52.5884, 5e-5)
	near(t, "the lower limit", e.Lower, 47.4115, 1e-4)
	near(t, "the lower limit, computed", e.Lower, 47.411568, 5e-7)
	if len(e.Outside) > 0 {
		t.Errorf("it is out at %v; the handbook says that it is in", e.Outside)
	}
	// The factors of the exact limits, computed from the formula on that page.
	for i, factor := range map[int]float64{0: 0.3, 1: 0.36619667, 4: 0.41410836, 9: 0.41991639} {
		lower, upper := e.Limits(i)
		near(t, "the exact upper limit", upper, 50+3*2.0539*factor, 1e-7)
		near(t, "the exact lower limit", lower, 50-3*2.0539*factor, 1e-7)
	}
	lower, upper := e.Limits(999)
	near(t, "the upper limit that it comes to", upper, e.Upper, 1e-12)
	near(t, "the lower limit that it comes to", lower, e.Lower, 1e-12)
}

// With the whole weight on the newest reading an average is the reading, and its limits
// are those of single readings.
func TestEWMAOfWholeWeight(t *testing.T) {
	e, err := drift.NewEWMA([]float64{1, 4, -4, 2}, drift.Plan{Sigma: 1, Lambda: 1, Width: 3})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(e.Values, e.Averages); diff != "" {
		t.Errorf("averages (-want +got):\n%s", diff)
	}
	lower, upper := e.Limits(0)
	if lower != -3 || upper != 3 || e.Lower != -3 || e.Upper != 3 {
		t.Errorf("limits %g to %g, then %g to %g; want -3 to 3", lower, upper, e.Lower, e.Upper)
	}
	if diff := cmp.Diff([]int{1, 2}, e.Outside); diff != "" {
		t.Errorf("outside (-want +got):\n%s", diff)
	}
}

// The worked example of the NIST/SEMATECH e-Handbook, 6.3.2.3; it prints 14.445 as 14.44
// and 19.035 as 19.04. Its k and h are in the unit of the readings.
func TestCUSUMWorkedExample(t *testing.T) {
	x := []float64{
		324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150,
		328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
	}
	c, err := drift.NewCUSUM(x, drift.Sums{Target: 325, Sigma: 1, Slack: 0.3175, Threshold: 4.1959})
	if err != nil {
		t.Fatal(err)
	}
	above := []float64{0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04}
	below := []float64{0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.26, 0.31, 0, 0, 0, 0, 0, 0, 0, 0, 0}
	for i := range x {
		near(t, "a sum above", c.Above[i], above[i], 0.005+1e-9)
		near(t, "a sum below", c.Below[i], below[i], 0.005+1e-9)
	}
	if diff := cmp.Diff([]drift.Shift{{Side: drift.High, Since: 12, At: 13, Until: 20}}, c.Shifts); diff != "" {
		t.Errorf("shifts (-want +got):\n%s", diff)
	}
}

func TestCUSUMTellsWhenAShiftIsOver(t *testing.T) {
	x := []float64{0, -2, -2, -2, 0, 2, 2, 0, 0, 4, 4}
	c, err := drift.NewCUSUM(x, drift.Sums{Sigma: 1, Slack: 0.5, Threshold: 4})
	if err != nil {
		t.Fatal(err)
	}
	want := []drift.Shift{{Side: drift.Low, Since: 1, At: 3, Until: 4}, {Side: drift.High, Since: 5, At: 9, Until: 11}}
	if diff := cmp.Diff(want, c.Shifts); diff != "" {
		t.Errorf("shifts (-want +got):\n%s", diff)
	}
}

func TestBadSeriesAndPlans(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	individuals := func(x []float64, base int) error {
		_, err := drift.NewIndividuals(x, base, drift.EightTests())
		return err
	}
	ewma := func(x []float64, p drift.Plan) error {
		_, err := drift.NewEWMA(x, p)
		return err
	}
	cusum := func(x []float64, p drift.Sums) error {
		_, err := drift.NewCUSUM(x, p)
		return err
	}
	summary := func(x []float64) error {
		_, err := drift.Summarise(x)
		return err
	}
	fire := func(x []float64, centre, sigma float64) error {
		_, err := drift.FourRules().Fire(x, centre, sigma)
		return err
	}
	ok, two := drift.Plan{Sigma: 1, Lambda: 0.2, Width: 3}, []float64{1, 2}
	tests := []struct {
		name string
		err  error
		want drift.Kind
		says string
	}{
		{"nothing", individuals(nil, 0), drift.Few, "there are 0 readings"},
		{"one reading", individuals(two[:1], 0), drift.Few, "there is 1 reading, and this needs at least 2"},
		{"not a number", individuals([]float64{1, nan, 2}, 0), drift.NotANumber, "reading 2 of 3 is NaN"},
		{"infinite", individuals([]float64{1, 2, inf}, 0), drift.NotANumber, "reading 3 of 3 is +Inf"},
		{"too large", individuals([]float64{-2e100, 2, 3}, 0), drift.NotANumber, "reading 1 of 3 is -2e+100"},
		{"all the same", individuals([]float64{0.1, 0.1, 0.1}, 0), drift.NoSpread, "all 3 readings are 0.1"},
		{"the base all the same", individuals([]float64{48, 48, 50}, 2), drift.NoSpread, "all 2 readings are 48"},
		{"a base of one", individuals(two, 1), drift.BadPlan, "from 1 of 2 readings"},
		{"a base of more than all", individuals(two, 3), drift.BadPlan, "from 3 of 2 readings"},
		{"a negative base", individuals(two, -1), drift.BadPlan, "from -1 of 2 readings"},
		{"a summary of one", summary([]float64{3}), drift.Few, ""},
		{"more than a million", summary(make([]float64, drift.MaxReadings+1)), drift.Many, "1000001 readings are more"},
		{"rules about no sigma", fire(two, 1, 0), drift.BadPlan, "sigma of 0"},
		{"rules about a negative sigma", fire(two, 1, -1), drift.BadPlan, "sigma of -1"},
		{"rules about NaN", fire(two, nan, 1), drift.BadPlan, "centre of NaN"},
		{"rules on nothing", fire(nil, 0, 1), drift.Few, ""},
		{"an average of nothing", ewma(nil, ok), drift.Few, ""},
		{"an average without sigma", ewma(two, drift.Plan{Lambda: 0.2, Width: 3}), drift.BadPlan, "sigma"},
		{"no weight", ewma(two, drift.Plan{Sigma: 1, Width: 3}), drift.BadPlan, "a weight of 0"},
		{"a weight over one", ewma(two, drift.Plan{Sigma: 1, Width: 3, Lambda: 1.01}), drift.BadPlan, "a weight of 1.01"},
		{"a weight that is no number", ewma(two, drift.Plan{Sigma: 1, Width: 3, Lambda: nan}), drift.BadPlan, "a weight of NaN"},
		{"no width", ewma(two, drift.Plan{Sigma: 1, Lambda: 1}), drift.BadPlan, "limits of 0 sigma"},
		{"sums of nothing", cusum(nil, drift.Sums{Sigma: 1, Threshold: 5}), drift.Few, ""},
		{"sums without a threshold", cusum(two, drift.Sums{Sigma: 1}), drift.BadPlan, "a threshold of 0"},
		{"a negative slack", cusum(two, drift.Sums{Sigma: 1, Slack: -1, Threshold: 5}), drift.BadPlan, "a slack of -1"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := kindOf(t, tt.err); got != tt.want {
				t.Fatalf("the error is %v, of kind %q; want kind %q", tt.err, got, tt.want)
			}
			if !strings.Contains(tt.err.Error(), tt.says) {
				t.Errorf("the error is %q, want %q in it", tt.err, tt.says)
			}
		})
	}
}
