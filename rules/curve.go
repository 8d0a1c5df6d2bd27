package rules

import (
	"fmt"
	"math/big"

	"readback/parse"
	"readback/parse/number"
	"readback/rules/say"
)

// Curve speaks when a reading is off the curve that it should lie on: the head of a pump
// against its flow. Between two points of the curve it goes straight. It is silent until
// both readings stand at a place. It is closed as a limit is.
type Curve struct {
	Callout string // what is judged: head
	Of      string // what it hangs on: flow, along the same axes
	Points  []Point
	Times   Count // the curve is multiplied by this: the number of stages; N 1 for once
	Percent number.Value
}

// Point is one point of a curve, in the callouts' units. Points are in the order of X.
type Point struct{ X, Y number.Value }

// Reads returns both callouts.
func (c *Curve) Reads() []string { return []string{c.Callout, c.Of} }

// Check compares at each place.
func (c *Curve) Check(j *Job) (out []Finding) {
	l, of := j.byID[c.Callout], j.byID[c.Of]
	if l == nil || of == nil {
		return nil
	}
	for _, p := range l.places {
		t := parse.Target{Callout: c.Callout, At: p}
		y, ok := j.value(l, p)
		x, ok2 := j.value(of, p)
		if !ok || !ok2 {
			continue
		}
		k := j.readings[t]
		want, ok := c.at(x, c.Times.of(j.options))
		if !ok {
			out = append(out, finding(RuleDerived, t, Warn, fmt.Sprintf("%s: the curve goes from %s to %s, and %s is outside; take it again there", j.where(t),
				c.Points[0].X, say.Shown(c.Points[len(c.Points)-1].X, of.Unit), say.Shown(j.readings[parse.Target{Callout: c.Of, At: p}].claim.Value, of.Unit))))
			continue
		}
		b := around(want, c.Percent.Rat())
		if b.holds(y) {
			continue
		}
		limits := fmt.Sprintf("%s to %s", say.Near(b.min, 2), say.Shown(say.Near(b.max, 2), l.Unit))
		f := finding(RuleDerived, t, Warn, fmt.Sprintf("%s: %s, off the curve: %s", j.where(t), say.Shown(k.claim.Value, k.claim.Unit), limits))
		f.spoken = say.Cap(fmt.Sprintf("%s is off the curve: %s to %s.", j.where(t), say.Number(say.Near(b.min, 2)), say.Quantity(say.Near(b.max, 2), l.Unit)))
		out = append(out, f)
	}
	return out
}

// value returns a reading in its callout's unit.
func (j *Job) value(l *live, p parse.Place) (*big.Rat, bool) {
	k := j.readings[parse.Target{Callout: l.ID, At: p}]
	if k == nil {
		return nil, false
	}
	return l.in(k.claim.Value, k.claim.Unit)
}

// at interpolates; ok is false outside the curve.
func (c *Curve) at(x *big.Rat, times int) (y *big.Rat, ok bool) {
	for i := 1; i < len(c.Points); i++ {
		a, b := c.Points[i-1], c.Points[i]
		if x.Cmp(a.X.Rat()) < 0 || x.Cmp(b.X.Rat()) > 0 {
			continue
		}
		part := new(big.Rat).Quo(new(big.Rat).Sub(x, a.X.Rat()), new(big.Rat).Sub(b.X.Rat(), a.X.Rat()))
		rise := new(big.Rat).Sub(b.Y.Rat(), a.Y.Rat())
		y = new(big.Rat).Add(a.Y.Rat(), part.Mul(part, rise))
		return y.Mul(y, big.NewRat(int64(times), 1)), true
	}
	return nil, false
}

// around returns the bounds of a value give or take a percentage.
func around(y, percent *big.Rat) bounds {
	d := new(big.Rat).Mul(y, percent)
	d.Quo(d, big.NewRat(100, 1)).Abs(d)
	return bounds{min: new(big.Rat).Sub(y, d), max: new(big.Rat).Add(y, d)}
}
