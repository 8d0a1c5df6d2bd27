package rules

import (
	"fmt"
	"math/big"

	"readback/parse"
	"readback/parse/number"
	"readback/rules/say"
)

// Limit speaks when a reading of the callout is outside its limits. It is closed by a
// new reading in limits, or by a disposition.
type Limit struct{ Callout string }

// Reads returns the callout. Where another reading lends its temperature, [Job.Fold] says that this
// one changed.
func (l *Limit) Reads() []string { return []string{l.Callout} }

// Check returns a finding for each reading that is out.
func (l *Limit) Check(j *Job) (out []Finding) {
	c := j.byID[l.Callout]
	if c == nil {
		return nil
	}
	for _, p := range c.places {
		t := parse.Target{Callout: l.Callout, At: p}
		k := j.readings[t]
		if k == nil {
			continue
		}
		if c.Corrected != nil {
			out = append(out, j.noTemperature(c, t, k)...)
		}
		if k.verdict != Out {
			continue
		}
		b := c.limitsAt(p)
		m, known := j.measured(c, k)
		f := finding(RuleLimit, t, Warn, likely(fmt.Sprintf("%s: %s, %s", j.where(t), say.Shown(k.claim.Value, k.claim.Unit), j.isOut(c, b, k)), m, known))
		f.spoken = say.Cap(fmt.Sprintf("%s.", j.limitWords(c, b)))
		out = append(out, f)
	}
	return out
}

// verdict judges a reading exactly, before any rounding.
func (j *Job) verdict(l *live, k *kept) Verdict {
	b := l.limitsAt(k.claim.At)
	y, ok := l.in(k.claim.Value, k.claim.Unit)
	if !ok || b.none() {
		return In
	}
	if l.Corrected != nil {
		if t, known := l.temperature(k); known {
			return inOut(l.correctedHolds(b, y, t))
		}
	}
	return inOut(b.holds(y))
}

func inOut(holds bool) Verdict {
	if holds {
		return In
	}
	return Out
}

// isOut says which limit a reading breaks: "at most 0.05 mm".
func (j *Job) isOut(l *live, b bounds, k *kept) string {
	text := j.limitShown(l, b)
	if l.Corrected != nil {
		if t, ok := l.temperature(k); ok {
			text += fmt.Sprintf(" at %s, read at %s", say.Shown(l.Corrected.To, "Cel"), say.Shown(t.Value, t.Unit))
		}
	}
	if y, ok := l.in(k.claim.Value, k.claim.Unit); ok && k.claim.Unit != l.Unit {
		text = fmt.Sprintf("%s, %s", say.Shown(say.Near(y, 2, b.min, b.max), l.Unit), text)
	}
	return "out: " + text
}

// limitShown writes limits for the screen: "46.08 to 49.92 N·m", "at most 0.05 mm".
func (j *Job) limitShown(l *live, b bounds) string { return limitShownIn(b, l.Unit) }

func limitShownIn(b bounds, code string) string {
	return limitText(b, func(r *big.Rat, last bool) string {
		v := exact(r)
		if last {
			return say.Shown(v, code)
		}
		return v.String()
	})
}

// limitWords speaks limits: "forty-six point zero eight to forty-nine point nine two
// newton metres".
func (j *Job) limitWords(l *live, b bounds) string { return limitWordsIn(b, l.Unit) }

func limitWordsIn(b bounds, code string) string {
	return limitText(b, func(r *big.Rat, last bool) string {
		v := exact(r)
		if last {
			return say.Quantity(v, code)
		}
		return say.Number(v)
	})
}

func limitText(b bounds, show func(r *big.Rat, last bool) string) string {
	switch {
	case b.min != nil && b.max != nil && b.min.Cmp(b.max) == 0:
		return "exactly " + show(b.min, true)
	case b.min != nil && b.max != nil:
		return show(b.min, false) + " to " + show(b.max, true)
	case b.min != nil:
		return "at least " + show(b.min, true)
	case b.max != nil:
		return "at most " + show(b.max, true)
	}
	var parts []string
	for i, r := range b.oneOf {
		mid := new(big.Rat).Add(r[0], r[1])
		parts = append(parts, show(mid.Quo(mid, big.NewRat(2, 1)), i == len(b.oneOf)-1))
	}
	if len(parts) == 0 {
		return "no limit"
	}
	return say.List(parts, "or")
}

// exact returns r as a value; limits of a spec always are one, or nearly.
func exact(r *big.Rat) number.Value {
	if v, ok := say.Exact(r); ok {
		return v
	}
	return say.Near(r, 3)
}
