package rules

import (
	"math/big"

	"readback/parse"
	"readback/rules/say"
)

// Fit lists the instruments of the shop's register that are fit to measure a callout at a
// place: of its quantity, in calibration today, reaching what is called for, and fine
// enough to prove it. It is nil where there is no register, or nothing to measure.
func (j *Job) Fit(t parse.Target) []string {
	l := j.byID[t.Callout]
	if j.shop == nil || l == nil || l.Kind != parse.Reading || l.Derived != nil {
		return nil
	}
	var out []string
	for i := range j.shop.Instruments {
		if j.isFit(l, t, &j.shop.Instruments[i]) {
			out = append(out, j.shop.Instruments[i].Say[0])
		}
	}
	return out
}

// isFit tries an instrument on what is called for: the middle of the limits, or the limit
// where there is one. Where nothing is limited it has to reach all that is plausible, in
// steps that tell it apart, or to be in the callout's unit where nothing says that either.
func (j *Job) isFit(l *live, t parse.Target, i *Instrument) bool {
	if !sameQuantity(l.Unit, i.Unit) {
		return false
	}
	b := l.limitsAt(t.At)
	var y *big.Rat
	switch {
	case b.min != nil && b.max != nil:
		y = new(big.Rat).Add(b.min, b.max)
		y.Quo(y, big.NewRat(2, 1))
	case b.min != nil:
		y = b.min
	case b.max != nil:
		y = b.max
	case b.oneOf != nil:
		y = new(big.Rat).Add(b.oneOf[0][0], b.oneOf[0][1])
		y.Quo(y, big.NewRat(2, 1))
	default:
		return i.Until != "" && j.day <= i.Until && l.reached(i)
	}
	k := &kept{claim: parse.Claim{Target: t, Value: exact(y), Unit: l.Unit}, with: i.Say[0], day: j.day}
	return j.unfit(l, k) == ""
}

// reached reports whether an instrument reaches all that is plausible for a callout.
func (l *live) reached(i *Instrument) bool {
	p := l.Plausible
	if p == nil || p.Min == nil || p.Max == nil {
		return l.Unit == i.Unit
	}
	low, ok := convert(p.Min.Rat(), l.Unit, i.Unit)
	high, ok2 := convert(p.Max.Rat(), l.Unit, i.Unit)
	if !ok || !ok2 || i.Range.Min != nil && low.Cmp(i.Range.Min.Rat()) < 0 || i.Range.Max != nil && high.Cmp(i.Range.Max.Rat()) > 0 {
		return false
	}
	return i.Step == nil || i.Step.Rat().Cmp(new(big.Rat).Sub(high, low)) < 0
}

// sayTools says what the targets, or what comes next, may be measured with.
func (j *Job) sayTools(targets []parse.Target) string {
	if j.shop == nil {
		return "There is no register of instruments here."
	}
	if len(targets) == 0 {
		j.walk(func(t parse.Target) bool {
			if l := j.byID[t.Callout]; l != nil && l.Kind == parse.Reading {
				targets = []parse.Target{t}
			}
			return len(targets) == 0
		})
	}
	return j.sayEach(targets, func(t parse.Target) string {
		l := j.byID[t.Callout]
		if l != nil && l.Derived != nil && len(l.Derived.Names()) > 0 {
			t.Callout = l.Derived.Names()[0] // what it is computed from
			l = j.byID[t.Callout]
		}
		if l == nil || l.Kind != parse.Reading {
			return ""
		}
		for _, p := range l.places {
			if within(p, t.At) {
				t.At = p
				break
			}
		}
		fit := j.Fit(t)
		if len(fit) == 0 {
			return say.Cap(j.name(t.Callout)) + ": no instrument of the register is fit."
		}
		return say.Cap(j.name(t.Callout)) + ": " + say.List(fit, "or") + "."
	})
}
