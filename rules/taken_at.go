package rules

import (
	"fmt"
	"strings"

	"readback/parse"
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
			f.spoken = say.Cap(fmt.Sprintf("%s: %s.", j.where(t), say.List(spokenOf(wrong), "and")))
			out = append(out, f)
		} else if untold := l.untold(k); len(untold) > 0 {
			out = append(out, finding(RuleLimit, t, Note, fmt.Sprintf("%s: its %s %s not said. What was it?", j.where(t), say.List(untold, "and"), plural(len(untold), "was", "were"))))
		}
	}
	return out
}

// Shown writes the limits of what a reading is taken at, where they hang on no place: "450 to 550 V".
func (a TakenAt) Shown(options map[string]string) string {
	return limitShownIn(a.Limits.bounds("", options), a.Unit)
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
		for _, w := range k.claim.With {
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
		said := false
		for _, w := range k.claim.With {
			said = said || w.Name == a.Name
		}
		if !said {
			names = append(names, a.said())
		}
	}
	return names
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
