package drift_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"readback/rules/decide"
	"readback/rules/drift"
)

func many(n int) []float64 {
	r := rand.New(rand.NewPCG(4, 4))
	x := make([]float64, n)
	for i := range x {
		x[i] = 48 + r.NormFloat64()
	}
	return x
}

func measured(x []float64) []drift.Measured {
	out := make([]drift.Measured, len(x))
	for i, v := range x {
		out[i] = drift.Measured{Group: fmt.Sprint("stage ", i/7%3), Instrument: fmt.Sprint("wrench ", i%7), Off: v, When: day(0).Add(1000 * day(i).Sub(day(i-1)) / 86400)}
	}
	return out
}

// A series as long as may be is taken whole; the truth is known.
func TestAMillionReadings(t *testing.T) {
	x := many(drift.MaxReadings)
	c, err := drift.NewIndividuals(x, 0, drift.EightTests())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "the centre", c.Centre, 48, 0.005)
	near(t, "sigma", c.Sigma, 1, 0.005)
	beyond := 0
	for _, s := range c.Signals {
		if s.Rule == drift.Beyond {
			beyond++
		}
	}
	near(t, "points beyond the limits, of a million", float64(beyond), 2699.8, 260) // five standard deviations
	k, err := drift.NewCapability(x, decide.Limits{Min: 45, Max: 51}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Cp", k.Cp.Value, 1, 0.005)
	near(t, "its lower end", k.Cp.Lower, k.Cp.Value*(1-1.96/1414.2), 1e-5) // 1/√2n
	d, err := drift.Compare(measured(x), "wrench 3", drift.OfNominal, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "the difference", d.All.Value, 0, 0.02)
	near(t, "half its interval", (d.All.Upper-d.All.Lower)/2, 1.96*0.002858, 5e-5) // √(7/n + 7/6n)
}

func BenchmarkSeries(b *testing.B) {
	for _, n := range []int{50, 5000, 500_000} {
		x := many(n)
		m := measured(x)
		for _, of := range []struct {
			name string
			do   func() error
		}{
			{"summary", func() error { _, err := drift.Summarise(x); return err }},
			{"individuals", func() error { _, err := drift.NewIndividuals(x, 0, drift.EightTests()); return err }},
			{"ewma", func() error {
				_, err := drift.NewEWMA(x, drift.Plan{Target: 48, Sigma: 1, Lambda: 0.2, Width: 3})
				return err
			}},
			{"capability", func() error { _, err := drift.NewCapability(x, decide.Limits{Min: 45, Max: 51}, 0.95); return err }},
			{"compare", func() error { _, err := drift.Compare(m, "wrench 3", drift.OfNominal, 0.95); return err }},
		} {
			b.Run(fmt.Sprintf("%s/readings=%d", of.name, n), func(b *testing.B) {
				for b.Loop() {
					if err := of.do(); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/reading")
			})
		}
	}
}
