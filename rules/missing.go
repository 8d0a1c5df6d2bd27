package rules

import (
	"fmt"
	"slices"

	"readback/parse"
)

// Missing speaks at hand-over of what is owed and was not done. It is closed by doing it,
// or by a disposition.
type Missing struct{ When string } // the event of the hand-over

// Reads returns nothing: what is left may be anything, so that [Job.Fold] asks it after
// every note once the hand-over was said.
func (m *Missing) Reads() []string { return nil }

// Check lists each callout that is left, with how many places of it.
func (m *Missing) Check(j *Job) (out []Finding) {
	if !j.has(parse.Target{Callout: m.When}) {
		return nil
	}
	left := map[string][]parse.Place{}
	var order []string
	for _, o := range j.Left() {
		if o.Callout == m.When {
			continue
		}
		if !slices.Contains(order, o.Callout) {
			order = append(order, o.Callout)
		}
		left[o.Callout] = append(left[o.Callout], o.At)
	}
	for _, id := range order {
		t := parse.Target{Callout: id}
		if len(left[id]) == 1 {
			t.At = left[id][0]
		}
		text := fmt.Sprintf("Left to do at hand-over: %s", j.where(t))
		if n := len(left[id]); n > 1 {
			text += fmt.Sprintf(" (%d of them)", n)
		}
		f := finding(RuleMissing, t, Warn, text)
		for _, p := range left[id] {
			f.lacks = append(f.lacks, parse.Target{Callout: id, At: p})
		}
		out = append(out, f)
	}
	return out
}
