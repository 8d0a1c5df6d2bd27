package main

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"readback/parse"
	"readback/rules"
	"readback/rules/say"
)

// specWords says what a spec calls for in a job, in words.
type specWords struct {
	job    *rules.Job
	spec   *rules.Spec
	states []rules.CalloutState
}

func wordsOf(j *rules.Job) *specWords { return &specWords{j, j.Spec(), j.State()} }

func (w *specWords) state(id string) (rules.CalloutState, bool) {
	i := slices.IndexFunc(w.states, func(c rules.CalloutState) bool { return c.ID == id })
	if i < 0 {
		return rules.CalloutState{}, false
	}
	return w.states[i], true
}

func (w *specWords) callout(id string) rules.Callout {
	for _, c := range w.spec.Callouts {
		if c.ID == id {
			return c
		}
	}
	return rules.Callout{}
}

// valuesOn lists the places at which a step of the work is repeated.
func (w *specWords) valuesOn(step rules.Step) (values []string) {
	for _, id := range step.Do {
		c, _ := w.state(id)
		for _, p := range c.Places {
			if v := p.At.On(step.Each); v != "" && !slices.Contains(values, v) {
				values = append(values, v)
			}
		}
	}
	return slices.SortedFunc(slices.Values(values), byNumber)
}

// byNumber sorts whole numbers by their value, and leaves the rest as it is.
func byNumber(a, b string) int {
	x, err := strconv.Atoi(a)
	y, err2 := strconv.Atoi(b)
	if err != nil || err2 != nil {
		return 0
	}
	return cmp.Compare(x, y)
}

func consecutive(sorted []string) bool {
	for i := 1; i < len(sorted); i++ {
		x, err := strconv.Atoi(sorted[i-1])
		y, err2 := strconv.Atoi(sorted[i])
		if err != nil || err2 != nil || y != x+1 {
			return false
		}
	}
	return true
}

// must says what belongs at a place.
func (w *specWords) must(c rules.CalloutState, p rules.PlaceState) string {
	o := w.callout(c.ID)
	switch {
	case p.Limits != "":
		return p.Limits
	case o.Kind == parse.Part:
		var kinds []string
		for _, k := range o.Choices {
			kinds = append(kinds, k.Is)
		}
		return "say which: " + say.List(kinds, "or")
	case o.Kind == parse.Reading && c.Symbol != "":
		return "read, in " + c.Symbol
	}
	return kindWord(o.Kind)
}

// more says what else there is to a callout.
func (w *specWords) more(id string) string {
	var parts []string
	o := w.callout(id)
	if o.Derived != nil {
		parts = append(parts, "computed: "+o.Derived.String())
	}
	if p := o.Plausible; p != nil {
		switch {
		case p.Max == nil:
			parts = append(parts, "plausible from "+p.Min.String())
		case p.Min == nil:
			parts = append(parts, "plausible up to "+p.Max.String())
		default:
			parts = append(parts, "plausible from "+p.Min.String()+" to "+p.Max.String())
		}
	}
	if len(o.AlsoIn) > 0 {
		var units []string
		for _, u := range o.AlsoIn {
			units = append(units, say.Symbol(u))
		}
		parts = append(parts, "also in "+say.List(units, "or"))
	}
	for _, t := range o.Takes {
		parts = append(parts, w.takenAt(o, t))
	}
	return strings.Join(parts, "; ")
}

// takenAt says what a reading is taken at, with the limits that it has.
func (w *specWords) takenAt(o rules.Callout, t parse.Taking) string {
	name := strings.ReplaceAll(t.Name, "_", " ")
	if limits := w.job.TakenShown(o.ID, t.Name); limits != "" {
		return "taken at a " + name + " of " + limits
	}
	return "taken at a " + name
}

// rules puts each rule in words. Limits and computed values stand with their callouts.
func (w *specWords) rules() (out []string) {
	for _, r := range w.spec.Rules {
		if text := w.rule(r); text != "" {
			out = append(out, say.Cap(text)+".")
		}
	}
	return out
}

func (w *specWords) rule(r rules.Rule) string {
	switch r := r.(type) {
	case *rules.Limit, *rules.Derived, *rules.InstrumentFit, *rules.TakenRight:
		return ""
	case *rules.PartChoice:
		return w.partChoice(r)
	case *rules.StackOrder:
		return fmt.Sprintf("%s along the %ss: %s at the last %s, %s before", w.name(r.Part), r.Axis, r.Is, w.count(r.Last), r.Else)
	case *rules.StepOrder:
		return w.stepOrder(r)
	case *rules.HoldPoint:
		return fmt.Sprintf("hold point: not past %s without %s", w.name(r.Past), w.names(r.Needs))
	case *rules.PassOrder:
		return w.passOrder(r)
	case *rules.Spread:
		where := ""
		if r.Where != "" {
			where = " at " + atWords(r.Where)
		}
		if r.Mean {
			return fmt.Sprintf("%s%s: no %s more than %s %% from the mean of all", w.name(r.Callout), where, r.Over, r.Percent)
		}
		return fmt.Sprintf("%s%s: %ss at most %s apart", w.name(r.Callout), where, r.Over, say.Shown(r.AtMost, w.callout(r.Callout).Unit))
	case *rules.Void:
		what := w.name(r.When)
		if r.Is != "" {
			what += " " + r.Is
		}
		same := ""
		if r.Same != "" {
			same = " of the same " + r.Same
		}
		return fmt.Sprintf("%s voids %s%s: taken again", what, w.names(r.Voids), same)
	case *rules.Missing:
		return fmt.Sprintf("at %s, whatever is left to do is told", w.name(r.When))
	case *rules.Wear:
		return fmt.Sprintf("%s past its limits is worn: %s is owed", w.name(r.Found), w.name(r.Left))
	case *rules.Curve:
		return w.curve(r)
	}
	return fmt.Sprintf("another check looks at %s", w.names(r.Reads()))
}

func (w *specWords) partChoice(r *rules.PartChoice) string {
	if r.Kinds == nil {
		return fmt.Sprintf("%s of another %s than this job's stops the work", w.name(r.Callout), r.By)
	}
	c, _ := w.state(r.Callout)
	for _, p := range c.Places {
		return fmt.Sprintf("%s of another kind than %s stops the work", w.name(r.Callout), p.Limits)
	}
	return ""
}

func (w *specWords) stepOrder(r *rules.StepOrder) string {
	var needs []string
	for _, n := range r.Needs {
		text := w.name(n.Callout)
		if n.At != "" {
			text += " at " + atWords(n.At)
		}
		needs = append(needs, text)
	}
	what := w.name(r.Step)
	if r.At != "" {
		what += " at " + atWords(r.At)
	}
	if r.Chain != "" {
		return fmt.Sprintf("%s only after %s of the %s before", what, say.List(needs, "and"), r.Chain)
	}
	return fmt.Sprintf("%s only after %s", what, say.List(needs, "and"))
}

func (w *specWords) passOrder(r *rules.PassOrder) string {
	text := fmt.Sprintf("%s: each %s whole before the next", w.name(r.Callout), r.Round)
	order := r.Order
	if r.Across {
		c, _ := w.state(r.Callout)
		var over []string
		for _, p := range c.Places {
			if v := p.At.On(r.Over); !slices.Contains(over, v) {
				over = append(over, v)
			}
		}
		order = rules.Diagonal(len(over))
	}
	if len(order) > 0 {
		text += fmt.Sprintf("; %ss in the order %s", r.Over, strings.Join(order, ", "))
	}
	return text
}

func (w *specWords) curve(r *rules.Curve) string {
	var points []string
	for _, p := range r.Points {
		points = append(points, p.X.String()+": "+p.Y.String())
	}
	times := ""
	if r.Times.Option != "" || r.Times.N != 1 {
		times = ", times " + w.count(r.Times)
	}
	return fmt.Sprintf("%s within %s %% of its curve over %s (%s%s)", w.name(r.Callout), r.Percent, w.name(r.Of), strings.Join(points, ", "), times)
}

func (w *specWords) name(id string) string { return w.job.Name(id) }

func (w *specWords) names(ids []string) string {
	var names []string
	for _, id := range ids {
		names = append(names, w.name(id))
	}
	return say.List(names, "and")
}

// count writes a number that may come from an option: "stages (5)".
func (w *specWords) count(c rules.Count) string {
	if c.Option == "" {
		return strconv.Itoa(c.N)
	}
	return fmt.Sprintf("%s (%s)", strings.ReplaceAll(c.Option, "_", " "), w.job.Options()[c.Option])
}

// atWords writes a place: "rod 1, pass 2".
func atWords(p parse.Place) string {
	var parts []string
	for _, x := range p.Indexes() {
		parts = append(parts, x.Axis+" "+x.Value)
	}
	return strings.Join(parts, ", ")
}
