package grammar

import (
	"math"
	"slices"
	"strings"

	"readback/parse"
	"readback/parse/unit"
)

// group is readings that are said with the same units, so that they share one tail of numbers and
// units: that tail is the larger part of the net.
type group struct {
	what  string // torque, length ...
	names []parse.Name
	codes []string // of their own units
	axes  []string
}

func (m *maker) groups() (out []*group) {
	for _, n := range m.words.Names {
		u, ok := unit.Lookup(n.Unit)
		if n.Kind != parse.Reading || n.Derived || !ok {
			continue
		}
		what := measured(u)
		i := slices.IndexFunc(out, func(g *group) bool { return g.what == what })
		if i < 0 {
			i, out = len(out), append(out, &group{what: what})
		}
		g := out[i]
		g.names = append(g.names, n)
		for _, c := range append([]string{u.Code}, m.options.Also[n.Callout]...) {
			if !slices.Contains(g.codes, c) {
				g.codes = append(g.codes, c)
			}
		}
		for _, a := range n.Axes {
			if !slices.Contains(g.axes, a) {
				g.axes = append(g.axes, a)
			}
		}
	}
	return out
}

// nudge is how much likelier the name of what comes next is.
const nudge = 1.5

// damped is the power to which the number of places of a name is raised.
const damped = 0.5

// likelihood is that of a name among others: a nut of every stage is spoken of more often than the one
// end play. How much more is damped, since likelihoods are raised to a power when they are written.
func (m *maker) likelihood(n parse.Name) float64 {
	places := 1
	for _, a := range m.words.Axes {
		if slices.Contains(n.Axes, a.ID) {
			places *= max(len(a.Values), 1)
		}
	}
	often := math.Pow(float64(places), damped)
	if slices.Contains(m.options.Next, n.Callout) {
		return often * nudge
	}
	return often
}

func (m *maker) likelihoods(names []parse.Name) float64 {
	sum := 0.0
	for _, n := range names {
		sum += m.likelihood(n)
	}
	return sum
}

// name makes the rule of a name: c_collar_nut_torque.
func (m *maker) name(n parse.Name) node {
	plain, slots := m.formsOf(n)
	kids := []node{phrases(plain).likely(float64(len(plain)))}
	for _, a := range n.Axes {
		if f := slots[a]; len(f) > 0 {
			kids = append(kids, seq(phrases(f), maybe(0.7, m.index(a))).likely(float64(len(f))))
		}
	}
	return m.rules.add("c_"+ruleName(n.Callout), alt(kids...)).likely(m.likelihood(n))
}

// formsOf returns the forms of a name: plain ones, and by axis those that end in its word and take a number right behind.
func (m *maker) formsOf(n parse.Name) (plain [][]string, slots map[string][][]string) {
	slots = map[string][][]string{}
	for _, f := range m.forms(Missing{Of: n.Callout, Callout: true}, n.Say...) {
		if axis, ok := m.slotOf(n, f); ok {
			slots[axis] = append(slots[axis], f)
			continue
		}
		plain = append(plain, f)
	}
	return plain, slots
}

// index is the number of a place behind the word of its axis, or two: "four to six".
func (m *maker) index(axis string) node {
	i := m.rules.ref("i_" + ruleName(axis))
	return seq(i, maybe(0.08, seq(each("to", "and", "through"), i)))
}

// Phrases round readings.
const (
	isWords    = "reading|measures|gives|came out at|now|is now|again|all at|each"
	aboutWords = "about|around|roughly|nearly|i think|probably|almost|maybe"
	setWords   = "clicked at|set to|torqued to|pulled to|done to"
	undone     = "not torqued|not torqued yet|not tightened|not tightened yet|not measured|not measured yet|not checked|not checked yet|not done|not done yet|not yet|still to do|torqued|tightened|done|measured|checked"
	tailWords  = "again|i think|or so|near enough|give or take|each"
	rareTails  = "ish"
	againWords = "re torqued|re measured|re checked"
	mendWords  = "correction|no|sorry|actually|make that|make it|i mean|not|should be|no make that|sorry make that|no sorry|scratch that"
	sameWords  = "same|same again|the same|the same again|ditto|same as before|same there|same here|next one|the next one"
	openWords  = "okay|right|and|now|then|so|um|i think"
)

// readings is a reading, or several of one kind behind each other.
func (m *maker) readings() node {
	r := &m.rules
	r.add("was", alt(m.list("is|at|was|reads").likely(0.5), m.list(isWords).likely(0.25), m.list("should be|should read").likely(0.08), m.list(aboutWords).likely(0.12), m.list(setWords).likely(0.08)))
	r.add("undone", m.list(undone))
	var kids []node
	for _, g := range m.groups() {
		kids = append(kids, m.group(g).likely(m.likelihoods(g.names)))
	}
	var units []node
	for _, g := range m.groups() {
		units = append(units, r.ref("u_"+ruleName(g.what)))
	}
	r.add("unit", alt(units...))
	return r.add("reading", alt(append(kids, m.bare().likely(2))...))
}

// group is the readings of one group: "collar nut stage three forty eight newton metres", and more
// of them right behind. Without a value it is the answer to a question.
func (m *maker) group(g *group) node {
	r, name := &m.rules, ruleName(g.what)
	value := m.value(name, g.what, unitsOf(g.what, g.codes))
	var names, next []node
	for _, n := range g.names {
		names = append(names, m.name(n))
		if len(n.Short) > 0 {
			next = append(next, r.add("s_"+ruleName(n.Callout), phrases(m.forms(Missing{Of: n.Callout, Callout: true}, n.Short...))))
		}
	}
	r.add("names_"+name, alt(append(names, m.dimension(g.what).likely(0.3))...))
	one := m.oneOf(g.axes)
	head := r.add("head_"+name, seq(maybe(0.03, m.list(againWords)), m.head(g)))
	var more node
	if again := alt(append(next, one)...); !again.empty() && (len(next) > 1 || len(g.names) > 1 && len(g.axes) > 0) {
		more = alt(nullAt(0.9), often(seq(maybe(0.3, each("and")), again, maybe(0.1, r.ref("was")), r.ref("num_"+name), maybe(0.5, r.ref("u_"+name)))).likely(0.1))
	}
	return r.add("r_"+name, seq(head, alt(
		nullAt(0.05), // an answer: where, or for which
		seq(maybe(0.25, r.ref("was")), value, more).likely(0.9),
		r.ref("undone").likely(0.05),
	)))
}

// placed is names with the same axes.
type placed struct {
	axes  []string
	names []parse.Name
}

func (g *group) placed() (out []*placed) {
	for _, n := range g.names {
		i := slices.IndexFunc(out, func(p *placed) bool { return slices.Equal(p.axes, n.Axes) })
		if i < 0 {
			i, out = len(out), append(out, &placed{axes: n.Axes})
		}
		out[i].names = append(out[i].names, n)
	}
	return out
}

// How likely the parts of a reading's place are.
const (
	somewhere = 0.8  // that a name comes with its place
	further   = 0.8  // that the place on the first axis is followed by that on the next
	elsewhere = 0.15 // that the first is left out, of two
)

// head says which reading it is, and where: a name with a place on axes that it has ("pinion nut pass two" is no
// reading), the place before the name, or the place alone. A dimension stands for any name.
func (m *maker) head(g *group) node {
	var kids, places []node
	weight := 0.0
	for _, p := range g.placed() {
		of := m.likelihoods(p.names)
		kids = append(kids, m.headOf(p).likely(of))
		if at := m.placeOn(p.axes); !at.empty() {
			places, weight = append(places, at.likely(of)), weight+of
		}
	}
	at := alt(places...)
	kids = append(kids, at.likely(0.06*weight))
	if what := m.dimension(g.what); !what.empty() {
		kids = append(kids, seq(what, maybe(0.7, at)).likely(0.2), seq(at, what).likely(0.1*min(weight, 1)))
	}
	return alt(kids...)
}

// headOf is the head of names with the same axes.
func (m *maker) headOf(p *placed) node {
	var names, plain []node
	slots := map[string][]node{}
	whole, open := 0.0, map[string]float64{}
	for _, n := range p.names {
		names = append(names, m.rules.ref("c_"+ruleName(n.Callout)).likely(m.likelihood(n)))
		forms, slotted := m.formsOf(n)
		all := len(forms)
		for _, f := range slotted {
			all += len(f)
		}
		per := m.likelihood(n) / float64(max(all, 1))
		whole += per * float64(len(forms))
		plain = append(plain, phrases(forms).likely(per*float64(len(forms))))
		for _, a := range n.Axes {
			f := slotted[a]
			slots[a] = append(slots[a], phrases(f).likely(per*float64(len(f))))
			open[a] += per * float64(len(f))
		}
	}
	at := m.placeOn(p.axes)
	if at.empty() {
		return alt(names...)
	}
	var kids []node
	if whole > 0 {
		kids = append(kids, seq(alt(plain...), maybe(somewhere, at)).likely(whole))
	}
	for _, a := range p.axes {
		others := slices.DeleteFunc(slices.Clone(p.axes), func(o string) bool { return o == a })
		form := alt(slots[a]...)
		if form.empty() {
			continue
		}
		kids = append(kids, seq(form, alt(seq(m.index(a), maybe(further, m.anyOf(others))).likely(0.75), maybe(somewhere, at).likely(0.25))).likely(open[a]))
	}
	return alt(alt(kids...).likely(7), seq(at, alt(names...), maybe(0.15, m.oneOf(p.axes))).likely(2.4))
}

// placeOn is a place on these axes, on the first before the others: "rod three pass two".
func (m *maker) placeOn(axes []string) node {
	if len(axes) < 2 {
		return m.anyOf(axes)
	}
	first, rest := m.anyOf(axes[:1]), m.anyOf(axes[1:])
	return alt(seq(first, maybe(further, rest)).likely(1-elsewhere), seq(rest, maybe(0.5, first)).likely(elsewhere))
}

// named is the names of readings, a group each, as likely as there are names in it.
func (m *maker) named() (names []node) {
	for _, g := range m.groups() {
		names = append(names, m.rules.ref("names_"+ruleName(g.what)).likely(m.likelihoods(g.names)))
	}
	return names
}

// bare is a value that opens the note: an answer, or "forty eight newton metres on the stage six
// collar nut". It is there once, for all units, since eight copies of it would be in every note's way.
// "For" does not stand behind a number, where it is heard as a four.
func (m *maker) bare() node {
	r := &m.rules
	named, one := alt(m.named()...), m.oneOf(m.allAxes())
	on := alt(seq(named, opt(one)), seq(one, opt(named)))
	if one.empty() {
		on = named
	}
	number := r.add("num", alt(seq(r.ref("int"), maybe(0.45, r.ref("dec"))).likely(0.96), seq(maybe(0.2, each("oh")), r.ref("dec")).likely(0.04)))
	return r.add("bare", seq(maybe(0.1, r.ref("was")), alt(
		seq(number, maybe(0.85, r.ref("unit"))).likely(0.93), seq(r.ref("roundest"), maybe(0.85, r.ref("unit"))).likely(0.05), seq(r.ref("int"), r.ref("frac"), r.ref("unit")).likely(0.02),
	), maybe(0.3, seq(each("on"), opt(each("the")), on))))
}

// mended is a correction in the note itself: "forty seven, no, forty eight".
func (m *maker) mended() node {
	return m.rules.add("mended", seq(m.list("no|correction|sorry|make that|no sorry"), m.plainly(), opt(m.rules.ref("unit"))))
}

// plainly is a number without a fraction.
func (m *maker) plainly() node {
	r := &m.rules
	return alt(seq(r.ref("int"), maybe(0.4, r.ref("dec"))).likely(0.9), r.ref("round").likely(0.1))
}

// dimension is what is measured, said beside a place: "resistance v w".
func (m *maker) dimension(what string) node {
	switch what {
	case "insulation":
		what = "resistance"
	case "length of metres":
		what = "head"
	}
	if m.dict.Sounds(what) == nil {
		return node{}
	}
	return each(what)
}

// taken is what a reading is taken at, said with it or behind it: "at forty degrees".
func (m *maker) taken() node {
	var forms []string
	for _, n := range m.words.Names {
		for _, t := range n.Takes {
			if u, ok := unit.Lookup(t.Unit); ok {
				for _, c := range unitsOf(measured(u), []string{u.Code}) {
					forms = append(forms, unitForms(c)...)
				}
			}
		}
	}
	if len(forms) == 0 {
		return node{}
	}
	slices.Sort(forms)
	forms = slices.Compact(forms)
	units := m.rules.add("u_taken", phrases(m.forms(Missing{}, forms...)))
	return m.rules.add("taken", seq(each("at", "for", "after", "with"), m.plainly(), units))
}

// tools are said where no register names any.
const tools = "wrench|torque wrench|gauge|depth gauge|micrometer|depth micrometer|indicator|dial indicator|dial gauge|tester|insulation tester|meter|multimeter|calipers|thermometer"

// with is the instrument: "on wrench seven".
func (m *maker) with() node {
	list := strings.Split(tools, "|")
	if len(m.options.Tools) > 0 {
		list = nil
		for _, t := range m.options.Tools {
			if word := strings.TrimRight(t, " 0123456789"); word != "" && !slices.Contains(list, word) {
				list = append(list, word)
			}
		}
	}
	return m.rules.add("with", seq(opt(m.list("on|with|using|on the|using the")), phrases(m.forms(Missing{}, list...)), opt(each("number")), m.rules.ref("n99")))
}
