package spec

import (
	"slices"
	"strconv"
	"strings"

	"readback/parse"
	"readback/parse/number"
	"readback/parse/unit"
	"readback/rules"
	"readback/rules/expr"
)

func (l *loader) callouts(root, v val) {
	if !v.ok() {
		root.fail("the spec has no callouts", "add callouts: with at least one")
		return
	}
	for _, e := range v.items() {
		l.callout(e)
	}
	for i := range l.spec.Callouts {
		l.derived(&l.spec.Callouts[i])
	}
}

func (l *loader) callout(v val) {
	f := v.fields("a callout", calloutKeys)
	c := rules.Callout{
		ID: f["id"].text("id"), Say: f["say"].texts("say"), Many: f["many"].text("many"), Short: f["short"].texts("short"), Denied: f["denied"].texts("denied"),
		Family: f["family"].text("family"), Unit: f["unit"].text("unit"), AlsoIn: f["also_in"].texts("also_in"), Source: f["source"].text("source"),
	}
	l.shape(v, struct {
		ID string `validate:"required,max=60"`
	}{c.ID})
	what := "callout " + c.ID
	switch {
	case c.ID == "":
		l.nameless = true
		return
	case !isIdent(c.ID):
		f["id"].fail("the id "+strconv.Quote(short(c.ID))+" is not usable", identRule)
	case l.where[c.ID].ok():
		f["id"].fail(what+" stands twice", "give the second one an id of its own")
		return
	}
	l.where[c.ID] = v
	l.kind(&c, f["kind"])
	if len(c.Say) == 0 {
		c.Say = []string{strings.ReplaceAll(c.ID, "_", " ")}
	}
	if f["say"].ok() || f["many"].ok() {
		l.lowerCase(f["say"], append(slices.Clone(c.Say), c.Many))
	}
	l.along(&c, f["at"])
	if c.Kind == parse.Detail && len(c.At) > 0 {
		f["at"].fail("callout "+c.ID+" is a detail and has places", "a detail is there once; take at away, or make it another kind")
	}
	l.unit(&c, v, f)
	l.limits(&c, f["limits"])
	c.Plausible = f["plausible"].span("plausible")
	l.takes(&c, f["taken_at"], f["corrected"])
	l.choices(&c, f["choices"])
	l.when(&c, f["when"])
	c.Owed = f["owed"].yes("owed", c.Kind != parse.Event && !f["is"].ok())
	if f["is"].ok() {
		l.expression(&c, f["is"])
	}
	l.spec.Callouts = append(l.spec.Callouts, c)
}

func (l *loader) kind(c *rules.Callout, v val) {
	switch text := v.text("kind"); text {
	case "", "reading":
		c.Kind = parse.Reading
	case "confirm":
		c.Kind = parse.Confirm
	case "event":
		c.Kind = parse.Event
	case "part":
		c.Kind = parse.Part
	case "detail":
		c.Kind = parse.Detail
	default:
		v.fail("callout "+c.ID+" is of the kind "+strconv.Quote(short(text)), "write reading, confirm, part, event or detail")
	}
}

// along reads the axes of a callout: {stage: 1..stages, phase: [uv, vw]}.
func (l *loader) along(c *rules.Callout, v val) {
	if !v.ok() {
		return
	}
	for _, p := range v.pairs("at") {
		a := rules.Along{Axis: p.key}
		if !slices.ContainsFunc(l.spec.Axes, func(x rules.Axis) bool { return x.ID == p.key }) {
			p.name.fail("there is no axis "+strconv.Quote(short(p.key)), "add it under axes:, or use one of "+l.axisNames())
		}
		if items := p.val.items(); len(items) > 1 || strings.Count(p.val.textOr(), "..") == 0 {
			a.Values = p.val.texts("places")
			c.At = append(c.At, a)
			continue
		}
		from, to, _ := strings.Cut(p.val.text("places"), "..")
		a.From, a.To = l.count(p.val, from), l.count(p.val, to)
		if a.From.Option == "" && a.To.Option == "" && a.From.N > a.To.N {
			p.val.fail("axis "+p.key+" goes from "+from+" to "+to, "put the smaller number first")
		}
		c.At = append(c.At, a)
	}
}

// textOr returns a scalar's text, "" for anything else.
func (v val) textOr() string {
	if !v.ok() {
		return ""
	}
	return scalarText(v.n)
}

func (l *loader) axisNames() string {
	var names []string
	for _, a := range l.spec.Axes {
		names = append(names, a.ID)
	}
	if len(names) == 0 {
		return "none"
	}
	return strings.Join(names, ", ")
}

// count reads a whole number, or the name of an option that is one.
func (l *loader) count(v val, text string) rules.Count {
	if n, err := strconv.Atoi(text); err == nil && n >= 0 && n <= maxWhole {
		return rules.Count{N: n}
	}
	for _, o := range l.spec.Options {
		if o.Name == text && len(wholes(o)) > 0 {
			return rules.Count{Option: text}
		}
	}
	v.fail(strconv.Quote(short(text))+" is neither a whole number nor an option that is one", "write a range such as 1..4 or 1..stages")
	return rules.Count{}
}

func (l *loader) unit(c *rules.Callout, at val, f map[string]val) {
	if c.Kind != parse.Reading {
		if f["unit"].ok() {
			f["unit"].fail("callout "+c.ID+" is no reading and has a unit", "take the unit away, or make it kind: reading")
		}
		return
	}
	if c.Unit == "" {
		at.fail("callout "+c.ID+" has no unit", "add one, such as \"unit: mm\"")
		return
	}
	own, ok := l.code(f["unit"], &c.Unit, append([]string{c.ID}, c.AlsoIn...)...)
	for i, v := range f["also_in"].items() {
		if i >= len(c.AlsoIn) {
			break
		}
		other, ok2 := l.code(v, &c.AlsoIn[i], c.Unit, c.ID)
		if ok && ok2 && own.Dimension != other.Dimension {
			v.fail(c.AlsoIn[i]+" measures "+string(other.Dimension)+", callout "+c.ID+" "+string(own.Dimension), "name units of the same quantity")
		}
	}
}

// code checks a UCUM code and puts the table's form in its place.
func (l *loader) code(v val, code *string, hints ...string) (*unit.Unit, bool) {
	u, ok := unit.Lookup(*code)
	if !ok {
		v.fail("the unit "+strconv.Quote(short(*code))+" is not known", unitMend(*code, hints...))
		return nil, false
	}
	*code = u.Code
	return u, true
}

func (l *loader) limits(c *rules.Callout, v val) {
	if !v.ok() {
		return
	}
	if c.Kind != parse.Reading {
		v.fail("callout "+c.ID+" is no reading and has limits", "take them away")
	}
	c.Limits = l.limitsOf(c, "callout "+c.ID, v)
}

// limitsOf reads limits of a callout, or of what it is taken at.
func (l *loader) limitsOf(c *rules.Callout, of string, v val) *rules.Limits {
	f := v.fields("limits", limitKeys)
	lim := &rules.Limits{Nominal: l.amount(c, f["nominal"], "nominal"), Min: l.amount(c, f["min"], "min"), Max: l.amount(c, f["max"], "max")}
	lim.Within, lim.Percent = l.tolerance(c, f["within"])
	for _, e := range f["one_of"].items() {
		if d, ok := e.decimal("one_of"); ok {
			lim.OneOf = append(lim.OneOf, d)
		}
	}
	switch {
	case lim.Nominal != nil && lim.Within == nil:
		v.fail("the limits of "+of+" have a nominal and no within", "add within: 0.1, or within: 4 %")
	case lim.Nominal == nil && lim.Within != nil && lim.OneOf == nil:
		v.fail("the limits of "+of+" have a within and no nominal", "add nominal: 48")
	case lim.Nominal != nil && (lim.Min != nil || lim.Max != nil):
		v.fail("the limits of "+of+" have a nominal as well as min or max", "keep one way to say it")
	case lim.Percent && lim.Nominal != nil && lim.Nominal.By == "" && lim.Nominal.Value.Sign() == 0:
		v.fail("the limits of "+of+" are so many per cent of nothing", "write within in the unit itself")
	case len(v.pairs("limits")) == 0:
		v.fail("the limits of "+of+" are empty", "add min: or max:, or nominal: with within:")
	case lim.Min != nil && lim.Max != nil && lim.Min.By == "" && lim.Max.By == "" && lim.Min.Value.Rat().Cmp(lim.Max.Value.Rat()) > 0:
		f["min"].fail("min "+lim.Min.Value.String()+" is above max "+lim.Max.Value.String(), "put the smaller one in min")
	}
	return lim
}

// tolerance reads "0.1" or "4 %".
func (l *loader) tolerance(c *rules.Callout, v val) (a *rules.Amount, percent bool) {
	text, cut := strings.CutSuffix(v.textOr(), "%")
	if !cut {
		a = l.amount(c, v, "within")
	} else if d, ok := number.Parse(strings.TrimSpace(text)); ok {
		a = &rules.Amount{Value: d}
	} else {
		v.fail("within "+strconv.Quote(short(v.textOr()))+" is not a tolerance", "write it as 0.1, or 4 %")
	}
	if a != nil && a.By == "" && a.Value.Sign() < 0 {
		v.fail("within is negative", "a tolerance counts to both sides; write it without the minus")
	}
	return a, cut
}

// amount reads a number, or one that hangs on an option or axis:
// {base: {short: 64.0, long: 88.5}}.
func (l *loader) amount(c *rules.Callout, v val, what string) *rules.Amount {
	if !v.ok() {
		return nil
	}
	if v.textOr() != "" {
		d, ok := v.decimal(what)
		if !ok {
			return nil
		}
		return &rules.Amount{Value: d}
	}
	pairs := v.pairs(what)
	if len(pairs) != 1 {
		v.fail(what+" hangs on more than one thing", "write it as {base: {short: 64.0, long: 88.5}}")
		return nil
	}
	a := &rules.Amount{By: pairs[0].key}
	for _, p := range pairs[0].val.pairs(what + " by " + a.By) {
		if d, ok := p.val.decimal(what); ok {
			a.Cases = append(a.Cases, rules.Case{Is: p.key, Value: d})
		}
	}
	l.complete(c, pairs[0].name, a, what)
	return a
}

// complete checks that an amount has a value for every value of what it hangs on.
func (l *loader) complete(c *rules.Callout, at val, a *rules.Amount, what string) {
	var want []string
	if along := slices.IndexFunc(c.At, func(x rules.Along) bool { return x.Axis == a.By }); along >= 0 {
		want = c.At[along].Values
		for i := c.At[along].From.N; want == nil && c.At[along].To.Option == "" && i <= c.At[along].To.N; i++ {
			a.By = c.At[along].Axis
			if !slices.ContainsFunc(a.Cases, func(k rules.Case) bool { return k.Is == strconv.Itoa(i) }) {
				at.fail(what+" of callout "+c.ID+" has no value for "+a.By+" "+strconv.Itoa(i), "add one")
			}
		}
	} else if i := slices.IndexFunc(l.spec.Options, func(o rules.Option) bool { return o.Name == a.By }); i >= 0 {
		want = l.spec.Options[i].Values
		for n := l.spec.Options[i].From; want == nil && n <= l.spec.Options[i].To; n++ {
			if !slices.ContainsFunc(a.Cases, func(k rules.Case) bool { return k.Is == strconv.Itoa(n) }) {
				at.fail(what+" of callout "+c.ID+" has no value for "+a.By+" "+strconv.Itoa(n), "add one")
			}
		}
	} else {
		at.fail(what+" of callout "+c.ID+" hangs on "+strconv.Quote(short(a.By))+", which is no option and no axis of it", "use an option, or an axis that stands under at:")
	}
	for _, w := range want {
		if !slices.ContainsFunc(a.Cases, func(k rules.Case) bool { return k.Is == w }) {
			at.fail(what+" of callout "+c.ID+" has no value for "+a.By+" "+w, "add one")
		}
	}
}

// takes reads what a reading is taken at, and the correction for it.
func (l *loader) takes(c *rules.Callout, at, corrected val) {
	if c.Kind != parse.Reading && at.ok() {
		at.fail("callout "+c.ID+" is no reading and is taken at something", "take it away")
		return
	}
	for _, p := range at.pairs("taken_at") {
		l.taking(c, p)
	}
	if !corrected.ok() {
		return
	}
	f := corrected.fields("corrected", correctedKeys)
	k := &rules.Corrected{Taking: f["by"].text("by"), Else: f["else"].text("else")}
	var ok, ok2 bool
	k.To, ok = f["to"].decimal("to")
	if f["constant"].ok() {
		var constant number.Value
		constant, ok2 = f["constant"].decimal("constant")
		k.Constant, k.Halving = &constant, number.Int(1)
	} else {
		k.Halving, ok2 = f["halving"].decimal("halving")
	}
	if !ok || !ok2 || k.Halving.Sign() <= 0 {
		corrected.fail("the correction of callout "+c.ID+" lacks to, or one of halving and constant", "write it as {by: temperature, to: 40, halving: 10}, or {by: temperature, to: 25, constant: 234.5}")
		return
	}
	if !slices.ContainsFunc(c.Takes, func(t parse.Taking) bool { return t.Name == k.Taking }) {
		corrected.fail("callout "+c.ID+" is corrected by "+strconv.Quote(short(k.Taking))+", which it is not taken at", "add it under taken_at:")
	}
	if k.Else == c.ID {
		f["else"].fail("callout "+c.ID+" takes its temperature from itself", "name the callout that reads it")
	}
	c.Corrected = k
}

// taking reads temperature: Cel, or voltage: {unit: V, limits: {nominal: 500, within: 50}}.
func (l *loader) taking(c *rules.Callout, p pair) {
	unitAt, f := p.val, map[string]val{}
	if p.val.textOr() == "" {
		f = p.val.fields("what callout "+c.ID+" is taken at", takenKeys)
		if unitAt = f["unit"]; !unitAt.ok() {
			p.name.fail("what callout "+c.ID+" is taken at has no unit: "+strconv.Quote(short(p.key)), "add one, such as unit: V")
			return
		}
	}
	code := unitAt.text("unit")
	u, ok := l.code(unitAt, &code)
	if !ok {
		return
	}
	if own, ok := unit.Lookup(c.Unit); ok && own.Dimension == u.Dimension {
		unitAt.fail("callout "+c.ID+" measures "+string(own.Dimension)+" and is taken at one: which is which cannot be heard", "make what it is taken at a callout of its own")
	}
	for _, t := range c.Takes {
		if other, ok := unit.Lookup(t.Unit); ok && other.Dimension == u.Dimension {
			unitAt.fail("callout "+c.ID+" is taken at two quantities of "+string(u.Dimension)+": "+t.Name+" and "+p.key, "keep one; a number with its unit must say which it is")
		}
	}
	c.Takes = append(c.Takes, parse.Taking{Name: p.key, Unit: code})
	at := rules.TakenAt{Name: p.key, Unit: code, Plausible: f["plausible"].span("plausible")}
	if f["limits"].ok() {
		at.Limits = l.limitsOf(c, "the "+p.key+" of callout "+c.ID, f["limits"])
	}
	c.TakenAt = append(c.TakenAt, at)
}

func (l *loader) choices(c *rules.Callout, v val) {
	for _, p := range v.pairs("choices") {
		if p.key == "done" || p.key == "undone" {
			p.name.fail("callout "+c.ID+" has a choice called "+p.key+", which means something else in the record", "call it otherwise")
		}
		says := p.val.texts("choices")
		for _, other := range c.Choices {
			for _, say := range says {
				if slices.Contains(other.Say, say) {
					p.val.fail("choices "+other.Is+" and "+p.key+" of callout "+c.ID+" are both spoken "+strconv.Quote(short(say)), "give one of them other words")
				}
			}
		}
		c.Choices = append(c.Choices, parse.Choice{Is: p.key, Say: says})
	}
	if c.Kind != parse.Part && v.ok() {
		v.fail("callout "+c.ID+" has choices and is no part", "make it kind: part")
	}
}

func (l *loader) when(c *rules.Callout, v val) {
	for _, p := range v.pairs("when") {
		is := p.val.text("when")
		i := slices.IndexFunc(l.spec.Options, func(o rules.Option) bool { return o.Name == p.key })
		if i < 0 {
			p.name.fail("there is no option "+strconv.Quote(short(p.key)), "add it under options:")
			continue
		}
		if o := l.spec.Options[i]; o.Values != nil && !slices.Contains(o.Values, is) {
			p.val.fail("option "+p.key+" is never "+strconv.Quote(short(is)), "it may be "+strings.Join(o.Values, " or "))
		}
		c.When = append(c.When, rules.Condition{Option: p.key, Is: is})
	}
}

func (l *loader) expression(c *rules.Callout, v val) {
	e, err := expr.Parse(v.text("is"))
	if err != nil {
		v.fail("the expression of callout "+c.ID+" is wrong: "+err.Error(), "write it as \"end_play_down - end_play_up\"")
		return
	}
	c.Derived = e
	if len(c.At) > 0 {
		v.fail("callout "+c.ID+" is computed and has places", "a computed callout has none")
	}
}

// plainNumber is the code of what has no unit, such as the quotient of two lengths.
const plainNumber = "1"

// derived checks an expression's names and units once all callouts are known.
func (l *loader) derived(c *rules.Callout) {
	if c.Derived == nil {
		return
	}
	at := l.where[c.ID]
	dims := map[string]string{}
	for _, name := range c.Derived.Names() {
		i := slices.IndexFunc(l.spec.Callouts, func(o rules.Callout) bool { return o.ID == name })
		if i < 0 || l.spec.Callouts[i].Kind != parse.Reading || l.spec.Callouts[i].Derived != nil || len(l.spec.Callouts[i].At) > 0 {
			at.fail("callout "+c.ID+" is computed from "+name+", which is no reading without places", "use ids of readings")
			return
		}
		if u, ok := unit.Lookup(l.spec.Callouts[i].Unit); ok && u.Code != plainNumber {
			dims[name] = string(u.Dimension)
		}
	}
	if dividesByZero(c.Derived, "") {
		at.member("is").fail("the expression of callout "+c.ID+" divides by zero", "divide by a reading, or by a number that is not 0")
		return
	}
	dim, err := c.Derived.Dimension(func(name string) string { return dims[name] })
	u, ok := unit.Lookup(c.Unit)
	switch {
	case err != nil:
		at.fail("the expression of callout "+c.ID+" does not add up: "+err.Error(), "compute only with readings of one quantity")
	case ok && u.Code == plainNumber && dim == "":
	case ok && dim != string(u.Dimension):
		if dim == "" {
			dim = "a plain number"
		}
		at.fail("callout "+c.ID+" is in "+c.Unit+", its expression gives "+dim, "give it a unit of that quantity")
	}
}
