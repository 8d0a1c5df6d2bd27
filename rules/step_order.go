package rules

import (
	"fmt"
	"maps"
	"slices"

	"readback/parse"
	"readback/rules/say"
)

// StepOrder speaks when a step was done before one that it needs. It is closed by the
// missing step done and this one again, or by a disposition. Within one note the order
// of the words is not the order of the work, and nothing is said.
type StepOrder struct {
	Step  string // callout
	At    parse.Place
	Needs []Need
	Chain string // axis: the needs are those of the place before on it; "" for none
}

// Need is what has to stand before a step.
type Need struct {
	Callout string
	At      parse.Place // what its axes must be: pass=3; "" for all places
}

// blamed is what a job remembers of a step: what it was done before, by place.
type blamed map[parse.Place]Finding

func (b blamed) copied() memory { return maps.Clone(b) }

// Reads returns the step. Needs that come late do not mend it.
func (s *StepOrder) Reads() []string { return []string{s.Step} }

// Check looks at the steps that the note did.
func (s *StepOrder) Check(j *Job) (out []Finding) {
	l := j.byID[s.Step]
	if l == nil {
		return nil
	}
	blame, ok := j.memory[s].(blamed)
	if !ok {
		blame = blamed{}
		j.memory[s] = blame
	}
	for _, t := range j.gone {
		if t.Callout == s.Step {
			delete(blame, t.At)
		}
	}
	for _, t := range j.fresh {
		if t.Callout != s.Step || !within(t.At, s.At) || !j.has(t) {
			continue
		}
		delete(blame, t.At)
		if missing, lacks := s.missing(j, l, t.At); len(missing) > 0 {
			f := finding(RuleStepOrder, t, Warn, fmt.Sprintf("%s was done before %s", j.where(t), say.List(missing, "and")))
			f.lacks = lacks
			blame[t.At] = f
		}
	}
	for _, p := range l.places {
		if f, ok := blame[p]; ok {
			out = append(out, f)
		}
	}
	return out
}

// missing lists what a step at p still needed, in words and each.
func (s *StepOrder) missing(j *Job, l *live, p parse.Place) (out []string, lacks []parse.Target) {
	before := ""
	if s.Chain != "" {
		values := l.valuesOn(s.Chain)
		i := slices.Index(values, p.On(s.Chain))
		if i <= 0 {
			return nil, nil
		}
		before = values[i-1]
	}
	for _, n := range s.Needs {
		need := j.byID[n.Callout]
		if need == nil {
			continue // not called for with these options
		}
		at := n.At
		if before != "" {
			at = at.With(s.Chain, before)
		}
		if owed := j.owedOf(need, at); len(owed) > 0 {
			out, lacks = append(out, j.several(owed)), append(lacks, owed...)
		}
	}
	return out, lacks
}

// owedOf lists the places of a callout that lack a reading or mark, among those that
// have the coordinates of at.
func (j *Job) owedOf(l *live, at parse.Place) (owed []parse.Target) {
	for _, p := range l.places {
		if t := (parse.Target{Callout: l.ID, At: p}); within(p, at) && !j.has(t) {
			owed = append(owed, t)
		}
	}
	return owed
}

// several names targets of one callout: one in full, more by their number.
func (j *Job) several(targets []parse.Target) string {
	if len(targets) == 1 {
		return j.where(targets[0])
	}
	return fmt.Sprintf("%s (%d of them)", j.name(targets[0].Callout), len(targets))
}
