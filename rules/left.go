package rules

import (
	"fmt"
	"slices"
	"strings"

	"readback/parse"
	"readback/rules/say"
)

// Left lists what is owed and not done, in the order of the work.
func (j *Job) Left() []Owed {
	left := []Owed{}
	j.walk(func(t parse.Target) bool {
		left = append(left, Owed(t))
		return true
	})
	return left
}

// Next returns the first things that are left, at most a few: what is expected next.
func (j *Job) next() (next []parse.Target) {
	j.walk(func(t parse.Target) bool {
		next = append(next, t)
		return len(next) < 3
	})
	return next
}

// nextOf adds what comes next of the callout that was read last, in the order of its rounds: "next
// one" means that.
func (j *Job) nextOf(next []parse.Target, read []parse.Claim) []parse.Target {
	callout := j.last.Callout
	if len(read) > 0 {
		callout = read[len(read)-1].Callout
	}
	o, l := j.passOrder(callout), j.byID[callout]
	if o == nil || l == nil {
		return next
	}
	var owed []parse.Target
	for i, t := range j.owed {
		if !j.done[i] && t.Callout == callout && (len(owed) == 0 || t.At.On(o.Round) == owed[0].At.On(o.Round)) {
			owed = append(owed, t)
		}
	}
	if len(owed) == 0 {
		return next
	}
	first := slices.MinFunc(owed, func(a, b parse.Target) int { return o.compare(l, a.At, b.At) })
	return append([]parse.Target{first}, next...)
}

// Next returns what the work calls for next; ok is false when nothing is left.
func (j *Job) Next() (t parse.Target, ok bool) {
	next := j.next()
	if len(next) == 0 {
		return t, false
	}
	return next[0], true
}

// expected is how many callouts ahead [Job.Expected] looks: a round of what is done stage by stage has about as many.
const expected = 6

// Expected returns the callouts of what is left, each once, the next first, at most a few: what may well be said next.
func (j *Job) Expected() (callouts []string) {
	j.walk(func(t parse.Target) bool {
		if !slices.Contains(callouts, t.Callout) {
			callouts = append(callouts, t.Callout)
		}
		return len(callouts) < expected
	})
	return callouts
}

// walk calls each for what is owed and not done, in the order of the work, until it
// returns false.
func (j *Job) walk(each func(parse.Target) bool) {
	for i, t := range j.owed {
		if !j.done[i] && !each(t) {
			return
		}
	}
}

// workOrder lists everything that is owed, in the order of the work.
func (j *Job) workOrder() (owed []parse.Target) {
	listed := map[parse.Target]bool{} // a spec may name a callout twice: it is owed once
	for _, step := range j.spec.Work {
		for _, v := range j.stepPlaces(step) {
			for _, id := range step.Do {
				l := j.byID[id]
				if l == nil || !l.Owed {
					continue
				}
				for _, p := range j.placesInOrder(l) {
					if t := (parse.Target{Callout: id, At: p}); (v == "" || p.On(step.Each) == v) && !listed[t] {
						owed, listed[t] = append(owed, t), true
					}
				}
			}
		}
	}
	return owed
}

// stepPlaces returns the places at which a step is repeated, or one "" for once.
func (j *Job) stepPlaces(s Step) []string {
	if s.Each == "" {
		return []string{""}
	}
	for _, id := range s.Do {
		if l := j.byID[id]; l != nil {
			if values := l.valuesOn(s.Each); len(values) > 0 {
				return values
			}
		}
	}
	return nil
}

// placesInOrder returns the places of a callout as the work takes them: rods in their
// diagonal order.
func (j *Job) placesInOrder(l *live) []parse.Place {
	o := j.passOrder(l.ID)
	if o == nil {
		return l.places
	}
	order := o.given(l)
	if order == nil {
		return l.places
	}
	out := make([]parse.Place, 0, len(l.places))
	for _, round := range o.roundsOf(l) {
		for _, pos := range order {
			for _, p := range l.places {
				if p.On(o.Round) == round && p.On(o.Over) == pos {
					out = append(out, p)
				}
			}
		}
	}
	return out
}

// sayLeftOf says what is left: all, of some callouts, on an axis, or before a hold point.
func (j *Job) sayLeftOf(q *parse.Query) string {
	targets := q.Targets
	if q.Axis != "" {
		for _, l := range j.list {
			if l.Owed && slices.Contains(l.axes, q.Axis) {
				targets = append(targets, parse.Target{Callout: l.ID})
			}
		}
	}
	if len(targets) > 0 {
		return j.sayEach(targets, j.leftAt)
	}
	if len(q.Words) == 0 {
		return j.sayLeft()
	}
	for _, r := range j.spec.Rules {
		h, ok := r.(*HoldPoint)
		if !ok || j.byID[h.Past] == nil || !j.called(h.Past, q.Words) {
			continue
		}
		missing, _ := h.missing(j)
		if len(missing) == 0 {
			return "Nothing is left before " + j.name(h.Past) + "."
		}
		return say.Cap("before " + j.name(h.Past) + ": " + say.List(missing, "and") + ".")
	}
	return "No hold point is called that. " + j.sayLeft()
}

// leftAt says what is left of one callout.
func (j *Job) leftAt(t parse.Target) string {
	l := j.byID[t.Callout]
	if l == nil {
		return ""
	}
	owed := j.owedOf(l, t.At)
	switch len(owed) {
	case 0:
		return say.Cap(j.name(t.Callout)) + ": nothing is left."
	case 1:
		return say.Cap(j.where(owed[0])) + " is left to do."
	}
	return say.Cap(fmt.Sprintf("%s: %s left to do.", j.many(t.Callout), say.Int(int64(len(owed)))))
}

// called reports whether a word among some is in one of the spoken forms of a callout: "the cover", of
// cover on.
func (j *Job) called(callout string, words []string) bool {
	for _, form := range j.byID[callout].Say {
		for _, w := range words {
			if len(w) > 3 && saysAll(strings.Fields(form), []string{w}) {
				return true
			}
		}
	}
	return false
}
