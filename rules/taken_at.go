package rules

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"readback/parse"
	"readback/parse/unit"
	"readback/rules/say"
)

// TakenRight speaks when a reading was not taken as the spec says: an insulation
// resistance at half its test voltage, or for too short a time. Where nothing was said of
// it, it asks. It is closed by the reading taken again as it should be, by what was left
// out, or by a disposition.
type TakenRight struct{ Callout string }

// Reads returns the callout.
func (r *TakenRight) Reads() []string { return []string{r.Callout} }

// Check looks at each reading that stands.
func (r *TakenRight) Check(j *Job) (out []Finding) {
	l := j.byID[r.Callout]
	if l == nil {
		return nil
	}
	for _, p := range l.places {
		t := parse.Target{Callout: r.Callout, At: p}
		k := j.readings[t]
		if k == nil {
			continue
		}
		if wrong := j.takenWrong(l, k); len(wrong) > 0 {
			f := finding(RuleLimit, t, Warn, fmt.Sprintf("%s: %s", j.where(t), say.List(shownOf(wrong), "and")))
			f.of, f.spoken = "taken", say.Cap(fmt.Sprintf("%s: %s.", j.where(t), say.List(spokenOf(wrong), "and")))
			out = append(out, f)
		} else if untold := l.untold(k); len(untold) > 0 {
			f := finding(RuleLimit, t, Note, fmt.Sprintf("%s: its %s was not said. What was it?", j.where(t), inWords(untold)))
			if len(untold) > 1 {
				f = finding(RuleLimit, t, Note, fmt.Sprintf("%s: its %s were not said. What were they?", j.where(t), inWords(untold)))
			}
			f.of, f.wants = "taken", untold
			out = append(out, f)
		}
	}
	return out
}

// TakenShown writes the limits of what a callout is taken at, those of all its places: "450 to 550 V".
func (j *Job) TakenShown(callout, name string) string {
	l := j.byID[callout]
	if l == nil {
		return ""
	}
	var out []string
	for _, a := range l.TakenAt {
		if a.Limits == nil {
			continue
		}
		for _, p := range l.places {
			if text := limitShownIn(a.Limits.bounds(p, j.options), a.Unit); a.Name == name && !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	return say.List(out, "or")
}

// said returns its name in words: "voltage".
func (a TakenAt) said() string { return strings.ReplaceAll(a.Name, "_", " ") }

// misfit is one thing that a reading was not taken at as it should be, in writing and as spoken.
type misfit struct{ shown, spoken string }

func shownOf(all []misfit) (out []string) {
	for _, m := range all {
		out = append(out, m.shown)
	}
	return out
}

func spokenOf(all []misfit) (out []string) {
	for _, m := range all {
		out = append(out, m.spoken)
	}
	return out
}

// takenWrong lists what is outside of its limits. Values are compared exactly.
func (j *Job) takenWrong(l *live, k *kept) (wrong []misfit) {
	for _, a := range l.TakenAt {
		if a.Limits == nil {
			continue
		}
		for _, w := range l.takenWith(k) {
			if w.Name != a.Name {
				continue
			}
			b := a.Limits.bounds(k.claim.At, j.options)
			if y, ok := convert(w.Value.Rat(), w.Unit, a.Unit); ok && !b.holds(y) {
				wrong = append(wrong, misfit{
					fmt.Sprintf("taken at %s, out: %s", say.Shown(w.Value, w.Unit), limitShownIn(b, a.Unit)),
					fmt.Sprintf("taken at %s, out: %s", say.Quantity(w.Value, w.Unit), limitWordsIn(b, a.Unit)),
				})
			}
		}
	}
	return wrong
}

// untold lists what the reading has limits on and was not said with it.
func (l *live) untold(k *kept) (names []string) {
	for _, a := range l.TakenAt {
		if a.Limits != nil && !slices.ContainsFunc(l.takenWith(k), func(w parse.Taken) bool { return w.Name == a.Name }) {
			names = append(names, a.Name)
		}
	}
	return names
}

// takenWith lists what a reading was taken at: what was said with it, and the temperature that it
// borrowed.
func (l *live) takenWith(k *kept) []parse.Taken {
	if l.Corrected == nil || k.at == nil {
		return k.claim.With
	}
	return append(slices.Clone(k.claim.With), *k.at)
}

// hardly asks about what a reading was taken at where that can hardly be: nil where it can.
func (j *Job) hardly(l *live, c *parse.Claim) *reason {
	for _, w := range c.With {
		i := slices.IndexFunc(l.TakenAt, func(a TakenAt) bool { return a.Name == w.Name })
		if i < 0 {
			continue
		}
		if y, ok := convert(w.Value.Rat(), w.Unit, l.TakenAt[i].Unit); ok && !l.TakenAt[i].can(y) {
			return &reason{
				text:   fmt.Sprintf("%s: taken at %s is hardly possible. Say it again.", j.where(c.Target), say.Quantity(w.Value, w.Unit)),
				doubts: []parse.Doubt{parse.TwoNumbers},
			}
		}
	}
	return nil
}

// can reports whether a value is plausible: as the spec says, else a temperature that a workshop
// and a winding have, and nothing below zero of anything else.
func (a TakenAt) can(y *big.Rat) bool {
	r := a.Plausible
	if r != nil {
		return (r.Min == nil || y.Cmp(r.Min.Rat()) >= 0) && (r.Max == nil || y.Cmp(r.Max.Rat()) <= 0)
	}
	if sameQuantity(a.Unit, "Cel") {
		t, err := unit.Convert(y, a.Unit, "Cel")
		return err == nil && t.Cmp(big.NewRat(-60, 1)) >= 0 && t.Cmp(big.NewRat(300, 1)) <= 0
	}
	return y.Sign() >= 0
}

// inWords lists names of what a reading is taken at: "voltage and time".
func inWords(names []string) string {
	return strings.ReplaceAll(say.List(names, "and"), "_", " ")
}
