package spec

import (
	"slices"
	"strconv"
	"strings"

	"readback/parse"
	"readback/rules"
)

// wear reads {rule: wear, found: ring_clearance_found, left: ring_renewed}. The as-found
// reading's own limits are wear limits then: they speak through this rule alone.
func (l *loader) wear(v val) {
	f := v.fields("rule wear", ruleKeys(wearRule))
	w := &rules.Wear{Found: l.id(v, f["found"], "found"), Left: l.id(v, f["left"], "left")}
	found, left := l.find(w.Found), l.find(w.Left)
	if found == nil || left == nil {
		return
	}
	if found.Limits == nil {
		f["found"].fail("callout "+w.Found+" has no limits to be worn past", "give it limits: {max: ...}")
	}
	for _, a := range left.At {
		if !slices.ContainsFunc(found.At, func(b rules.Along) bool { return b.Axis == a.Axis }) {
			f["left"].fail("callout "+w.Left+" has the axis "+a.Axis+", which "+w.Found+" has not", "give both the same axes")
		}
	}
	l.spec.Rules = slices.DeleteFunc(l.spec.Rules, func(r rules.Rule) bool {
		limit, ok := r.(*rules.Limit)
		return ok && limit.Callout == w.Found
	})
	l.add(w)
}

// partChoice reads {rule: part_choice, callout: build_spacer, by: base} for a size, and with
// is: sealed, or is: {short: narrow, long: wide}, for the kind of a part.
func (l *loader) partChoice(v val, kind string) {
	f := v.fields("rule "+kind, ruleKeys(kind))
	r := &rules.PartChoice{Callout: l.id(v, f["callout"], "callout")}
	if f["by"].ok() {
		r.By = l.option(v, f["by"])
	}
	l.add(r)
	c := l.find(r.Callout)
	switch {
	case c == nil:
	case c.Kind == parse.Part:
		l.partKinds(v, f["is"], r, c)
	case c.Kind != parse.Reading:
		f["callout"].fail("callout "+c.ID+" is neither a part nor a reading", "name the part, or the reading of its size")
	case f["is"].ok():
		f["is"].fail("callout "+c.ID+" is a reading and has no kinds", "take is away; its limits say which size belongs")
	case r.By == "":
		v.fail("rule part_choice lacks by", "add by: with the option that the limits of "+c.ID+" hang on")
	}
}

// partKinds reads which kind of a part belongs, for each value of the option.
func (l *loader) partKinds(rule, v val, r *rules.PartChoice, c *rules.Callout) {
	kind := func(at val) string {
		is := at.text("is")
		if !slices.ContainsFunc(c.Choices, func(k parse.Choice) bool { return k.Is == is }) {
			at.fail("part "+c.ID+" has no choice "+strconv.Quote(short(is)), "use one that stands under choices:")
		}
		return is
	}
	switch {
	case !v.ok():
		rule.fail("rule part_choice does not say which kind of "+c.ID+" belongs", "add is: with a choice of it, or by: and is: {...} for each value of the option")
	case v.textOr() != "" && r.By != "":
		v.fail("is does not hang on option "+r.By, "write is: {...} with a choice for each value of it, or take by away")
	case v.textOr() != "":
		r.Kinds = []rules.PartKind{{Is: kind(v)}}
	case r.By == "":
		rule.fail("rule part_choice lacks by", "add by: with the option whose values stand under is:")
	default:
		for _, p := range v.pairs("is") {
			r.Kinds = append(r.Kinds, rules.PartKind{Value: p.key, Is: kind(p.val)})
		}
		l.everyValue(v, r)
	}
}

// everyValue complains where the kinds are not told for exactly the values of the option.
func (l *loader) everyValue(v val, r *rules.PartChoice) {
	i := slices.IndexFunc(l.spec.Options, func(o rules.Option) bool { return o.Name == r.By })
	if i < 0 {
		return
	}
	o := l.spec.Options[i]
	if o.Values == nil {
		v.fail("option "+r.By+" is a number and decides no kind", "let an option with values: [...] decide")
		return
	}
	for _, k := range r.Kinds {
		if !slices.Contains(o.Values, k.Value) {
			v.fail("option "+r.By+" is never "+strconv.Quote(short(k.Value)), "it may be "+strings.Join(o.Values, " or "))
		}
	}
	for _, value := range o.Values {
		if !slices.ContainsFunc(r.Kinds, func(k rules.PartKind) bool { return k.Value == value }) {
			v.fail("is has no kind for "+r.By+" "+value, "add one")
		}
	}
}

// curve reads {rule: curve, callout: head, of: flow, points: [[0, 12], [5, 10]], times:
// stages, within: 5 %}.
func (l *loader) curve(v val) {
	f := v.fields("rule curve", ruleKeys(curveRule))
	c := &rules.Curve{Callout: l.id(v, f["callout"], "callout"), Of: l.id(v, f["of"], "of"), Times: rules.Count{N: 1}}
	if f["times"].ok() {
		c.Times = l.count(f["times"], f["times"].textOr())
	}
	for _, p := range f["points"].items() {
		xy := p.items()
		if len(xy) != 2 {
			p.fail("a point of the curve is not two numbers", "write it as [5, 10.4]")
			continue
		}
		x, ok := xy[0].decimal("a point")
		y, ok2 := xy[1].decimal("a point")
		if ok && ok2 {
			c.Points = append(c.Points, rules.Point{X: x, Y: y})
		}
	}
	if len(c.Points) < 2 {
		v.fail("the curve has fewer than two points", "add points: [[0, 12], [5, 10.4]]")
	}
	for i := 1; i < len(c.Points); i++ {
		if c.Points[i].X.Rat().Cmp(c.Points[i-1].X.Rat()) <= 0 {
			f["points"].fail("the points of the curve are not in the order of the first number", "sort them, each first number once")
			break
		}
	}
	within, percent, ok := percentage(f["within"].textOr())
	if !ok || !percent || within.Sign() < 0 {
		f["within"].fail("the curve does not say within how many per cent", "add within: 5 %")
	}
	c.Percent = within
	l.add(c)
}
