package drift

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"time"
)

// sides are the readings that compare, in order of time.
type sides struct {
	mine, others []Measured
	with         []string
	leftOut      int
}

// split leaves out the groups that only one side read.
func split(sorted []Measured, instrument string) (s sides) {
	shared := map[string]int{} // bit 1 mine, bit 2 another's
	for _, r := range sorted {
		if r.Instrument == instrument {
			shared[r.Group] |= 1
		} else {
			shared[r.Group] |= 2
		}
	}
	with := map[string]bool{}
	for _, r := range sorted {
		switch {
		case r.Instrument == instrument && shared[r.Group] == 3:
			s.mine = append(s.mine, r)
		case r.Instrument == instrument:
			s.leftOut++
		case shared[r.Group] == 3:
			s.others = append(s.others, r)
			with[r.Instrument] = true
		}
	}
	s.with = slices.Sorted(maps.Keys(with))
	return s
}

// since returns the readings from a time on, without the groups that are then on one side alone.
func (s sides) since(when time.Time, instrument string) sides {
	var late []Measured
	for _, side := range [][]Measured{s.mine, s.others} {
		for _, r := range side {
			if !r.When.Before(when) {
				late = append(late, r)
			}
		}
	}
	return split(late, instrument)
}

func (s sides) groups() map[string]bool {
	out := map[string]bool{}
	for _, r := range s.mine {
		out[r.Group] = true
	}
	return out
}

// means returns the summary of the others in each group.
func (s sides) means() map[string]Summary { return byGroup(s.others) }

func byGroup(readings []Measured) map[string]Summary {
	values := map[string][]float64{}
	for _, r := range readings {
		values[r.Group] = append(values[r.Group], r.Off)
	}
	out := map[string]Summary{}
	for g, v := range values {
		out[g] = summarise(v)
	}
	return out
}

// difference weighs each group by the instrument's readings of it: the variance of what is
// subtracted is then Σ (n/N)² s²/m over groups of n of its readings and m of the others'.
func (s sides) difference(level float64) (Difference, error) {
	mine, others := byGroup(s.mine), byGroup(s.others)
	d := Difference{N: len(s.mine), Others: len(s.others)}
	var value, factor sum
	n := float64(d.N)
	for _, g := range slices.Sorted(maps.Keys(mine)) { // sorted: sums in the same order give the same bits
		a, b := mine[g], others[g]
		share := float64(a.N) / n
		value.add(share * (a.Mean - b.Mean))
		factor.add(share * share / float64(b.N))
	}
	d.Value = value.value()
	a, b := pooled(mine), pooled(others)
	if a.df < 1 || b.df < 1 {
		return d, &Error{
			Few, fmt.Sprintf("%s and %s by the others, none of them twice of one thing on each side, show no spread",
				counted(d.N), counted(d.Others)), "wait for more jobs, or choose a longer time",
		}
	}
	a.factor, b.factor = 1/n, factor.value()
	return d.within(level, a, b)
}

// pooled returns the spread within groups, over all of them.
func pooled(groups map[string]Summary) (p part) {
	var squares sum
	most := 0.0
	for _, s := range groups {
		most = max(most, s.SD)
	}
	for _, g := range slices.Sorted(maps.Keys(groups)) {
		s := groups[g]
		p.df += s.N - 1
		if most > 0 {
			squares.add(float64(s.N-1) * (s.SD / most) * (s.SD / most))
		}
	}
	p.sd = most * math.Sqrt(squares.value()/float64(max(p.df, 1)))
	return p
}
