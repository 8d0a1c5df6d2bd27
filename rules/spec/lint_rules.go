package spec

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"readback/parse"
	"readback/rules"
)

// ruleKinds looks for rules that can never speak.
func (c *linter) ruleKinds() {
	decided := map[string]bool{} // parts whose kind a rule decides
	for _, r := range c.spec.Rules {
		at, ok := c.ruleAt[r]
		if !ok {
			continue
		}
		c.neverTogether(r, at)
		switch r := r.(type) {
		case *rules.PartChoice:
			c.partChoice(r, at)
			if o := c.find(r.Callout); o != nil && o.Kind == parse.Part {
				c.decidedOnce(r.Callout, decided, at)
			}
		case *rules.StackOrder:
			c.decidedOnce(r.Part, decided, at)
			c.needsAxis(r.Part, r.Axis, at.member("along"))
			c.needsChoice(r.Part, r.Is, at.member("is"))
			c.needsChoice(r.Part, r.Else, at.member("else"))
		case *rules.StepOrder:
			c.needsPlace(r.Step, r.At, at.member("at"))
			for _, n := range r.Needs {
				c.needsPlace(n.Callout, n.At, at.member("needs"))
			}
			if r.Chain != "" {
				c.needsAxis(r.Step, r.Chain, at.member("after_each"))
			}
		case *rules.HoldPoint:
			c.once(r.Past, "hold_point", at.member("past"))
		case *rules.Missing:
			c.once(r.When, "missing", at.member("when"))
		case *rules.PassOrder:
			c.passes(r, at)
		case *rules.Spread:
			c.needsAxis(r.Callout, r.Over, at.member("over"))
			c.needsPlace(r.Callout, r.Where, at.member("at"))
			c.needsReading(r.Callout, at.member("callout"))
		case *rules.Void:
			if r.Is != "" {
				c.needsChoice(r.When, r.Is, at.member("is"))
			}
			c.happens(r.When, at.member("when"))
		}
	}
}

// neverTogether complains about callouts of a rule that no job calls for together.
func (c *linter) neverTogether(r rules.Rule, at val) {
	reads := r.Reads()
	if s, ok := r.(*rules.StepOrder); ok {
		for _, n := range s.Needs {
			reads = append(slices.Clone(reads), n.Callout)
		}
	}
	if len(reads) == 0 {
		return
	}
	first := c.find(reads[0])
	if first == nil {
		return
	}
	if !c.called(first) {
		at.fail("a rule is about callout "+first.ID+", which is never called for", "mend its when, or take the rule away")
		return
	}
	for _, id := range reads[1:] {
		other := c.find(id)
		switch {
		case other == nil:
		case !c.called(other):
			at.fail("a rule is about callout "+id+", which is never called for", "mend its when, or take it out of the rule")
		case !together(first, other):
			at.fail("a rule is about callout "+id+", which is never called for together with "+first.ID, "mend when of one of them, or take it out of the rule")
		}
	}
}

// decidedOnce complains about two rules that say which kind of a part belongs: no kind might close both.
func (c *linter) decidedOnce(part string, decided map[string]bool, at val) {
	if decided[part] {
		at.fail("another rule says already which kind of "+part+" belongs", "keep one of them")
	}
	decided[part] = true
}

func (c *linter) partChoice(r *rules.PartChoice, at val) {
	o := c.find(r.Callout)
	if o == nil || r.By == "" || r.Kinds != nil || o.Kind == parse.Part {
		return
	}
	hangs := false
	if l := o.Limits; l != nil {
		for _, a := range []*rules.Amount{l.Nominal, l.Within, l.Min, l.Max} {
			hangs = hangs || a != nil && a.By == r.By
		}
	}
	if !hangs {
		at.member("by").fail("the limits of callout "+o.ID+" do not hang on option "+r.By, "write them as {"+r.By+": {...}}")
	}
}

// needsAxis complains about an axis that a callout does not have.
func (c *linter) needsAxis(id, axis string, at val) {
	o := c.find(id)
	if o == nil || axis == "" {
		return
	}
	if _, ok := c.places(o, axis); !ok {
		at.fail("callout "+id+" has no axis "+axis, "name an axis that stands under its at:")
	}
}

// needsPlace complains about a place that a callout never has.
func (c *linter) needsPlace(id string, place parse.Place, at val) {
	o := c.find(id)
	if o == nil {
		return
	}
	for _, x := range place.Indexes() {
		values, ok := c.places(o, x.Axis)
		switch {
		case !ok:
			at.fail("callout "+id+" has no axis "+x.Axis, "name an axis that stands under its at:")
		case !slices.Contains(values, x.Value):
			at.fail("callout "+id+" has never a "+x.Axis+" "+x.Value, "it has "+some(values))
		}
	}
}

// some lists values, or their ends where they are many.
func some(values []string) string {
	if len(values) > 6 {
		return values[0] + " to " + values[len(values)-1]
	}
	if len(values) == 0 {
		return "none"
	}
	return strings.Join(values, ", ")
}

// needsChoice complains about a kind that a part does not come in.
func (c *linter) needsChoice(id, is string, at val) {
	o := c.find(id)
	if o == nil || is == "" {
		return
	}
	var all []string
	for _, k := range o.Choices {
		all = append(all, k.Is)
	}
	if !slices.Contains(all, is) {
		at.fail("callout "+id+" has no choice "+strconv.Quote(short(is)), "it has "+some(all))
	}
}

func (c *linter) needsReading(id string, at val) {
	if o := c.find(id); o != nil && !isReading(o) {
		at.fail("callout "+id+" is never read", "name a reading")
	}
}

// once complains about a callout with places where a rule waits for one without.
func (c *linter) once(id, kind string, at val) {
	if o := c.find(id); o != nil && len(o.At) > 0 {
		at.fail("callout "+id+" has places, and the rule "+kind+" waits for one that has none", "name a callout without at:, such as an event that closes the work")
	}
}

// happens complains about a reading where a rule waits for a mark.
func (c *linter) happens(id string, at val) {
	if o := c.find(id); o != nil && o.Kind == parse.Reading {
		at.fail("callout "+id+" is a reading, and the rule void waits for something that is done", "name an event, a part or a confirmation")
	}
}

// passes looks at the order of a staged tightening with every number of places that
// options can give.
func (c *linter) passes(r *rules.PassOrder, at val) {
	o := c.find(r.Callout)
	if o == nil {
		return
	}
	c.needsReading(r.Callout, at.member("callout"))
	c.needsAxis(r.Callout, r.Round, at.member("rounds"))
	c.needsAxis(r.Callout, r.Over, at.member("over"))
	for _, a := range o.At {
		if a.Axis != r.Over || a.Values != nil || a.From.Option == "" && a.To.Option == "" {
			continue // of a fixed number the loader has told
		}
		for _, n := range c.numbers(a.To) {
			places := n - c.smallest(a.From) + 1
			switch {
			case r.Across && places > 0 && rules.Diagonal(places) == nil:
				at.member("order").fail(fmt.Sprintf("option %s can be %d, and a diagonal order needs an even number of places, four or more", a.To.Option, n), "give the option the values that there are, as values: [\"6\", \"8\"], or the order of the manual")
				return
			case !r.Across && len(r.Order) > 0 && !sameSet(r.Order, c.smallest(a.From), n):
				at.member("order").fail(fmt.Sprintf("option %s can be %d, and the order %s is not every %s once then", a.To.Option, n, strings.Join(r.Order, "-"), r.Over), "write diagonal, or leave the order out")
				return
			}
		}
	}
}
