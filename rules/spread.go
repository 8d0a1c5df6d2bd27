package rules

import (
	"fmt"
	"math/big"

	"readback/parse"
	"readback/parse/number"
	"readback/rules/say"
)

// Spread speaks when readings of one callout differ too much between the places of an
// axis. It is closed as a limit is.
type Spread struct {
	Callout string
	Over    string       // the axis
	Where   parse.Place  // what the other axes must be: pass=3; "" for any
	AtMost  number.Value // in the callout's unit: largest less smallest, from two places on
	Percent number.Value // where Mean: the largest deviation from the mean of all places, in per cent
	Mean    bool
}

// Reads returns the callout.
func (s *Spread) Reads() []string { return []string{s.Callout} }

// Check compares the readings that stand.
func (s *Spread) Check(j *Job) []Finding {
	l := j.byID[s.Callout]
	if l == nil {
		return nil
	}
	var values []*big.Rat
	all := 0
	for _, p := range l.places {
		if !within(p, s.Where) {
			continue
		}
		all++
		if k := j.readings[parse.Target{Callout: s.Callout, At: p}]; k != nil {
			if y, ok := l.in(k.claim.Value, k.claim.Unit); ok {
				values = append(values, y)
			}
		}
	}
	if s.Mean {
		return s.deviation(j, values, all)
	}
	return s.difference(j, l, values)
}

// within reports whether p has all coordinates of part.
func within(p, part parse.Place) bool {
	for _, x := range part.Indexes() {
		if p.On(x.Axis) != x.Value {
			return false
		}
	}
	return true
}

func (s *Spread) difference(j *Job, l *live, values []*big.Rat) []Finding {
	if len(values) < 2 {
		return nil
	}
	low, high := values[0], values[0]
	for _, v := range values {
		if v.Cmp(low) < 0 {
			low = v
		}
		if v.Cmp(high) > 0 {
			high = v
		}
	}
	spread, limit := new(big.Rat).Sub(high, low), s.AtMost.Rat()
	if spread.Cmp(limit) <= 0 {
		return nil
	}
	t := parse.Target{Callout: s.Callout, At: s.Where}
	shown := say.Near(spread, 2, limit)
	f := finding(RuleSpread, t, Warn, fmt.Sprintf("%s spread %s over the %ss, at most %s", j.name(s.Callout), say.Shown(shown, l.Unit), s.Over, say.Shown(s.AtMost, l.Unit)))
	f.spoken = say.Cap(fmt.Sprintf("The %ss differ by %s. At most %s.", s.Over, say.Quantity(shown, l.Unit), say.Quantity(s.AtMost, l.Unit)))
	return []Finding{f}
}

// deviation compares each reading with the mean, once all places are read.
func (s *Spread) deviation(j *Job, values []*big.Rat, all int) []Finding {
	if len(values) < all || all < 2 {
		return nil
	}
	mean := new(big.Rat)
	for _, v := range values {
		mean.Add(mean, v)
	}
	mean.Quo(mean, big.NewRat(int64(len(values)), 1))
	if mean.Sign() == 0 {
		return nil
	}
	worst := new(big.Rat)
	for _, v := range values {
		d := new(big.Rat).Sub(v, mean)
		if d.Abs(d).Cmp(worst) > 0 {
			worst = d
		}
	}
	worst.Quo(worst, mean.Abs(mean))
	worst.Mul(worst, big.NewRat(100, 1))
	limit := s.Percent.Rat()
	if worst.Cmp(limit) <= 0 {
		return nil
	}
	shown := say.Near(worst, 1, limit)
	t := parse.Target{Callout: s.Callout, At: s.Where}
	f := finding(RuleSpread, t, Warn, fmt.Sprintf("%s: one %s is %s from the mean, at most %s", j.name(s.Callout), s.Over, say.Shown(shown, "%"), say.Shown(s.Percent, "%")))
	f.spoken = say.Cap(fmt.Sprintf("%s: one %s is %s from the mean. At most %s.", j.name(s.Callout), s.Over, say.Quantity(shown, "%"), say.Quantity(s.Percent, "%")))
	return []Finding{f}
}
