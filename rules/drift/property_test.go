package drift_test

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"readback/rules/decide"
	"readback/rules/drift"
)

// readings draws a series of tenths that is not all the same.
func readings(t *rapid.T) []float64 {
	x := rapid.SliceOfN(rapid.Map(rapid.IntRange(-200, 200), func(n int) float64 { return float64(n) / 10 }), 3, 60).Draw(t, "x")
	if slices.Min(x) == slices.Max(x) {
		x[0]++
	}
	return x
}

// move returns each of x times scale, and shift more.
func move(x []float64, scale, shift float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v*scale + shift
	}
	return out
}

// same fails where got is not want, of readings of that size.
func same(t *rapid.T, what string, got, want, size float64) {
	if !(math.Abs(got-want) <= 1e-11*size) {
		t.Fatalf("%s is %.15g, want %.15g", what, got, want)
	}
}

// In another unit, or counted from another zero, a chart is the same chart: other scale,
// other numbers beside it, the same signals. Turned upside down it has them too.
func TestChartsDoNotHangOnUnitOrZero(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := readings(t)
		scale := rapid.SampledFrom([]float64{1, -1, 25.4, 1e-6, 1e6, -0.7375621}).Draw(t, "scale")
		shift := rapid.SampledFrom([]float64{0, 1, -40, 1000}).Draw(t, "shift") * math.Abs(scale)
		y := move(x, scale, shift)
		size := math.Abs(shift) + 20*math.Abs(scale)

		a, b := individuals(t, x), individuals(t, y)
		same(t, "the centre", b.Centre, a.Centre*scale+shift, size)
		same(t, "sigma", b.Sigma, a.Sigma*math.Abs(scale), size)
		same(t, "the upper limit of ranges", b.RangeUpper, a.RangeUpper*math.Abs(scale), size)
		if diff := cmp.Diff(a.Signals, b.Signals); diff != "" {
			t.Fatalf("signals of %v and of %v (-,+):\n%s", x, y, diff)
		}
		r, err := drift.Lag1(x)
		r2, err2 := drift.Lag1(y)
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		same(t, "the autocorrelation", r2, r, size/math.Abs(scale))

		e, err := drift.NewEWMA(x, drift.Plan{Target: a.Centre, Sigma: a.Sigma, Lambda: 0.2, Width: 3})
		f, err2 := drift.NewEWMA(y, drift.Plan{Target: b.Centre, Sigma: b.Sigma, Lambda: 0.2, Width: 3})
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		c, err := drift.NewCUSUM(x, drift.Sums{Target: a.Centre, Sigma: a.Sigma, Slack: 0.5, Threshold: 5})
		d, err2 := drift.NewCUSUM(y, drift.Sums{Target: b.Centre, Sigma: b.Sigma, Slack: 0.5, Threshold: 5})
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		above := d.Above
		if scale < 0 {
			above = d.Below
		}
		for i := range x {
			same(t, "an average", f.Averages[i], e.Averages[i]*scale+shift, size)
			same(t, "a sum", above[i], c.Above[i]*math.Abs(scale), size*float64(len(x)))
		}
	})
}

func individuals(t *rapid.T, x []float64) drift.Individuals {
	c, err := drift.NewIndividuals(x, 0, drift.EightTests())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// A capability has no unit, and with its limits the other way up it is the same.
func TestCapabilityDoesNotHangOnUnitOrZero(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := readings(t)
		lower := float64(rapid.IntRange(-30, 0).Draw(t, "min"))
		limits := decide.Limits{Min: lower, Max: lower + float64(rapid.IntRange(1, 60).Draw(t, "width"))}
		scale, shift := rapid.SampledFrom([]float64{1, 25.4, 1e-6, 1e6}).Draw(t, "scale"), 40.0
		of := func(x []float64, l decide.Limits) drift.Capability {
			c, err := drift.NewCapability(x, l, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			return c
		}
		a := of(x, limits)
		b := of(move(x, scale, shift*scale), decide.Limits{Min: (limits.Min + shift) * scale, Max: (limits.Max + shift) * scale})
		c := of(move(x, -1, 0), decide.Limits{Min: -limits.Max, Max: -limits.Min})
		const size = 1e3
		same(t, "Cp", b.Cp.Value, a.Cp.Value, size)
		same(t, "Cpl", b.Cpl.Value, a.Cpl.Value, size)
		same(t, "Cpu", b.Cpu.Value, a.Cpu.Value, size)
		same(t, "the lower end of Cpk", b.Cpk.Lower, a.Cpk.Lower, size)
		same(t, "Cpk upside down", c.Cpk.Value, a.Cpk.Value, size)
		same(t, "Cpl upside down", c.Cpl.Value, a.Cpu.Value, size)
		// What the indices are to each other.
		same(t, "Cp as the mean of Cpl and Cpu", (a.Cpl.Value+a.Cpu.Value)/2, a.Cp.Value, size)
		if a.Cpk.Value > a.Cp.Value+1e-9 || !a.Cp.Holds(a.Cp.Value) || !a.Cpk.Holds(a.Cpk.Value) {
			t.Fatalf("Cp %+v with Cpk %+v", a.Cp, a.Cpk)
		}
	})
}

// A comparison does not hang on the order in which readings come, on what is added to all
// of a group, or on which way is up.
func TestComparisonsDoNotHangOnOrderOrZero(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var a []drift.Measured
		for i, off := range rapid.SliceOfN(rapid.IntRange(-50, 50), 12, 60).Draw(t, "offs") {
			a = append(a, drift.Measured{
				Group: fmt.Sprint(i / 2 % 2), Instrument: fmt.Sprint("wrench ", i%3), Off: float64(off) + float64(i)/100, When: day(i),
			})
		}
		b := slices.Clone(a)
		for i := range b {
			if b[i].Group == "1" {
				b[i].Off += 30
			}
		}
		turned := rapid.Permutation(b).Draw(t, "order")
		down := slices.Clone(a)
		for i := range down {
			down[i].Off = -down[i].Off
		}
		of := func(m []drift.Measured) drift.Comparison {
			c, err := drift.Compare(m, "wrench 1", drift.OfNominal, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			return c
		}
		x, y, z := of(a), of(turned), of(down)
		const size = 100
		same(t, "the difference", y.All.Value, x.All.Value, size)
		same(t, "the lower end", y.All.Lower, x.All.Lower, size)
		same(t, "the lower end upside down", z.All.Lower, -x.All.Upper, size)
		if (x.Since == nil) != (y.Since == nil) || (x.Since == nil) != (z.Since == nil) {
			t.Fatalf("since %v, in another order %v, upside down %v", x.Since, y.Since, z.Since)
		}
		for i, p := range x.Points {
			same(t, "a point", y.Points[i].Off, p.Off, size)
		}
	})
}

// Whatever the numbers are, there is a chart with finite ends or an error that says what to
// do, and no panic.
func FuzzSeries(f *testing.F) {
	bytes := func(x ...float64) (out []byte) {
		for _, v := range x {
			out = binary.LittleEndian.AppendUint64(out, math.Float64bits(v))
		}
		return out
	}
	f.Add(bytes(flowrates...), 45.0, 55.0, 0.95)
	f.Add(bytes(1, 1, 1), 0.0, 2.0, 0.95)
	f.Add(bytes(1e100, -1e100, 1e-300, 5e-324), -1e100, 1e100, 0.5)
	f.Add(bytes(math.NaN()), math.NaN(), 1.0, 0.9999)
	f.Add(bytes(0, 5e-324, 1e-320), math.Inf(-1), 1.0, 2.0)
	f.Fuzz(func(t *testing.T, data []byte, lower, upper, level float64) {
		var x []float64
		for ; len(data) >= 8 && len(x) < 1000; data = data[8:] {
			x = append(x, math.Float64frombits(binary.LittleEndian.Uint64(data)))
		}
		if s, err := drift.Summarise(x); kindOf(t, err) == "" {
			finite(t, s.Mean, s.SD)
			if s.Mean < s.Min-1e-12*math.Abs(s.Min) || s.Mean > s.Max+1e-12*math.Abs(s.Max) || s.SD < 0 {
				t.Fatalf("%v has the summary %+v", x, s)
			}
		}
		c, err := drift.NewIndividuals(x, 0, drift.EightTests())
		if kindOf(t, err) == "" {
			finite(t, c.Centre, c.Sigma, c.Lower, c.Upper, c.RangeUpper)
			for _, s := range c.Signals {
				if len(s.Points) == 0 || !slices.IsSorted(s.Points) || s.Points[len(s.Points)-1] >= len(x) || s.Text(nil) == "" {
					t.Fatalf("%v has the signal %v", x, s)
				}
			}
			e, err := drift.NewEWMA(x, drift.Plan{Target: c.Centre, Sigma: c.Sigma, Lambda: 0.2, Width: 3})
			if kindOf(t, err) == "" {
				finite(t, e.Averages...)
			}
		}
		k, err := drift.NewCapability(x, decide.Limits{Min: lower, Max: upper}, level)
		if kindOf(t, err) == "" && k.Cpk == nil {
			t.Fatalf("limits %g to %g leave no index", lower, upper)
		}
		var m []drift.Measured
		for i, v := range x {
			m = append(m, drift.Measured{Group: fmt.Sprint(i % 2), Instrument: fmt.Sprint(i % 3), Off: v, When: day(i)})
		}
		d, err := drift.Compare(m, "1", drift.OfWidth, level)
		if kindOf(t, err) == "" {
			finite(t, d.All.Value, d.All.DF)
			if d.Text("gauge") == "" || !d.All.Holds(d.All.Value) {
				t.Fatalf("%v has the difference %+v", x, d.All)
			}
		}
	})
}

func finite(t *testing.T, values ...float64) {
	t.Helper()
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("%v is not finite", values)
		}
	}
}
