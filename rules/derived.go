package rules

import (
	"errors"
	"fmt"
	"math/big"

	"readback/parse"
	"readback/rules/say"
)

// Derived speaks when a value computed from readings is outside its limits: end play
// is down less up. It is closed as a limit is.
type Derived struct {
	Callout string
	From    []string // the callouts that the expression names
}

// Reads returns the callouts that the expression names.
func (d *Derived) Reads() []string { return d.From }

// errNotRead says that a reading of an expression is still missing.
var errNotRead = errors.New("not read yet")

// Check computes the value once all its readings stand.
func (d *Derived) Check(j *Job) []Finding {
	l := j.byID[d.Callout]
	if l == nil {
		return nil
	}
	y, ok := j.derive(l)
	if !ok {
		return nil
	}
	b := l.limitsAt("")
	if b.holds(y) {
		return nil
	}
	t := parse.Target{Callout: d.Callout}
	m, known := j.measuredDerived(l)
	f := finding(RuleDerived, t, Warn, likely(fmt.Sprintf("%s %s, out: %s", j.name(d.Callout), say.Shown(say.Near(y, 2, b.min, b.max), l.Unit), j.limitShown(l, b)), m, known))
	f.spoken = say.Cap(fmt.Sprintf("%s %s. Out: %s.", j.name(d.Callout), say.Quantity(say.Near(y, 2, b.min, b.max), l.Unit), j.limitWords(l, b)))
	return []Finding{f}
}

// derive computes a derived callout in its own unit; ok is false while a reading is
// missing.
func (j *Job) derive(l *live) (y *big.Rat, ok bool) { return j.deriveMoved(l, "", nil) }

// deriveMoved computes it with one reading moved by d, which is in that reading's unit in the
// expression.
func (j *Job) deriveMoved(l *live, moved string, d *big.Rat) (y *big.Rat, ok bool) {
	y, err := l.Derived.Eval(func(name string) (*big.Rat, error) {
		from := j.byID[name]
		k := j.readings[parse.Target{Callout: name}]
		if from == nil || k == nil {
			return nil, errNotRead
		}
		y, ok := convert(k.claim.Value.Rat(), k.claim.Unit, j.unitWithin(l, from))
		if !ok {
			return nil, errNotRead
		}
		if name == moved {
			y = new(big.Rat).Add(y, d)
		}
		return y, nil
	})
	return y, err == nil
}

// unitWithin returns the unit that a reading has in the expression of a computed callout: that
// of the callout where it is of its quantity; else that of the first such reading, so that
// the quotient of two lengths is right whatever they were said in.
func (j *Job) unitWithin(l, from *live) string {
	if sameQuantity(l.Unit, from.Unit) {
		return l.Unit
	}
	for _, name := range l.Derived.Names() {
		if other := j.byID[name]; other != nil && sameQuantity(other.Unit, from.Unit) {
			return other.Unit
		}
	}
	return from.Unit
}
