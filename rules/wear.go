package rules

import (
	"fmt"

	"readback/parse"
	"readback/rules/say"
)

// Wear speaks when an as-found reading is past its wear limit and what is worn was not
// renewed: measuring it again mends nothing. It is closed by the renewal marked, or the
// as-left reading taken in limits, at the same place; or by a disposition.
type Wear struct {
	Found string // the as-found reading, with its wear limits
	Left  string // the renewal, or the as-left reading, along the same axes
}

// Reads returns both callouts.
func (w *Wear) Reads() []string { return []string{w.Found, w.Left} }

// Check looks at each place that was found out of limits.
func (w *Wear) Check(j *Job) (out []Finding) {
	l := j.byID[w.Found]
	if l == nil {
		return nil
	}
	for _, p := range l.places {
		t := parse.Target{Callout: w.Found, At: p}
		k := j.readings[t]
		if k == nil || k.verdict != Out || w.renewed(j, p) {
			continue
		}
		b := l.limitsAt(p)
		f := finding(RuleLimit, t, Warn, fmt.Sprintf("%s: %s, worn: %s; %s is owed", j.where(t), say.Shown(k.claim.Value, k.claim.Unit),
			j.limitShown(l, b), j.where(parse.Target{Callout: w.Left, At: p})))
		f.spoken = say.Cap(fmt.Sprintf("worn: %s. %s is owed.", j.limitWords(l, b), say.Cap(j.where(parse.Target{Callout: w.Left, At: p}))))
		out = append(out, f)
	}
	return out
}

// renewed reports whether what was worn at p is as it should be by now.
func (w *Wear) renewed(j *Job, p parse.Place) bool {
	t := parse.Target{Callout: w.Left, At: p}
	if k := j.readings[t]; k != nil {
		return k.verdict != Out
	}
	return j.marks[t] != nil
}
