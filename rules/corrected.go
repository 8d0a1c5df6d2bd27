package rules

import (
	"fmt"
	"math/big"

	"readback/parse"
	"readback/parse/unit"
)

// temperature returns what a reading was taken at: as said with it, else what it borrowed.
func (l *live) temperature(k *kept) (t parse.Taken, ok bool) {
	for _, w := range k.claim.With {
		if w.Name == l.Corrected.Taking {
			return w, true
		}
	}
	if k.at != nil {
		return *k.at, true
	}
	return t, false
}

// borrow gives a reading that was said without its temperature the last one of the job.
func (j *Job) borrow(l *live, k *kept) {
	if l.Corrected == nil {
		return
	}
	if of := j.readings[parse.Target{Callout: l.Corrected.Else}]; of != nil && l.Corrected.Else != "" {
		k.at = &parse.Taken{Name: l.Corrected.Taking, Value: of.claim.Value, Unit: of.claim.Unit}
	} else if t, ok := j.taken[l.Corrected.Taking]; ok {
		k.at = &t
	}
}

// lend judges readings anew that were judged without a temperature, now that one was read; and
// those that borrowed it where it was corrected. One that is taken later, on another day
// perhaps, changes nothing that stands.
func (j *Job) lend(callout string, corrects bool) {
	for _, l := range j.list {
		if l.Corrected == nil || l.Corrected.Else != callout {
			continue
		}
		for _, p := range l.places {
			k := j.readings[parse.Target{Callout: l.ID, At: p}]
			if k == nil || k.at != nil && !corrects {
				continue
			}
			j.borrow(l, k)
			j.judge(l, k)
			j.changed[l.ID] = true
		}
	}
}

// correctedHolds reports whether y, read at t, is within the limits at the reference
// temperature. y × 2^((t - to)/halving) is irrational as a rule, so that both sides
// are raised to the power that makes the exponent whole: the comparison is exact.
func (l *live) correctedHolds(b bounds, y *big.Rat, t parse.Taken) bool {
	at, err := unit.Convert(t.Value.Rat(), t.Unit, "Cel")
	if err != nil {
		return b.holds(y)
	}
	if k := l.Corrected.Constant; k != nil {
		hot := new(big.Rat).Add(at, k.Rat())
		if hot.Sign() <= 0 {
			return b.holds(y) // colder than the formula goes
		}
		ref := new(big.Rat).Add(l.Corrected.To.Rat(), k.Rat())
		return b.holds(ref.Mul(ref, y).Quo(ref, hot))
	}
	e := new(big.Rat).Sub(at, l.Corrected.To.Rat())
	e.Quo(e, l.Corrected.Halving.Rat())
	if !e.Num().IsInt64() || !e.Denom().IsInt64() || e.Denom().Int64() > 100_000 || e.Num().Int64() > 1_000_000 || e.Num().Int64() < -1_000_000 {
		return b.holds(y) // a temperature that nobody reads so finely
	}
	p, q := e.Num().Int64(), e.Denom().Int64()
	left := power(y, q)
	if p >= 0 {
		left.Mul(left, power(big.NewRat(2, 1), p))
	} else {
		left.Quo(left, power(big.NewRat(2, 1), -p))
	}
	return (b.min == nil || left.Cmp(power(b.min, q)) >= 0) && (b.max == nil || left.Cmp(power(b.max, q)) <= 0)
}

func power(x *big.Rat, n int64) *big.Rat {
	num := new(big.Int).Exp(x.Num(), big.NewInt(n), nil)
	den := new(big.Int).Exp(x.Denom(), big.NewInt(n), nil)
	return new(big.Rat).SetFrac(num, den)
}

// noTemperature asks for the temperature of a reading that was judged as read.
func (j *Job) noTemperature(l *live, t parse.Target, k *kept) []Finding {
	if _, ok := l.temperature(k); ok {
		return nil
	}
	f := finding(RuleLimit, t, Note, fmt.Sprintf("%s was judged as read; its limit holds at %s degrees celsius. What is the temperature?", j.where(t), l.Corrected.To))
	f.of, f.wants = "temperature", []string{l.Corrected.Taking}
	return []Finding{f}
}
