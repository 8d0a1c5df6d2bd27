package rules

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"readback/parse"
	"readback/rules/say"
)

// PassOrder speaks when a round of a staged tightening began before the last was
// whole, or took a position out of the order given. It is closed by that round done
// again in order, or by a disposition. Taking one position again within its round is
// no fault.
type PassOrder struct {
	Callout string
	Round   string   // the axis of the rounds: "pass"
	Over    string   // the axis of the positions: "rod"
	Order   []string // positions in their order; nil where any will do, or Across
	Across  bool     // the order is that of [Diagonal], for as many positions as the job has
}

// rounds is what a job remembers of a staged tightening.
type rounds struct {
	taken map[string][]string // by round: positions in the order in which they were read
	fault map[string]string   // by round: what is wrong, "" for nothing
}

func (r *rounds) copied() memory {
	c := &rounds{taken: map[string][]string{}, fault: maps.Clone(r.fault)}
	for round, taken := range r.taken {
		c.taken[round] = slices.Clone(taken)
	}
	return c
}

// Reads returns the callout.
func (o *PassOrder) Reads() []string { return []string{o.Callout} }

// compare sorts places by round and order.
func (o *PassOrder) compare(l *live, a, b parse.Place) int {
	if a.On(o.Round) != b.On(o.Round) {
		return 0
	}
	order := o.given(l)
	return slices.Index(order, a.On(o.Over)) - slices.Index(order, b.On(o.Over))
}

// Check follows the readings that the note made.
func (o *PassOrder) Check(j *Job) (out []Finding) {
	l := j.byID[o.Callout]
	if l == nil {
		return nil
	}
	r, ok := j.memory[o].(*rounds)
	if !ok {
		r = &rounds{taken: map[string][]string{}, fault: map[string]string{}}
		j.memory[o] = r
	}
	for _, t := range j.gone {
		if t.Callout == o.Callout {
			o.forget(r, t.At)
		}
	}
	for _, t := range j.fresh {
		if t.Callout == o.Callout && j.readings[t] != nil {
			o.take(j, l, r, t.At)
		}
	}
	for _, round := range o.roundsOf(l) {
		if text := r.fault[round]; text != "" {
			at := parse.At(parse.Index{Axis: o.Round, Value: round})
			out = append(out, finding(RulePassOrder, parse.Target{Callout: o.Callout, At: at}, Warn, text))
		}
	}
	return out
}

// forget drops a reading that was taken back or voided; a round without any is new.
func (o *PassOrder) forget(r *rounds, at parse.Place) {
	round, over := at.On(o.Round), at.On(o.Over)
	taken := r.taken[round]
	for i, p := range slices.Backward(taken) {
		if p == over {
			r.taken[round] = slices.Delete(taken, i, i+1)
			break
		}
	}
	if len(r.taken[round]) == 0 {
		delete(r.fault, round)
	}
}

// take looks at one reading as it comes.
func (o *PassOrder) take(j *Job, l *live, r *rounds, at parse.Place) {
	round, over := at.On(o.Round), at.On(o.Over)
	order := o.positions(l)
	again := slices.Contains(r.taken[round], over)
	expected := ""
	for _, p := range order {
		if !slices.Contains(r.taken[round], p) {
			expected = p
			break
		}
	}
	r.taken[round] = append(r.taken[round], over)
	if missing := o.unfinished(j, l, round); len(missing) > 0 && r.fault[round] == "" {
		before := o.before(l, round)
		r.fault[round] = fmt.Sprintf("%s, %s %s began before %s %s was whole: %s %s missing", j.name(o.Callout), o.Round, j.index(parse.Index{Axis: o.Round, Value: round}),
			o.Round, j.index(parse.Index{Axis: o.Round, Value: before}), o.Over, say.List(j.words(o.Over, missing), "and"))
		return
	}
	if r.fault[round] != "" {
		if o.redone(j, l, r, round) {
			delete(r.fault, round)
		}
		return
	}
	if o.given(l) != nil && !again && over != expected {
		r.fault[round] = fmt.Sprintf("%s, %s %s: %s %s came before %s; the order is %s", j.name(o.Callout), o.Round, j.index(parse.Index{Axis: o.Round, Value: round}),
			o.Over, j.index(parse.Index{Axis: o.Over, Value: over}), j.index(parse.Index{Axis: o.Over, Value: expected}), say.List(j.words(o.Over, order), "then"))
	}
}

// words returns positions as spoken.
func (j *Job) words(axis string, values []string) (out []string) {
	for _, v := range values {
		out = append(out, j.index(parse.Index{Axis: axis, Value: v}))
	}
	return out
}

// redone reports whether the last positions of a round are the whole order again, with
// the round before whole.
func (o *PassOrder) redone(j *Job, l *live, r *rounds, round string) bool {
	order, taken := o.positions(l), r.taken[round]
	if len(taken) < len(order) || len(o.unfinished(j, l, round)) > 0 {
		return false
	}
	last := taken[len(taken)-len(order):]
	if o.given(l) != nil {
		return slices.Equal(last, order)
	}
	return len(slices.Compact(slices.Sorted(slices.Values(last)))) == len(order)
}

// unfinished lists the positions that the round before lacks.
func (o *PassOrder) unfinished(j *Job, l *live, round string) (missing []string) {
	before := o.before(l, round)
	if before == "" {
		return nil
	}
	for _, p := range o.positions(l) {
		at := orderAxes(l, parse.At(parse.Index{Axis: o.Over, Value: p}, parse.Index{Axis: o.Round, Value: before}))
		if j.readings[parse.Target{Callout: o.Callout, At: at}] == nil {
			missing = append(missing, p)
		}
	}
	return missing
}

func (o *PassOrder) before(l *live, round string) string {
	all := o.roundsOf(l)
	if i := slices.Index(all, round); i > 0 {
		return all[i-1]
	}
	return ""
}

func (o *PassOrder) roundsOf(l *live) []string { return l.valuesOn(o.Round) }

func (o *PassOrder) positions(l *live) []string {
	if order := o.given(l); order != nil {
		return order
	}
	return l.valuesOn(o.Over)
}

// given returns the order that is called for, nil where any will do.
func (o *PassOrder) given(l *live) []string {
	if o.Across {
		return Diagonal(len(l.valuesOn(o.Over)))
	}
	return o.Order
}

// valuesOn lists the values that the callout's places have on an axis, in order.
func (l *live) valuesOn(axis string) (out []string) {
	for _, p := range l.places {
		if v := p.On(axis); v != "" && !slices.Contains(out, v) {
			out = append(out, v)
		}
	}
	return out
}

// orderAxes puts the coordinates of p into the order of the callout's axes.
func orderAxes(l *live, p parse.Place) parse.Place {
	var out []parse.Index
	for _, a := range l.axes {
		if v := p.On(a); v != "" {
			out = append(out, parse.Index{Axis: a, Value: v})
		}
	}
	return parse.At(out...)
}

// sayOrder says in which order the places of a staged tightening are taken.
func (j *Job) sayOrder(q *parse.Query) string {
	var out []string
	for _, r := range j.spec.Rules {
		o, ok := r.(*PassOrder)
		l := (*live)(nil)
		if ok {
			l = j.byID[o.Callout]
		}
		if l == nil || q.Axis != "" && o.Over != q.Axis && o.Round != q.Axis ||
			len(q.Targets) > 0 && !slices.ContainsFunc(q.Targets, func(t parse.Target) bool { return t.Callout == o.Callout }) {
			continue
		}
		var words []string
		for _, p := range o.given(l) {
			words = append(words, j.index(parse.Index{Axis: o.Over, Value: p}))
		}
		text := fmt.Sprintf("%s: each %s whole before the next", j.many(o.Callout), o.Round)
		if len(words) > 0 {
			text = fmt.Sprintf("%s: %s; each %s whole before the next", j.many(o.Callout), strings.Join(words, ", "), o.Round)
		}
		out = append(out, say.Cap(text)+".")
	}
	if len(out) == 0 {
		return "No order of places is called for there. " + j.sayNext("")
	}
	return strings.Join(out, " ")
}
