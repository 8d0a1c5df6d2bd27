package rules

import (
	"fmt"
	"math/big"

	"readback/parse"
	"readback/parse/unit"
	"readback/rules/say"
)

// InstrumentFit speaks when a reading was taken with an instrument that is not in the
// shop's register, does not reach the value, was past its calibration, or is too coarse to
// prove the limits. It is silent where no instrument was named. It is closed by the reading
// taken again with a fit one, or by a disposition.
type InstrumentFit struct{ Callouts []string }

// Reads returns every callout that is measured.
func (r *InstrumentFit) Reads() []string { return r.Callouts }

// Check looks at each reading that stands.
func (r *InstrumentFit) Check(j *Job) (out []Finding) {
	if j.shop == nil {
		return nil
	}
	for _, id := range r.Callouts {
		l := j.byID[id]
		if l == nil {
			continue
		}
		for _, p := range l.places {
			t := parse.Target{Callout: id, At: p}
			k := j.readings[t]
			if k == nil || k.with == "" {
				continue
			}
			if wrong := j.unfit(l, k); wrong != "" {
				out = append(out, finding(RuleInstrument, t, Warn, fmt.Sprintf("%s: %s; take it again with one that is fit", j.where(t), wrong)))
			}
		}
	}
	return out
}

// unfit says what is wrong with the instrument of a reading, "" for nothing.
func (j *Job) unfit(l *live, k *kept) string {
	i := j.shop.find(k.with)
	if i == nil {
		return k.with + " is not in the shop's register"
	}
	y, ok := convert(k.claim.Value.Rat(), k.claim.Unit, i.Unit)
	switch {
	case !ok:
		return fmt.Sprintf("%s measures %s, not %s", k.with, say.Unit(i.Unit, true), say.Unit(k.claim.Unit, true))
	case i.Range.Min != nil && y.Cmp(i.Range.Min.Rat()) < 0 || i.Range.Max != nil && y.Cmp(i.Range.Max.Rat()) > 0:
		return fmt.Sprintf("%s measures %s, and %s is outside", k.with, rangeShown(i), say.Shown(k.claim.Value, k.claim.Unit))
	case i.Until == "":
		return k.with + " has no calibration"
	case k.day > i.Until: // dates as 2026-11-25 order as text
		return fmt.Sprintf("%s was calibrated until %s", k.with, i.Until)
	case !j.proves(l, k):
		return fmt.Sprintf("%s is too coarse to prove %s", k.with, j.limitShown(l, l.limitsAt(k.claim.At)))
	}
	return ""
}

func rangeShown(i *Instrument) string {
	switch r := i.Range; {
	case r.Min != nil && r.Max != nil:
		return r.Min.String() + " to " + say.Shown(*r.Max, i.Unit)
	case r.Min != nil:
		return "from " + say.Shown(*r.Min, i.Unit)
	case r.Max != nil:
		return "up to " + say.Shown(*r.Max, i.Unit)
	}
	return "anything"
}

// measuredWith returns the instrument that a reading was taken with: of those in use, the
// last named that measures this quantity. One that the register does not know counts only
// where this very note names it.
func (j *Job) measuredWith(u *parse.Utterance, l *live) string {
	if j.shop == nil {
		return ""
	}
	for _, name := range u.Using {
		i := j.shop.find(name)
		if i == nil && name == u.Instrument {
			return name
		}
		if i == nil {
			continue
		}
		if l.Unit == i.Unit || sameQuantity(l.Unit, i.Unit) {
			return name
		}
	}
	return u.Instrument
}

// convert returns a value in another unit of the same quantity.
func convert(v *big.Rat, from, to string) (*big.Rat, bool) {
	if from == to {
		return v, true
	}
	if !sameQuantity(from, to) {
		return nil, false
	}
	y, err := unit.Convert(v, from, to)
	return y, err == nil
}

// sameQuantity reports whether two units measure the same quantity.
func sameQuantity(a, b string) bool {
	x, ok := unit.Lookup(a)
	y, ok2 := unit.Lookup(b)
	return ok && ok2 && x.Dimension == y.Dimension
}

// difference converts a width rather than a value: a kelvin for a degree, whatever the
// zero of the scale.
func difference(d *big.Rat, from, to string) (*big.Rat, bool) {
	if !sameQuantity(from, to) {
		return nil, false
	}
	y, err := unit.ConvertInterval(d, from, to)
	return y, err == nil
}
