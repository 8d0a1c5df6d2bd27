package rules

import (
	"fmt"

	"readback/parse"
	"readback/rules/say"
)

// PartChoice speaks when a part was taken that this job does not call for: the short
// base's spacer in a long base. A reading shows it by its size, a part by the kind that
// was said. It is closed by the right part.
type PartChoice struct {
	Callout string
	By      string     // the option that decides; "" where one kind always belongs
	Kinds   []PartKind // for a part: which kind belongs; nil for a reading
}

// PartKind is the kind of a part that belongs where the option has a value.
type PartKind struct{ Value, Is string }

// Reads returns the callout.
func (c *PartChoice) Reads() []string { return []string{c.Callout} }

// Check looks at each place.
func (c *PartChoice) Check(j *Job) (out []Finding) {
	l := j.byID[c.Callout]
	if l == nil {
		return nil
	}
	for _, p := range l.places {
		t := parse.Target{Callout: c.Callout, At: p}
		if l.Kind == parse.Part {
			out = append(out, c.otherKind(j, t)...)
		} else {
			out = append(out, c.otherSize(j, l, t)...)
		}
	}
	return out
}

// kindFor returns the kind that belongs with the options; "" where the rule says nothing.
func (c *PartChoice) kindFor(options map[string]string) string {
	for _, k := range c.Kinds {
		if k.Value == options[c.By] {
			return k.Is
		}
	}
	return ""
}

func (c *PartChoice) otherKind(j *Job, t parse.Target) []Finding {
	is, want := j.mark(t), c.kindFor(j.options)
	if want == "" || is == "" || is == want {
		return nil
	}
	job := ""
	if c.By != "" {
		job = fmt.Sprintf("; this job is %s %s", j.options[c.By], j.optionSaid(c.By))
	}
	return []Finding{finding(RulePartChoice, t, Stop, fmt.Sprintf("Stop: %s: %s %s one belongs here, not %s %s one%s", j.where(t), article(want), want, article(is), is, job))}
}

// otherSize looks for the value of the option that the reading would fit.
func (c *PartChoice) otherSize(j *Job, l *live, t parse.Target) (out []Finding) {
	k := j.readings[t]
	if k == nil || k.verdict != Out {
		return nil
	}
	y, ok := l.in(k.claim.Value, k.claim.Unit)
	if !ok {
		return nil
	}
	for _, o := range j.spec.Options {
		if o.Name != c.By {
			continue
		}
		for _, v := range o.Values {
			other := map[string]string{c.By: v}
			if v == j.options[c.By] || !l.bounds(t.At, other).holds(y) {
				continue
			}
			out = append(out, finding(RulePartChoice, t, Stop, fmt.Sprintf("Stop: %s %s is the one for %s %s; this job is %s %s", j.where(t),
				say.Shown(k.claim.Value, k.claim.Unit), v, c.By, j.options[c.By], c.By)))
		}
	}
	return out
}

// optionSaid returns an option in words.
func (j *Job) optionSaid(name string) string {
	for _, o := range j.spec.Options {
		if o.Name == name && o.Say != "" {
			return o.Say
		}
	}
	return name
}

// partKind returns the kind of a part that belongs at a place, "" where no rule says.
func (j *Job) partKind(l *live, p parse.Place) string {
	for _, r := range j.spec.Rules {
		switch r := r.(type) {
		case *StackOrder:
			if r.Part == l.ID {
				return r.kindAt(l, p, j.options)
			}
		case *PartChoice:
			if k := r.kindFor(j.options); r.Callout == l.ID && k != "" {
				return k
			}
		}
	}
	return ""
}
