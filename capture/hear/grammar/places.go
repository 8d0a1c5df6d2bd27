package grammar

import (
	"slices"
	"strconv"
	"strings"

	"readback/parse"
)

// beyond is how many places more than there are can be said at least: "rod five" of four is heard
// as such, and not as one that there is.
const beyond = 3

// places makes a rule for every axis: x_stage, x1_stage for single places, i_stage for its numbers.
func (m *maker) places() {
	for _, a := range m.words.Axes {
		id := Missing{Of: a.ID}
		say := m.forms(id, a.Say...)
		words := phrases(say)
		most := 0
		var named [][]string
		for _, v := range a.Values {
			if n, err := strconv.Atoi(v.Value); err == nil && len(v.Say) == 0 {
				most = max(most, n)
				continue
			}
			named = append(named, m.forms(id, append(slices.Clone(v.Say), v.Value)...)...)
		}
		var one, more []node
		if len(named) > 0 {
			one = append(one, seq(maybe(0.3, words), phrases(named)).likely(4))
			more = slices.Clone(one)
		}
		if most > 0 {
			one, more = m.numbered(a, words, most, one, more)
		}
		one = append(one, seq(m.list("last|final"), words))
		more = append(more, seq(m.list("last|final|all|all the|each|every|the rest of the|all of the"), words))
		if k := len(a.Values); k > 1 && k < 10 {
			more = append(more, seq(each("all"), each(digitWords[k-1]), words))
		}
		m.rules.add("x1_"+ruleName(a.ID), alt(one...))
		m.rules.add("x_"+ruleName(a.ID), seq(maybe(0.1, alt(m.list("on|at|on the").likely(1), each("the").likely(0.03))), alt(more...)))
	}
}

// numbered adds the ways to say a place that has a number, to those for one place and to those for
// several.
func (m *maker) numbered(a parse.Axis, words node, most int, one, more []node) (single, several []node) {
	r := &m.rules
	n := r.ref("d")
	nth := min(most+beyond, 9)
	switch {
	case most+beyond > 99:
		n, nth = alt(r.ref("n99").likely(3), r.ref("n999")), 20
	case most+beyond > 29:
		n, nth = r.ref("n99"), 20
	case most+beyond > 19:
		n, nth = alt(r.ref("d").likely(9), r.ref("teen").likely(10), seq(each("twenty"), opt(r.ref("d"))).likely(10)), 20
	case most+beyond > 9:
		n, nth = alt(r.ref("d").likely(9), r.ref("teen").likely(10)), 19
	}
	index := r.add("i_"+ruleName(a.ID), n)
	nths := seq(each(nthWords[:nth]...), words).likely(2)
	at := seq(words, maybe(0.04, each("number")), index)
	one, more = append(one, at.likely(8)), append(more, seq(at, maybe(0.08, seq(each("to", "and", "through"), index))).likely(8), nths)
	if nth < 10 {
		one = append(one, nths)
	}
	return one, more
}

// anyOf is a place on one of these axes, or several on it: "stages one to three", "all four rods".
func (m *maker) anyOf(axes []string) node { return m.onAxes("x_", axes) }

// oneOf is a single place on one of these axes.
func (m *maker) oneOf(axes []string) node { return m.onAxes("x1_", axes) }

func (m *maker) onAxes(kind string, axes []string) node {
	var kids []node
	for _, a := range axes {
		kids = append(kids, m.rules.ref(kind+ruleName(a)))
	}
	return alt(kids...)
}

// allAxes lists the axes that any name has.
func (m *maker) allAxes() (ids []string) {
	for _, a := range m.words.Axes {
		ids = append(ids, a.ID)
	}
	return ids
}

// slotOf returns the axis whose word ends a spoken form: "tie rod" takes a rod right behind it.
func (m *maker) slotOf(n parse.Name, form []string) (axis string, ok bool) {
	for _, a := range m.words.Axes {
		if !slices.Contains(n.Axes, a.ID) || m.rules.ref("i_"+ruleName(a.ID)).empty() {
			continue
		}
		for _, s := range a.Say {
			if words := spell(s); len(words) > 0 && len(form) > len(words) && slices.Equal(words, form[len(form)-len(words):]) {
				return a.ID, true
			}
		}
	}
	return "", false
}

// ruleName makes an id fit for the name of a rule.
func ruleName(id string) string {
	return strings.Map(func(c rune) rune {
		if 'a' <= c && c <= 'z' || '0' <= c && c <= '9' || c == '_' {
			return c
		}
		return '_'
	}, id)
}
