package rules

import (
	"fmt"

	"readback/parse"
	"readback/rules/say"
)

// PartChoice speaks when a size was measured that another option calls for: the short
// base's spacer in a long base. It is closed by the right part.
type PartChoice struct {
	Callout string
	By      string // the option that decides
}

// Reads returns the callout.
func (c *PartChoice) Reads() []string { return []string{c.Callout} }

// Check looks for the option that the reading would fit.
func (c *PartChoice) Check(j *Job) (out []Finding) {
	l := j.byID[c.Callout]
	if l == nil {
		return nil
	}
	for _, p := range l.places {
		t := parse.Target{Callout: c.Callout, At: p}
		k := j.readings[t]
		if k == nil || k.verdict != Out {
			continue
		}
		y, ok := l.in(k.claim.Value, k.claim.Unit)
		if !ok {
			continue
		}
		for _, o := range j.spec.Options {
			if o.Name != c.By {
				continue
			}
			for _, v := range o.Values {
				other := map[string]string{c.By: v}
				if v == j.options[c.By] || !l.bounds(p, other).holds(y) {
					continue
				}
				out = append(out, finding(RulePartChoice, t, Stop, fmt.Sprintf("Stop: %s %s is the one for %s %s; this job is %s %s", j.where(t),
					say.Shown(k.claim.Value, k.claim.Unit), v, c.By, j.options[c.By], c.By)))
			}
		}
	}
	return out
}
