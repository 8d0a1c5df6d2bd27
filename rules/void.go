package rules

import (
	"fmt"
	"slices"

	"readback/parse"
)

// Void speaks when later work made readings worthless: rods that were loosened. What
// was taken is owed again. It is closed by the readings taken again.
type Void struct {
	When  string   // the event
	Voids []string // callouts whose readings no longer stand, at every place
}

// Reads returns the event and what it voids.
func (v *Void) Reads() []string { return append([]string{v.When}, v.Voids...) }

// strike takes the readings away when the event happens. Those that this very note
// made stand: they were taken after it.
func (v *Void) strike(j *Job) {
	for _, id := range v.Voids {
		l := j.byID[id]
		if l == nil {
			continue
		}
		for _, p := range l.places {
			t := parse.Target{Callout: id, At: p}
			k, m := j.readings[t], j.marks[t]
			if k == nil && m == nil || k != nil && k.note == j.notes {
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
		if len(l.places) > 1 {
			text = fmt.Sprintf("%s: none stands since %s; take all of them again", j.many(id), j.name(v.When))
		}
		out = append(out, finding(RuleVoid, parse.Target{Callout: id}, Warn, text))
	}
	return out
}
