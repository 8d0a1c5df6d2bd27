package rules

import (
	"math"
	"math/big"

	"readback/parse"
	"readback/parse/unit"
	"readback/rules/say"
)

// Stood is a reading that stands, or a value computed from such, with what it takes to set
// it beside those of other jobs. Its numbers are not to be changed.
type Stood struct {
	Reading
	Name    string // of the callout in words: "collar nut"
	Where   string // with its place: "collar nut three"
	Derived bool   // computed from other readings, never said

	// Note counts the utterances that were folded, from 1: the one that made the reading. Of a
	// computed value it is the last of those that it is computed from.
	Note int
	Base *big.Rat // the value in BaseUnit, exactly
	// BaseUnit is the callout's own unit, a UCUM code.
	BaseUnit string
	// Judged is what is held against the limits, in BaseUnit: Base, or what that would be at the
	// temperature at which the limits hold. It is an estimate; the verdict is exact.
	Judged float64
	// AsRead says that the limits hold at a temperature, and that nobody said at which one the
	// reading was taken: Judged is Base.
	AsRead bool

	Nominal  *big.Rat // in BaseUnit; nil where the limits name none
	Min, Max *big.Rat // in BaseUnit; nil for an open end
	OneOf    bool     // one of a list is called for: Min and Max are nil
	Limits   string   // as shown: "46.08 to 49.92 N·m"; "" for none

	// Uncertainty is the standard uncertainty as shown, to two significant digits: "0.29 N·m". It is
	// "" where no instrument of a known accuracy was named.
	Uncertainty string
}

// Stood returns all readings that stand and the values computed from them, in the order of
// the spec.
func (j *Job) Stood() []Stood {
	out := []Stood{}
	for _, l := range j.list {
		if l.Derived != nil {
			if s, ok := j.computed(l); ok {
				out = append(out, s)
			}
			continue
		}
		for _, p := range l.places {
			if k := j.readings[parse.Target{Callout: l.ID, At: p}]; k != nil {
				out = append(out, j.stood(l, k))
			}
		}
	}
	return out
}

// Made returns the reading or mark that stands at each target, as the number of the utterance that made
// it, counted from 1. What is computed is not among them.
func (j *Job) Made() map[parse.Target]int {
	out := make(map[parse.Target]int, len(j.readings)+len(j.marks))
	for t, k := range j.readings {
		out[t] = k.note
	}
	for t, m := range j.marks {
		out[t] = m.note
	}
	return out
}

// Void reports whether what was taken at a target was made worthless by later work, and was not taken
// again.
func (j *Job) Void(t parse.Target) bool { return j.voided[t] }

// Details returns what stands of the job's details, by callout: its serial number as it was said.
func (j *Job) Details() map[string]string {
	out := map[string]string{}
	for _, l := range j.list {
		if is := j.mark(parse.Target{Callout: l.ID}); l.Kind == parse.Detail && is != "" {
			out[l.ID] = is
		}
	}
	return out
}

func (j *Job) stood(l *live, k *kept) Stood {
	s := Stood{Reading: j.shown(l, k), Note: k.note}
	s.Base, _ = l.in(k.claim.Value, k.claim.Unit) // of another quantity nothing is recorded
	s.Judged, _ = s.Base.Float64()
	j.limited(l, &s)
	if u, ok := j.uncertainty(l, k); ok {
		s.Uncertainty = uncertaintyShown(u, l.Unit)
	}
	if l.Corrected != nil {
		t, ok := l.temperature(k)
		if ok {
			s.Judged, ok = l.Corrected.at(s.Judged, t)
		}
		s.AsRead = !ok
	}
	return s
}

// computed is stood of a derived callout; ok is false while a reading is missing. It was
// measured with an instrument where all that it comes from was.
func (j *Job) computed(l *live) (s Stood, ok bool) {
	y, ok := j.derive(l)
	r := j.readingAt(l, parse.Target{Callout: l.ID})
	if !ok || r == nil {
		return s, false
	}
	s = Stood{Reading: *r, Derived: true, Base: y}
	s.Judged, _ = y.Float64()
	with := map[string]bool{}
	for _, name := range l.Derived.Names() {
		if k := j.readings[parse.Target{Callout: name}]; k != nil {
			s.Note, s.Instrument, with[k.with] = max(s.Note, k.note), k.with, true
		}
	}
	if len(with) > 1 {
		s.Instrument = ""
	}
	j.limited(l, &s)
	if u, known := j.derivedUncertainty(l); known {
		s.Uncertainty = uncertaintyShown(u, l.Unit)
	}
	return s, true
}

// limited fills in names and limits.
func (j *Job) limited(l *live, s *Stood) {
	s.Name, s.Where, s.BaseUnit = j.name(l.ID), j.where(parse.Target{Callout: l.ID, At: s.At}), l.Unit
	b := l.limitsAt(s.At)
	if b.none() {
		return
	}
	s.Min, s.Max, s.OneOf, s.Limits = b.min, b.max, b.oneOf != nil, j.limitShown(l, b)
	if l.Corrected != nil {
		s.Limits += " at " + say.Shown(l.Corrected.To, "Cel")
	}
	s.Nominal = l.Limits.Nominal.at(s.At, j.options)
}

// at returns what a reading taken at t would be at the reference temperature; ok is false
// where the formula does not go so far.
func (c *Corrected) at(y float64, t parse.Taken) (corrected float64, ok bool) {
	exactly, err := unit.Convert(t.Value.Rat(), t.Unit, "Cel")
	if err != nil {
		return y, false
	}
	was, _ := exactly.Float64()
	to, _ := c.To.Rat().Float64()
	if c.Constant != nil {
		k, _ := c.Constant.Rat().Float64()
		if was+k <= 0 {
			return y, false
		}
		return y * (to + k) / (was + k), true
	}
	halving, _ := c.Halving.Rat().Float64()
	corrected = y * math.Exp2((was-to)/halving)
	return corrected, !math.IsInf(corrected, 0) && !math.IsNaN(corrected)
}
