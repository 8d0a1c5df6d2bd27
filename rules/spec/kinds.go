package spec

import (
	"slices"
	"strconv"
	"strings"

	"readback/parse"
	"readback/parse/number"
	"readback/rules"
	"readback/rules/decide"
)

// rules reads the rules of the file, and adds those that callouts bring: limits and
// computed values.
func (l *loader) rules(v val) {
	for i := range l.spec.Callouts {
		switch c := &l.spec.Callouts[i]; {
		case c.Derived != nil && c.Limits != nil:
			l.add(&rules.Derived{Callout: c.ID, From: c.Derived.Names()})
		case c.Limits != nil:
			l.add(&rules.Limit{Callout: c.ID})
		}
		if c := &l.spec.Callouts[i]; c.TakenLimited() {
			l.add(&rules.TakenRight{Callout: c.ID})
		}
	}
	for _, e := range v.items() {
		l.now = e
		l.rule(e)
	}
	l.now = val{}
	fit := &rules.InstrumentFit{}
	for _, c := range l.spec.Callouts {
		if c.Kind == parse.Reading && c.Derived == nil {
			fit.Callouts = append(fit.Callouts, c.ID)
		}
	}
	l.add(fit)
}

// decision reads what counts as close: simple, guarded, or {guard: 0.825}, in units of
// the expanded uncertainty.
func (l *loader) decision(v val) {
	if !v.ok() {
		return
	}
	switch v.textOr() {
	case "simple":
	case "guarded":
		l.spec.Decision = decide.Rule{Guard: 1}
	case "":
		g, ok := v.fields("the decision", decisionKeys)["guard"].decimal("guard")
		r, _ := g.Rat().Float64()
		if ok && (r < 0 || r > 3) {
			v.fail("a guard of "+g.String()+" is no part of an uncertainty", "write a number from 0 to 3; 1 is the whole expanded uncertainty")
		}
		l.spec.Decision = decide.Rule{Guard: r}
	default:
		v.fail("there is no decision "+strconv.Quote(short(v.textOr())), "write simple, guarded, or {guard: 0.825}")
	}
}

func (l *loader) add(r rules.Rule) {
	l.spec.Rules = append(l.spec.Rules, r)
	if l.now.ok() {
		l.ruleAt[r] = l.now
	}
}

// rule reads one rule. Every kind stands here once; to add one, add its file in package
// rules and its case here.
func (l *loader) rule(v val) {
	kind := ""
	for _, p := range v.pairs("a rule") {
		if p.key == "rule" {
			kind = p.val.text("rule")
		}
	}
	switch kind {
	case rules.RulePartChoice:
		l.partChoice(v, kind)
	case rules.RuleStackOrder:
		f := v.fields("rule "+kind, ruleKeys(kind))
		l.add(&rules.StackOrder{
			Part: l.id(v, f["part"], "part"), Axis: l.axis(v, f["along"], "along"), Last: l.count(v, f["last"].textOr()),
			Is: l.needText(v, f["is"], "is"), Else: l.needText(v, f["else"], "else"),
		})
	case rules.RuleStepOrder:
		f := v.fields("rule "+kind, ruleKeys(kind))
		l.add(&rules.StepOrder{Step: l.id(v, f["step"], "step"), At: l.place(f["at"]), Chain: l.optionalAxis(f["after_each"], "after_each"), Needs: l.needs(v, f["needs"])})
	case rules.RuleHoldPoint:
		f := v.fields("rule "+kind, ruleKeys(kind))
		l.add(&rules.HoldPoint{Past: l.id(v, f["past"], "past"), Needs: l.ids(v, f["needs"], "needs")})
	case rules.RulePassOrder:
		l.passOrder(v, kind)
	case rules.RuleSpread:
		l.spread(v, kind)
	case rules.RuleVoid:
		f := v.fields("rule "+kind, ruleKeys(kind))
		l.add(&rules.Void{When: l.id(v, f["when"], "when"), Is: f["is"].text("is"), Voids: l.ids(v, f["voids"], "voids"), Same: l.optionalAxis(f["same"], "same")})
	case rules.RuleMissing:
		f := v.fields("rule "+kind, ruleKeys(kind))
		l.add(&rules.Missing{When: l.id(v, f["when"], "when")})
	case wearRule:
		l.wear(v)
	case curveRule:
		l.curve(v)
	case "":
		v.fail("a rule does not say which", "add rule: with one of "+strings.Join(Kinds(), ", ")+alsoKinds)
	default:
		v.fail("there is no rule "+strconv.Quote(short(kind)), "use one of "+strings.Join(Kinds(), ", ")+alsoKinds)
	}
}

const alsoKinds = "; limits and computed values stand with their callout"

func (l *loader) passOrder(v val, kind string) {
	f := v.fields("rule "+kind, ruleKeys(kind))
	r := &rules.PassOrder{
		Callout: l.id(v, f["callout"], "callout"), Round: l.axis(v, f["rounds"], "rounds"), Over: l.axis(v, f["over"], "over"),
		Across: f["order"].textOr() == "diagonal",
	}
	if !r.Across {
		r.Order = f["order"].texts("order")
	} else if c := l.find(r.Callout); c != nil && !even(c, r.Over) {
		f["order"].fail("a diagonal order needs an even number of places, four or more", "give the order of the manual, as order: [1, 3, 2, 4]")
	}
	if c := l.find(r.Callout); c != nil && len(r.Order) > 0 {
		i := slices.IndexFunc(c.At, func(a rules.Along) bool { return a.Axis == r.Over })
		if i >= 0 && c.At[i].Values == nil && c.At[i].To.Option == "" && !sameSet(r.Order, c.At[i].From.N, c.At[i].To.N) {
			f["order"].fail("the order "+strings.Join(r.Order, "-")+" is not every "+r.Over+" once", "name each place of the axis once")
		}
	}
	l.add(r)
}

func sameSet(order []string, from, to int) bool {
	for i := from; i <= to; i++ {
		if !slices.Contains(order, strconv.Itoa(i)) {
			return false
		}
	}
	return len(order) == to-from+1
}

func (l *loader) spread(v val, kind string) {
	f := v.fields("rule "+kind, ruleKeys(kind))
	r := &rules.Spread{Callout: l.id(v, f["callout"], "callout"), Over: l.axis(v, f["over"], "over"), Where: l.place(f["at"])}
	switch {
	case f["from_mean"].ok() == f["at_most"].ok():
		v.fail("rule spread needs one of at_most and from_mean", "write at_most: 2, or from_mean: 3 %")
	case f["from_mean"].ok():
		text, cut := strings.CutSuffix(f["from_mean"].textOr(), "%")
		d, ok := number.Parse(strings.TrimSpace(text))
		if !cut || !ok {
			f["from_mean"].fail("from_mean is not a percentage", "write it as 3 %")
		}
		r.Percent, r.Mean = d, true
	default:
		r.AtMost, _ = f["at_most"].decimal("at_most")
	}
	l.add(r)
}

// find returns a callout by id.
func (l *loader) find(id string) *rules.Callout {
	for i := range l.spec.Callouts {
		if l.spec.Callouts[i].ID == id {
			return &l.spec.Callouts[i]
		}
	}
	return nil
}

// id reads the id of a callout that must be there.
func (l *loader) id(rule, v val, key string) string {
	id := l.needText(rule, v, key)
	if id != "" && l.find(id) == nil {
		v.fail("there is no callout "+strconv.Quote(short(id)), "use an id from callouts:")
	}
	return id
}

func (l *loader) ids(rule, v val, key string) (out []string) {
	if !v.ok() {
		rule.fail("a rule lacks "+key, "add "+key+": [...] with ids of callouts")
	}
	for _, e := range v.items() {
		out = append(out, l.id(rule, e, key))
	}
	return out
}

func (l *loader) needText(rule, v val, key string) string {
	if !v.ok() {
		rule.fail("a rule lacks "+key, "add "+key+":")
		return ""
	}
	return v.text(key)
}

func (l *loader) axis(rule, v val, key string) string {
	id := l.needText(rule, v, key)
	if id != "" && !slices.ContainsFunc(l.spec.Axes, func(a rules.Axis) bool { return a.ID == id }) {
		v.fail("there is no axis "+strconv.Quote(short(id)), "use one of "+l.axisNames())
	}
	return id
}

func (l *loader) optionalAxis(v val, key string) string {
	if !v.ok() {
		return ""
	}
	return l.axis(v, v, key)
}

func (l *loader) option(rule, v val) string {
	name := l.needText(rule, v, "by")
	if name != "" && !slices.ContainsFunc(l.spec.Options, func(o rules.Option) bool { return o.Name == name }) {
		v.fail("there is no option "+strconv.Quote(short(name)), "add it under options:")
	}
	return name
}

// place reads {pass: 3}.
func (l *loader) place(v val) parse.Place {
	var out []parse.Index
	for _, p := range v.pairs("at") {
		l.axis(v, p.name, "at")
		out = append(out, parse.Index{Axis: p.key, Value: p.val.text("place")})
	}
	return parse.At(out...)
}

// needs reads [cover_on, {tie_rod_torque: {pass: 3}}].
func (l *loader) needs(rule, v val) (out []rules.Need) {
	if !v.ok() {
		rule.fail("rule step_order lacks needs", "add needs: [...] with ids of callouts")
	}
	for _, e := range v.items() {
		if e.textOr() != "" {
			out = append(out, rules.Need{Callout: l.id(rule, e, "needs")})
			continue
		}
		for _, p := range e.pairs("needs") {
			l.id(rule, p.name, "needs")
			out = append(out, rules.Need{Callout: p.key, At: l.place(p.val)})
		}
	}
	return out
}

func (l *loader) work(v val) {
	stands := map[string]bool{}
	for _, e := range v.items() {
		f := e.fields("a step of the work", stepKeys)
		s := rules.Step{Do: l.ids(e, f["do"], "do")}
		for i, id := range s.Do {
			if stands[id] {
				f["do"].items()[i].fail("callout "+id+" stands twice in the work", "keep it where it is done first")
			}
			stands[id] = true
		}
		if f["each"].ok() {
			s.Each = l.axis(e, f["each"], "each")
		}
		l.spec.Work = append(l.spec.Work, s)
	}
	for i := range l.spec.Callouts {
		c := &l.spec.Callouts[i]
		inWork := slices.ContainsFunc(l.spec.Work, func(s rules.Step) bool { return slices.Contains(s.Do, c.ID) })
		if c.Owed && !inWork {
			if len(l.spec.Work) > 0 {
				l.where[c.ID].fail("callout "+c.ID+" is owed and stands in no step of the work", "add it under work:, or write owed: no")
				continue
			}
		}
	}
	if len(l.spec.Work) == 0 {
		var all []string
		for _, c := range l.spec.Callouts {
			all = append(all, c.ID)
		}
		l.spec.Work = []rules.Step{{Do: all}}
	}
}

func (l *loader) cautions(v val) {
	for _, e := range v.items() {
		f := e.fields("a caution", cautionKeys)
		l.spec.Cautions = append(l.spec.Cautions, rules.Caution{Before: l.id(e, f["before"], "before"), Text: l.needText(e, f["text"], "text")})
	}
}

// sameWords complains about spoken forms that two callouts share.
func (l *loader) sameWords() {
	owner := map[string]string{}
	for _, c := range l.spec.Callouts {
		for _, s := range append(slices.Clone(c.Say), c.Many) {
			if s == "" {
				continue
			}
			if other, ok := owner[s]; ok && other != c.ID {
				l.where[c.ID].fail("callouts "+other+" and "+c.ID+" are both spoken "+strconv.Quote(s), "give one of them other words")
			}
			owner[s] = c.ID
		}
	}
}

// even reports whether an axis has an even number of places, as far as the spec says.
func even(c *rules.Callout, axis string) bool {
	for _, a := range c.At {
		if a.Axis == axis && a.Values == nil && a.From.Option == "" && a.To.Option == "" {
			return rules.Diagonal(a.To.N-a.From.N+1) != nil && a.From.N == 1
		}
	}
	return true
}
