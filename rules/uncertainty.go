package rules

import (
	"fmt"
	"math"
	"math/big"
	"strconv"

	"readback/parse"
	"readback/parse/number"
	"readback/parse/unit"
	"readback/rules/decide"
	"readback/rules/say"
)

// uncertainty returns the standard uncertainty of a reading in its callout's unit; ok is
// false where no instrument of a known accuracy was named. Accuracy and step count as
// rectangular (GUM 4.3.7, F.2.2.1).
func (j *Job) uncertainty(l *live, k *kept) (u float64, ok bool) {
	if j.shop == nil || k.with == "" {
		return 0, false
	}
	i := j.shop.find(k.with)
	if i == nil || i.Accuracy.Value == nil {
		return 0, false
	}
	y, ok := l.in(k.claim.Value, k.claim.Unit)
	if !ok {
		return 0, false
	}
	a := i.Accuracy.Value.Rat()
	if i.Accuracy.Percent {
		a = new(big.Rat).Mul(a, new(big.Rat).Quo(new(big.Rat).Abs(y), big.NewRat(100, 1)))
	} else if a, ok = difference(a, i.Unit, l.Unit); !ok {
		return 0, false
	}
	parts := []float64{decide.Rectangular(float(a))}
	if i.Step != nil {
		if d, ok := difference(i.Step.Rat(), i.Unit, l.Unit); ok {
			parts = append(parts, decide.Step(float(d)))
		}
	}
	return decide.Combine(parts...), true
}

// derivedUncertainty returns the standard uncertainty of a computed value in its own unit:
// each reading moved by its own, what that does to the value, and the root of the sum of
// the squares (GUM 5.1.2 and 5.1.3, note 2; clause numbers from memory). ok is false where
// one of the readings has none.
func (j *Job) derivedUncertainty(l *live) (u float64, ok bool) {
	var parts []float64
	for _, name := range l.Derived.Names() {
		from, k := j.byID[name], j.readings[parse.Target{Callout: name}]
		if from == nil || k == nil {
			return 0, false
		}
		own, ok := j.uncertainty(from, k)
		if !ok {
			return 0, false
		}
		d, ok := difference(new(big.Rat).SetFloat64(own), from.Unit, j.unitWithin(l, from))
		if !ok {
			return 0, false
		}
		up, ok := j.deriveMoved(l, name, d)
		down, ok2 := j.deriveMoved(l, name, new(big.Rat).Neg(d))
		if !ok || !ok2 {
			return 0, false
		}
		parts = append(parts, float(new(big.Rat).Sub(up, down))/2)
	}
	return decide.Combine(parts...), true
}

// limits returns bounds as floats, with one set of values where one of several is called
// for: the one that holds y.
func (b bounds) limits(y *big.Rat) decide.Limits {
	l := decide.Limits{Min: decide.Open(), Max: decide.Open()}
	ends := [2]*big.Rat{b.min, b.max}
	for _, r := range b.oneOf {
		if y.Cmp(r[0]) >= 0 && y.Cmp(r[1]) <= 0 {
			ends = r
		}
	}
	if ends[0] != nil {
		l.Min = float(ends[0])
	}
	if ends[1] != nil {
		l.Max = float(ends[1])
	}
	return l
}

// measurement is a value with its standard uncertainty and its limits, in one unit.
type measurement struct {
	y, u   float64
	limits decide.Limits
}

// measured returns what a reading measures, corrected to the temperature of its limits; ok
// is false where the uncertainty is not known or nothing limits it. That of the temperature
// is left out.
func (j *Job) measured(l *live, k *kept) (m measurement, ok bool) {
	u, ok := j.uncertainty(l, k)
	b := l.limitsAt(k.claim.At)
	if !ok || b.none() {
		return m, false
	}
	exact, ok := l.in(k.claim.Value, k.claim.Unit)
	if !ok {
		return m, false
	}
	f := 1.0
	if l.Corrected != nil {
		if t, known := l.temperature(k); known {
			f = l.Corrected.factor(t)
		}
	}
	return measurement{float(exact) * f, u * f, b.limits(exact)}, true
}

// factor returns what a reading taken at t is multiplied by to be one at the reference
// temperature; 1 where the formula does not reach so far.
func (c *Corrected) factor(t parse.Taken) float64 {
	r, err := unit.Convert(t.Value.Rat(), t.Unit, "Cel")
	if err != nil {
		return 1
	}
	at, to := float(r), float(c.To.Rat())
	if c.Constant != nil {
		k := float(c.Constant.Rat())
		if at+k <= 0 {
			return 1
		}
		return (to + k) / (at + k)
	}
	return math.Exp2((at - to) / float(c.Halving.Rat()))
}

// measuredDerived returns a computed value as a measurement; ok is false where it cannot be
// computed, nothing limits it, or the uncertainty of one of its readings is not known.
func (j *Job) measuredDerived(l *live) (m measurement, ok bool) {
	y, ok := j.derive(l)
	b := l.limitsAt("")
	if !ok || b.none() {
		return m, false
	}
	u, ok := j.derivedUncertainty(l)
	return measurement{float(y), u, b.limits(y)}, ok
}

// conformity returns the probability that the true value is inside its limits.
func (m measurement) conformity() float64 { return decide.Conformity(m.y, m.u, m.limits) }

// inGuard reports whether a value that is in lies within the guard band of a limit.
func (j *Job) inGuard(m measurement) bool { return j.spec.Decision.InGuard(m.y, m.u, m.limits) }

// proves reports whether the instrument of a reading is good enough for its limits.
func (j *Job) proves(l *live, k *kept) bool {
	m, ok := j.measured(l, k)
	floor := decide.Open()
	if l.Plausible != nil && l.Plausible.Min != nil {
		floor = float(l.Plausible.Min.Rat())
	}
	return !ok || decide.Proves(m.u, m.limits, floor)
}

func float(r *big.Rat) float64 {
	f, _ := r.Float64()
	return f
}

// likely adds to the text of a finding how likely the true value is inside, where that is known.
func likely(text string, m measurement, known bool) string {
	if !known {
		return text
	}
	return fmt.Sprintf("%s; %s likely inside", text, percentShown(m.conformity()))
}

// percentShown writes a probability in whole per cent, never rounded to certainty.
func percentShown(p float64) string {
	switch n := int64(p*100 + 0.5); {
	case p > 0 && n == 0:
		return "under 1 %"
	case n >= 100 && p < 1:
		return "over 99 %"
	default:
		return fmt.Sprintf("%d %%", n)
	}
}

// percent writes a probability for people: whole per cent, never rounded up to certainty.
func percent(p float64) string {
	n := int64(p*100 + 0.5)
	if n >= 100 && p < 1 {
		n = 99
	}
	return say.Number(number.Int(n)) + " per cent"
}

// uncertaintyShown writes an uncertainty with its unit, to two significant digits (GUM 7.2.6).
func uncertaintyShown(u float64, code string) string {
	text := strconv.FormatFloat(u, 'g', 2, 64)
	if places := 1 - int(math.Floor(math.Log10(u))); u > 0 && u < 1e9 && places < 9 {
		text = strconv.FormatFloat(u, 'f', max(places, 0), 64)
	}
	if symbol := say.Symbol(code); symbol != "" {
		text += " " + symbol
	}
	return text
}
