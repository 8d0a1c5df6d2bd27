package drift_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"readback/rules/decide"
	"readback/rules/drift"
)

var start = time.Date(2026, time.January, 5, 8, 0, 0, 0, time.UTC)

// day returns a time that many days after the start.
func day(n int) time.Time { return start.AddDate(0, 0, n) }

// The worked example of the NIST/SEMATECH e-Handbook, 1.3.5.3 (two-sample t-test, miles
// per gallon; figures from memory, and they agree with each other): t = -12.94627 with
// 136.8750 degrees of freedom where the variances are not taken for equal.
func TestWelchWorkedExample(t *testing.T) {
	a := drift.Summary{N: 249, Mean: 20.14458, SD: 6.41470}
	b := drift.Summary{N: 79, Mean: 30.48101, SD: 6.10771}
	d, err := drift.Welch(a, b, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "the difference", d.Value, -10.33643, 5e-6)
	near(t, "the degrees of freedom", d.DF, 136.8750, 1e-3)
	se := -10.33643 / -12.94627
	const quantile = 1.977481 // between those of 136 and 137 in any table: 1.97756 and 1.97743
	near(t, "the upper end", d.Upper, -10.33643+quantile*se, 1e-4)
	near(t, "the lower end", d.Lower, -10.33643-quantile*se, 1e-4)
}

func TestWelchOfBadSummaries(t *testing.T) {
	ok, flat := drift.Summary{N: 3, Mean: 1, SD: 2}, drift.Summary{N: 3, Mean: 1}
	for _, tt := range []struct {
		name  string
		a, b  drift.Summary
		level float64
		want  drift.Kind
	}{
		{"one reading", drift.Summary{N: 1}, ok, 0.95, drift.Few},
		{"nothing", ok, drift.Summary{}, 0.95, drift.Few},
		{"no spread on either side", flat, flat, 0.95, drift.NoSpread},
		{"no level", ok, ok, 0, drift.BadPlan},
		{"spread on one side", ok, flat, 0.95, ""},
	} {
		_, err := drift.Welch(tt.a, tt.b, tt.level)
		if got := kindOf(t, err); got != tt.want {
			t.Errorf("%s: %v, of kind %q; want %q", tt.name, err, got, tt.want)
		}
	}
}

func TestOff(t *testing.T) {
	off := func(v float64, err error) float64 {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	near(t, "47.04 at 48", off(drift.OffNominal(47.04, 48)), -2, 1e-12)
	near(t, "-47.04 at -48", off(drift.OffNominal(-47.04, -48)), 2, 1e-12)
	near(t, "the upper limit", off(drift.OffMiddle(2.4, decide.Limits{Min: 1, Max: 2.4})), 50, 1e-12)
	near(t, "the middle", off(drift.OffMiddle(1.7, decide.Limits{Min: 1, Max: 2.4})), 0, 1e-12)
	_, zero := drift.OffNominal(1, 0)
	_, nan := drift.OffNominal(math.NaN(), 48)
	_, open := drift.OffMiddle(1, decide.Limits{Min: 1, Max: decide.Open()})
	_, round := drift.OffMiddle(1, decide.Limits{Min: 1, Max: 0})
	_, far := drift.OffNominal(1e90, 1e-90)
	got := []drift.Kind{kindOf(t, zero), kindOf(t, nan), kindOf(t, open), kindOf(t, round), kindOf(t, far)}
	want := []drift.Kind{drift.BadLimits, drift.NotANumber, drift.BadLimits, drift.BadLimits, drift.NotANumber}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("kinds (-want +got):\n%s", diff)
	}
}

// of returns readings of one instrument, one a day from a day on.
func of(instrument, group string, from int, offs ...float64) (out []drift.Measured) {
	for i, off := range offs {
		out = append(out, drift.Measured{Group: group, Instrument: instrument, Off: off, When: day(from + i)})
	}
	return out
}

func join(parts ...[]drift.Measured) (out []drift.Measured) {
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

func compare(t *testing.T, readings []drift.Measured) drift.Comparison {
	t.Helper()
	c, err := drift.Compare(readings, "wrench 7", drift.OfNominal, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestCompareOfOneGroupIsWelch(t *testing.T) {
	mine, others := []float64{-3, -1, -2, -2.5}, []float64{0.5, -0.5, 1, 0, 0.2, -1.1}
	c := compare(t, join(of("wrench 7", "nut", 0, mine...), of("wrench 4", "nut", 0, others[:3]...), of("wrench 9", "nut", 5, others[3:]...)))
	a, err := drift.Summarise(mine)
	if err != nil {
		t.Fatal(err)
	}
	b, err := drift.Summarise(others)
	if err != nil {
		t.Fatal(err)
	}
	want, err := drift.Welch(a, b, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	for name, of := range map[string][2]float64{
		"difference": {c.All.Value, want.Value}, "lower end": {c.All.Lower, want.Lower},
		"upper end": {c.All.Upper, want.Upper}, "degrees of freedom": {c.All.DF, want.DF},
	} {
		near(t, "the "+name, of[0], of[1], 1e-12*math.Abs(of[1]))
	}
	if diff := cmp.Diff([]string{"wrench 4", "wrench 9"}, c.With); diff != "" {
		t.Errorf("compared with (-want +got):\n%s", diff)
	}
}

// Worked by hand. Rods run 10 low whoever does them; wrench 7 does mostly those. Of nuts it
// is 1 below the others, of rods 2: weighed by its 2 and 4 readings, 5/3 low.
func TestCompareDoesNotBlameTheCallout(t *testing.T) {
	c := compare(t, join(
		of("wrench 7", "nut", 0, -2, 0), of("wrench 7", "rod", 2, -13, -11, -13, -11),
		of("wrench 4", "nut", 0, -1, 1, -1, 1), of("wrench 4", "rod", 4, -11, -9),
		of("wrench 7", "bolt", 0, 77), of("gauge 2", "depth", 0, 5, 6), of("", "nut", 0, 50),
	))
	near(t, "the difference", c.All.Value, -(2*1+4*2)/6.0, 1e-12)
	// Within groups: mine 2+4 over 4 degrees, s² = 1.5; the others' 4+2 over 4, s² = 1.5.
	va, vb := 1.5/6, 1.5*(2.0/6*2/6/4+4.0/6*4/6/2)
	df := (va + vb) * (va + vb) / (va*va/4 + vb*vb/4)
	near(t, "the degrees of freedom", c.All.DF, df, 1e-9)
	near(t, "half the interval over its error", (c.All.Upper-c.All.Lower)/2/math.Sqrt(va+vb), 2.3224, 1e-3) // of 7.69: between 2.3646 of 7 and 2.3060 of 8, by 1/df
	if c.LeftOut != 1 || c.Unnamed != 1 || c.All.N != 6 || c.All.Others != 6 {
		t.Errorf("%d left out, %d without a name, %d against %d; want 1, 1, 6, 6", c.LeftOut, c.Unnamed, c.All.N, c.All.Others)
	}
	if diff := cmp.Diff([]string{"nut", "rod"}, c.Groups); diff != "" {
		t.Errorf("groups (-want +got):\n%s", diff)
	}
	all := strings.Join(c.Cautions, " ")
	for _, want := range []string{
		"There is only wrench 4 to compare with", "A small sample: 6 readings.",
		"1 reading of what no other instrument read: left out.", "1 reading without an instrument's name: left out.",
	} {
		if !strings.Contains(all, want) {
			t.Errorf("cautions %q lack %q", all, want)
		}
	}
}

func TestBadComparisons(t *testing.T) {
	ok := join(of("wrench 7", "nut", 0, 1, 2, 3), of("wrench 4", "nut", 0, 1, 2, 4))
	tests := []struct {
		name       string
		readings   []drift.Measured
		instrument string
		level      float64
		want       drift.Kind
		says       string
	}{
		{"nothing", nil, "wrench 7", 0.95, drift.Few, "no reading by wrench 7"},
		{"an instrument that nobody used", ok, "wrench 8", 0.95, drift.Few, "no reading by wrench 8"},
		{"no other", ok[:3], "wrench 7", 0.95, drift.Few, "no reading by wrench 7"},
		{"no name", ok, "", 0.95, drift.BadPlan, "no instrument is named"},
		{"no level", ok, "wrench 7", 95, drift.BadPlan, "a confidence of 95"},
		{"once each", join(ok[:1], ok[3:]), "wrench 7", 0.95, drift.Few, "1 reading and 3 readings by the others"},
		{"no spread", join(of("wrench 7", "nut", 0, 1, 1, 1), of("wrench 4", "nut", 0, 2, 2)), "wrench 7", 0.95, drift.NoSpread, "5 readings never differ"},
		{"not a number", join(ok, of("wrench 4", "rod", 0, math.NaN())), "wrench 7", 0.95, drift.NotANumber, "a reading of rod by wrench 4 is NaN"},
		{"no time", append(join(ok), drift.Measured{Group: "rod", Instrument: "wrench 4"}), "wrench 7", 0.95, drift.BadPlan, "has no time"},
		{"too many", make([]drift.Measured, drift.MaxReadings+1), "wrench 7", 0.95, drift.Many, "1000001 readings"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := drift.Compare(tt.readings, tt.instrument, drift.OfNominal, tt.level)
			if got := kindOf(t, err); got != tt.want {
				t.Fatalf("the error is %v, of kind %q; want kind %q", err, got, tt.want)
			}
			if !strings.Contains(err.Error(), tt.says) {
				t.Errorf("the error is %q, want %q in it", err, tt.says)
			}
		})
	}
}

// shop draws a year of readings, one a day by turns of three wrenches, wrench 7 off by what
// shift says of a day.
func shop(seed uint64, days int, shift func(day int) float64) (out []drift.Measured) {
	r := rand.New(rand.NewPCG(seed, 77))
	for d := range days {
		for _, wrench := range []string{"wrench 4", "wrench 7", "wrench 9"} {
			group := fmt.Sprintf("nut, stage %d", 1+r.IntN(3))
			off := r.NormFloat64() + float64(len(group)%2) // stages need not run alike
			if wrench == "wrench 7" {
				off += shift(d)
			}
			out = append(out, drift.Measured{Group: group, Instrument: wrench, Off: off, When: day(d * 4)})
		}
	}
	return out
}

func TestCompareFindsSinceWhen(t *testing.T) {
	c := compare(t, shop(3, 80, func(d int) float64 { // day 20 is 26 March
		if d < 20 {
			return 0
		}
		return -2
	}))
	if c.Since == nil {
		t.Fatalf("no start is found; the sums say %q", c.Cautions)
	}
	if got := c.Since.When; got.Before(day(17*4)) || got.After(day(23*4)) {
		t.Errorf("it began on %v, want about %v", got, day(80))
	}
	if !c.Since.Holds(-2) || c.Since.Crossed.Before(c.Since.When) {
		t.Errorf("since then it is off by %g (%g to %g), noticed on %v", c.Since.Value, c.Since.Lower, c.Since.Upper, c.Since.Crossed)
	}
	text := c.Text("wrench seven")
	if !strings.HasPrefix(text, "Wrench seven reads ") || !strings.Contains(text, " per cent low against the others since March (95 % confidence ") {
		t.Errorf("Text is %q", text)
	}
	if all := strings.Join(c.Cautions, " "); !strings.Contains(all, "The start in March is a guess from the readings themselves") {
		t.Errorf("cautions %q do not say that the start is a guess", all)
	}
}

func TestCompareOfWhatIsMended(t *testing.T) {
	c := compare(t, shop(5, 80, func(d int) float64 {
		if d >= 20 && d < 35 {
			return 2
		}
		return 0
	}))
	if c.Since != nil {
		t.Errorf("it is said to be off since %v, though that is over", c.Since.When)
	}
	if all := strings.Join(c.Cautions, " "); !strings.Contains(all, "It seems to have read high from ") || !strings.Contains(all, "and not at the end") {
		t.Errorf("cautions %q do not tell of it", all)
	}
}

func TestCompareOffFromTheFirst(t *testing.T) {
	c := compare(t, shop(9, 40, func(int) float64 { return 3 }))
	if c.Since != nil || !c.All.Shown() {
		t.Errorf("off by 3 from the first reading: since %v, shown %v", c.Since, c.All.Shown())
	}
	if text := c.Text("wrench 7"); strings.Contains(text, "since") || !strings.Contains(text, "per cent high against the others (95 %") {
		t.Errorf("Text is %q", text)
	}
}

func TestCompareText(t *testing.T) {
	since := &drift.Since{When: day(70), Difference: drift.Difference{Value: -2.08, Interval: drift.Interval{Lower: -2.96, Upper: -1.21, Level: 0.95}, N: 41}}
	earlier := &drift.Since{When: start.AddDate(0, -2, 0), Difference: since.Difference}
	tests := []struct {
		name string
		c    drift.Comparison
		want string
	}{
		{
			"with a start",
			drift.Comparison{Basis: drift.OfNominal, Since: since, Last: day(200)},
			"Wrench seven reads 2.1 per cent low against the others since March (95 % confidence 1.2 to 3.0 per cent, 41 readings).",
		},
		{
			"a start in another year",
			drift.Comparison{Basis: drift.OfNominal, Since: earlier, Last: day(200)},
			"Wrench seven reads 2.1 per cent low against the others since November 2025 (95 % confidence 1.2 to 3.0 per cent, 41 readings).",
		},
		{
			"without a start",
			drift.Comparison{Basis: drift.OfWidth, All: drift.Difference{Value: 3, Interval: drift.Interval{Lower: 1, Upper: 5, Level: 0.99}, N: 9}},
			"Wrench seven reads 3.0 per cent of the limits' width high against the others (99 % confidence 1.0 to 5.0 per cent of the limits' width, 9 readings).",
		},
		{
			"nothing shown",
			drift.Comparison{Basis: drift.OfNominal, All: drift.Difference{Value: 0.3, Interval: drift.Interval{Lower: -0.4, Upper: 1.1, Level: 0.95}, N: 12}},
			"No difference is shown between wrench seven and the others: from 0.4 per cent low to 1.1 per cent high (95 % confidence, 12 readings).",
		},
		{
			"an end near nought is not shown as nought",
			drift.Comparison{Basis: drift.OfNominal, All: drift.Difference{Value: 1, Interval: drift.Interval{Lower: 0.004, Upper: 1.996, Level: 0.95}, N: 12}},
			"Wrench seven reads 1.0 per cent high against the others (95 % confidence 0.004 to 2.0 per cent, 12 readings).",
		},
		{
			"a narrow interval has more places",
			drift.Comparison{Basis: drift.OfNominal, All: drift.Difference{Value: 0.512, Interval: drift.Interval{Lower: 0.488, Upper: 0.536, Level: 0.95}, N: 900}},
			"Wrench seven reads 0.51 per cent high against the others (95 % confidence 0.49 to 0.54 per cent, 900 readings).",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := tt.c.Text("wrench seven"); got != tt.want {
				t.Errorf("Text is\n%s\nwant\n%s", got, tt.want)
			}
		})
	}
}

// Of many shops where nothing is off, the intervals hold 0 about as often as they say, and
// a start is seldom made up; where a wrench is off by one sigma from half the year on, it
// is mostly found.
func TestCompareHoldsWhatItSays(t *testing.T) {
	const runs = 400
	holds, invented, found := 0, 0, 0
	for seed := range uint64(runs) {
		c := compare(t, shop(seed, 40, func(int) float64 { return 0 }))
		if c.All.Holds(0) {
			holds++
		}
		if c.Since != nil {
			invented++
		}
		c = compare(t, shop(seed, 60, func(d int) float64 { return float64(d/30) * 1.5 }))
		if c.Since != nil {
			found++
		}
	}
	t.Logf("of %d: %d hold, %d starts made up, %d found", runs, holds, invented, found)
	near(t, "the share of intervals that hold", float64(holds)/runs, 0.95, 0.03)
	if invented > runs/20 {
		t.Errorf("a start is made up %d times of %d", invented, runs)
	}
	if found < runs*3/4 {
		t.Errorf("a start is found %d times of %d", found, runs)
	}
}

func TestTogether(t *testing.T) {
	near(t, "twenty together", drift.Together(0.95, 20), 0.9975, 1e-12)
	near(t, "one", drift.Together(0.95, 1), 0.95, 1e-12)
	near(t, "none", drift.Together(0.95, 0), 0.95, 1e-12)
}
