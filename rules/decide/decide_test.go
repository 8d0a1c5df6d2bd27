package decide_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"readback/rules/decide"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within {
		t.Errorf("%s is %.10g, want %.10g within %g", what, got, want, within)
	}
}

// The first three are the examples of JCGM 106:2012, 7.3.3 and 7.4 (inputs from memory);
// the others are computed with the normal distribution for callouts of a pump.
func TestConformity(t *testing.T) {
	open := decide.Open()
	tests := []struct {
		name        string
		min, max    float64
		y, u, wants float64
	}{
		{"JCGM 106, 7.3.3, example 1: breakdown voltage, upper limit", open, -5.40, -5.47, 0.05, 0.919243},
		{"JCGM 106, 7.3.3, example 2: breaking strength, lower limit", 490, open, 507, 10, 0.955435},
		{"JCGM 106, 7.4: oil viscosity, two limits", 12.5, 16.3, 13.6, 1.8, 0.662630},
		{"in the middle", 46.08, 49.92, 48, 0.6, 0.998626},
		{"a worse wrench", 46.08, 49.92, 48, 1.2, 0.890401},
		{"near the limit", 46.08, 49.92, 49.5, 0.6, 0.758036},
		{"on the limit it is one half", 46.08, 49.92, 49.92, 0.6, 0.5},
		{"outside", 46.08, 49.92, 50.5, 0.6, 0.166855},
		{"an upper limit alone", open, 0.05, 0.045, 0.004, 0.894350},
		{"a difference of two depths", 1.0, 2.4, 1.02, 0.0168325, 0.882618},
		{"without uncertainty, inside", 46.08, 49.92, 49.92, 0, 1},
		{"without uncertainty, outside", 46.08, 49.92, 49.93, 0, 0},
		{"no limits", open, open, 3, 1, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			near(t, "Conformity", decide.Conformity(tt.y, tt.u, decide.Limits{Min: tt.min, Max: tt.max}), tt.wants, 1e-6)
		})
	}
}

// Type B evaluation: GUM 4.3.7 and F.2.2.1 (clause numbers from memory), factors computed.
func TestStandardUncertainty(t *testing.T) {
	near(t, "a rectangle of ±1", decide.Rectangular(1), 0.5773502692, 1e-10)
	near(t, "a step of 1", decide.Step(1), 0.2886751346, 1e-10)
	wrench := decide.Combine(decide.Rectangular(0.04*48), decide.Step(0.1))
	near(t, "a wrench of ±4 % at 48 N.m, step 0.1", wrench, 1.1088883, 1e-7)
	calliper := decide.Combine(decide.Rectangular(0.02), decide.Step(0.01))
	near(t, "a calliper of ±0.02 mm, step 0.01", calliper, 0.0119024, 1e-7)
	near(t, "the difference of two such depths", decide.Combine(calliper, calliper), 0.0168325, 1e-7)
}

// Guards of JCGM 106, section 8, and the default of ISO 14253-1 (95 %, 1.65 u = 0.825 U).
func TestGuard(t *testing.T) {
	const u = 0.0168325
	l := decide.Limits{Min: 1.0, Max: 2.4}
	full, iso := decide.Rule{Guard: 1}, decide.Rule{Guard: 1.645 / 2}
	near(t, "1.645 u inside the lower limit", l.Min+iso.Band(u), 1.027689, 1e-6)
	near(t, "1.645 u inside the upper limit", l.Max-iso.Band(u), 2.372311, 1e-6)
	near(t, "2 u inside the lower limit", l.Min+full.Band(u), 1.033665, 1e-6)
	near(t, "2 u inside the upper limit", l.Max-full.Band(u), 2.366335, 1e-6)
	at := l.Min + full.Band(u)
	near(t, "conformity at the guard, one limit", decide.Conformity(at, u, decide.Limits{Min: l.Min, Max: decide.Open()}), 0.977250, 1e-6)

	for y, want := range map[float64]bool{1.0: true, 1.03: true, 1.034: false, 2.0: false, 2.366: false, 2.367: true} {
		if got := full.InGuard(y, u, l); got != want {
			t.Errorf("InGuard(%g) = %v, want %v", y, got, want)
		}
		if (decide.Rule{}).InGuard(y, u, l) {
			t.Errorf("simple acceptance has a guard band at %g", y)
		}
	}
}

func TestProves(t *testing.T) {
	u := decide.Combine(decide.Rectangular(0.04*48), decide.Step(0.1))
	nut := decide.Limits{Min: 46.08, Max: 49.92}
	if decide.Proves(u, nut, decide.Open()) {
		t.Error("a wrench of 4 % proves 48 N.m ± 4 %, where U is 2.22 of 1.92")
	}
	near(t, "its conformity at nominal", decide.Conformity(48, u, nut), 0.916631, 1e-6)
	if !decide.Proves(u/4, nut, decide.Open()) {
		t.Error("a wrench of 1 % does not prove 48 N.m ± 4 %")
	}
	runout := decide.Limits{Min: decide.Open(), Max: 0.05}
	if decide.Proves(0.03, runout, 0) || !decide.Proves(0.004, runout, 0) {
		t.Error("at most 0.05 mm wants U below 0.05 mm")
	}
}

// What widens a tolerance never makes conformity less likely, and a probability is one.
func TestConformityIsMonotonic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y, u := rapid.Float64Range(-100, 100).Draw(t, "y"), rapid.Float64Range(0, 50).Draw(t, "u")
		lo, w := rapid.Float64Range(-100, 100).Draw(t, "min"), rapid.Float64Range(0, 100).Draw(t, "width")
		more := rapid.Float64Range(0, 100).Draw(t, "more")
		p := decide.Conformity(y, u, decide.Limits{Min: lo, Max: lo + w})
		q := decide.Conformity(y, u, decide.Limits{Min: lo - more, Max: lo + w + more})
		if p < 0 || p > 1 || q < p-1e-12 {
			t.Fatalf("conformity %g in the narrow limits, %g in the wide ones", p, q)
		}
	})
}
