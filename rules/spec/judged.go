package spec

import (
	"slices"

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
