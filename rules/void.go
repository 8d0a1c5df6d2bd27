package rules

import (
	"fmt"

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
		var owed []parse.Target
		for _, p := range l.places {
			if t := (parse.Target{Callout: id, At: p}); j.voided[t] && !j.has(t) {
				owed = append(owed, t)
			}
		}
		if len(owed) == 0 {
			continue
		}
		text := fmt.Sprintf("%s no longer stands: %s. Take it again", j.several(owed), j.name(v.When))
		out = append(out, finding(RuleVoid, parse.Target{Callout: id}, Warn, text))
	}
	return out
}
