package drift_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"readback/rules/decide"
	"readback/rules/drift"
)

// sample returns n readings whose mean and standard deviation are just these.
func sample(t *testing.T, n int, mean, sd float64) []float64 {
	t.Helper()
	r := rand.New(rand.NewPCG(7, uint64(n)))
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	s, err := drift.Summarise(x)
	if err != nil {
		t.Fatal(err)
	}
	for i := range x {
		x[i] = mean + (x[i]-s.Mean)/s.SD*sd
	}
	return x
}

func capability(t *testing.T, x []float64, limits decide.Limits) drift.Capability {
	t.Helper()
	c, err := drift.NewCapability(x, limits, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The worked example of the NIST/SEMATECH e-Handbook, 6.1.6: limits 8 and 20, mean 16,
// standard deviation 2.
func TestCapabilityWorkedExample(t *testing.T) {
	c := capability(t, sample(t, 50, 16, 2), decide.Limits{Min: 8, Max: 20})
	near(t, "Cp", c.Cp.Value, 1.0, 1e-12)
	near(t, "Cpu", c.Cpu.Value, 0.6667, 5e-5)
	near(t, "Cpl", c.Cpl.Value, 1.3333, 5e-5)
	near(t, "Cpk", c.Cpk.Value, 0.6667, 5e-5)
	// Its formula of confidence, with z = 1.96 of a table and n = 50.
	half := 1.96 * math.Sqrt(1/450.0+0.6667*0.6667/98)
	near(t, "the lower end of Cpk", c.Cpk.Lower, 0.6667-half, 1e-4)
	near(t, "the upper end of Cpk", c.Cpk.Upper, 0.6667+half, 1e-4)
	if c.Small {
		t.Error("50 readings are called a small sample")
	}
	if got, want := c.Text(), "Cpk 0.67 (95 % confidence 0.51 to 0.83, 50 readings)."; got != want {
		t.Errorf("Text is %q, want %q", got, want)
	}
	if len(c.Cautions) == 0 || !strings.Contains(c.Cautions[0], "wants 100") {
		t.Errorf("of 50 readings it says %q, want that a study wants 100", c.Cautions)
	}
}

// The worked example of a confidence interval of Cp in D. C. Montgomery, Introduction to
// Statistical Quality Control, chapter on process capability (from memory): limits 38 and
// 62, 20 readings, s = 1.75: Cp 2.29, 1.57 to 3.01.
func TestConfidenceOfCpWorkedExample(t *testing.T) {
	c := capability(t, sample(t, 20, 50, 1.75), decide.Limits{Min: 38, Max: 62})
	near(t, "Cp", c.Cp.Value, 2.29, 0.005)
	near(t, "its lower end", c.Cp.Lower, 1.57, 0.0051)
	near(t, "its upper end", c.Cp.Upper, 3.01, 0.0051)
	if !c.Small || len(c.Cautions) == 0 || !strings.HasPrefix(c.Cautions[0], "A small sample: 20 readings.") {
		t.Errorf("20 readings are called small: %v, with %q", c.Small, c.Cautions)
	}
	if !strings.HasSuffix(c.Text(), "20 readings, a small sample).") {
		t.Errorf("Text %q does not say that the sample is small", c.Text())
	}
}

func TestCapabilityOfOneLimit(t *testing.T) {
	x := sample(t, 100, 16, 2)
	upper := capability(t, x, decide.Limits{Min: decide.Open(), Max: 20})
	if upper.Cp != nil || upper.Cpl != nil || upper.Cpk != upper.Cpu {
		t.Errorf("at most 20 has Cp %v, Cpl %v, Cpk %v", upper.Cp, upper.Cpl, upper.Cpk)
	}
	near(t, "Cpu", upper.Cpk.Value, 2.0/3, 1e-12)
	lower := capability(t, x, decide.Limits{Min: 8, Max: decide.Open()})
	if lower.Cp != nil || lower.Cpu != nil || lower.Cpk != lower.Cpl {
		t.Errorf("at least 8 has Cp %v, Cpu %v, Cpk %v", lower.Cp, lower.Cpu, lower.Cpk)
	}
	near(t, "Cpl", lower.Cpk.Value, 4.0/3, 1e-12)
}

func TestCapabilitySaysWhatWeakensIt(t *testing.T) {
	x := sample(t, 100, 16, 2)
	x[50] = 40
	c := capability(t, x, decide.Limits{Min: 8, Max: 20})
	if c.Steady || !strings.Contains(strings.Join(c.Cautions, " "), "1 reading beyond the limits of the readings' own chart") {
		t.Errorf("a wild reading leaves it steady: %v, with %q", c.Steady, c.Cautions)
	}
	n := 0
	for _, v := range x {
		if v < 8 || v > 20 {
			n++
		}
	}
	if c.Outside != n {
		t.Errorf("%d are outside, want %d", c.Outside, n)
	}
	for i := range x {
		x[i] = float64(i)
	}
	if got := strings.Join(capability(t, x, decide.Limits{Min: -1, Max: 200}).Cautions, " "); !strings.Contains(got, "Each reading is like the one before (autocorrelation 0.97)") {
		t.Errorf("of readings that climb it says %q", got)
	}
}

// Of many samples from a process whose capability is known, the intervals hold it about as
// often as they say. Forty readings; chance alone moves the share by 0.7 %.
func TestCapabilityConfidenceHolds(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	const runs = 1000
	cp, cpu, cpk := 0, 0, 0
	for range runs {
		x := make([]float64, 40)
		for i := range x {
			x[i] = 0.5 + r.NormFloat64()
		}
		c := capability(t, x, decide.Limits{Min: -4, Max: 4})
		for _, of := range []struct {
			hits *int
			in   *drift.Index
			true float64
		}{{&cp, c.Cp, 8.0 / 6}, {&cpu, c.Cpu, 3.5 / 3}, {&cpk, c.Cpk, 3.5 / 3}} {
			if of.in.Holds(of.true) {
				*of.hits++
			}
		}
	}
	for name, hits := range map[string]int{"Cp": cp, "Cpu": cpu, "Cpk": cpk} {
		near(t, name+": the share of intervals that hold", float64(hits)/runs, 0.95, 0.022)
	}
}

func TestBadLimits(t *testing.T) {
	nan, inf, x := math.NaN(), math.Inf(1), []float64{1, 2, 3}
	tests := []struct {
		name   string
		x      []float64
		limits decide.Limits
		level  float64
		want   drift.Kind
		says   string
	}{
		{"the wrong way round", x, decide.Limits{Min: 5, Max: 4}, 0.95, drift.BadLimits, "the lower limit 5 is not below the upper 4"},
		{"no room between", x, decide.Limits{Min: 5, Max: 5}, 0.95, drift.BadLimits, "the lower limit 5 is not below the upper 5"},
		{"no limits", x, decide.Limits{Min: nan, Max: nan}, 0.95, drift.BadLimits, "there are no limits"},
		{"infinite", x, decide.Limits{Min: -inf, Max: 4}, 0.95, drift.BadLimits, "leave an end open"},
		{"no confidence", x, decide.Limits{Min: 0, Max: 4}, 0, drift.BadPlan, "a confidence of 0"},
		{"a confidence of one", x, decide.Limits{Min: 0, Max: 4}, 1, drift.BadPlan, "a confidence of 1"},
		{"a confidence that is no number", x, decide.Limits{Min: 0, Max: 4}, nan, drift.BadPlan, "a confidence of NaN"},
		{"one reading", x[:1], decide.Limits{Min: 0, Max: 4}, 0.95, drift.Few, "there is 1 reading"},
		{"no spread", []float64{2, 2, 2}, decide.Limits{Min: 0, Max: 4}, 0.95, drift.NoSpread, "all 3 readings are 2"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := drift.NewCapability(tt.x, tt.limits, tt.level)
			if got := kindOf(t, err); got != tt.want {
				t.Fatalf("the error is %v, of kind %q; want kind %q", err, got, tt.want)
			}
			if !strings.Contains(err.Error(), tt.says) {
				t.Errorf("the error is %q, want %q in it", err, tt.says)
			}
		})
	}
}
