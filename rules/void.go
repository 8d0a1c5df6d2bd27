package rules

import (
	"fmt"
	"slices"

	"readback/parse"
)

// Void speaks when later work made readings worthless: rods that were loosened. What
// was taken is owed again. It is closed by the readings taken again.
type Void struct {
	When  string   // the event, or a part or confirmation
	Is    string   // which part: "final"; "" for any
	Voids []string // callouts whose readings no longer stand
	Same  string   // the axis on which only the same place is voided: "stage"; "" for every place
}

// Reads returns the event and what it voids.
func (v *Void) Reads() []string { return append([]string{v.When}, v.Voids...) }

// strike takes the readings away when the event happens. Those that this very note
// made stand: they were taken after it.
func (v *Void) strike(j *Job, m parse.Mark) {
	if v.Is != "" && v.Is != m.Is {
		return
	}
	for _, id := range v.Voids {
		l := j.byID[id]
		if l == nil {
			continue
		}
		for _, p := range l.places {
			t := parse.Target{Callout: id, At: p}
			k, done := j.readings[t], j.marks[t]
			if k == nil && done == nil || k != nil && k.note == j.notes || v.Same != "" && p.On(v.Same) != m.At.On(v.Same) {
				continue
			}
			j.forget(t)
			j.voided[t] = true
		}
	}
}

// Check returns one finding for each callout that has voided readings left.
func (v *Void) Check(j *Job) (out []Finding) {
	for _, id := range v.Voids {
		l := j.byID[id]
		if l == nil {
			continue
		}
		owed := slices.ContainsFunc(l.places, func(p parse.Place) bool {
			t := parse.Target{Callout: id, At: p}
			return j.voided[t] && !j.has(t)
		})
		if !owed {
			continue
		}
		text := fmt.Sprintf("%s: no longer stands since %s; take it again", j.name(id), j.name(v.When))
		if v.Same != "" {
			out = append(out, v.owedAt(j, l)...)
			continue
		}
		if len(l.places) > 1 {
			text = fmt.Sprintf("%s: none stands since %s; take all of them again", j.many(id), j.name(v.When))
		}
		out = append(out, finding(RuleVoid, parse.Target{Callout: id}, Warn, text))
	}
	return out
}

// owedAt returns a finding for each place where what was voided is owed again.
func (v *Void) owedAt(j *Job, l *live) (out []Finding) {
	for _, p := range l.places {
		t := parse.Target{Callout: l.ID, At: p}
		if j.voided[t] && !j.has(t) {
			out = append(out, finding(RuleVoid, t, Warn, fmt.Sprintf("%s: no longer stands since %s; take it again", j.where(t), j.name(v.When))))
		}
	}
	return out
}
