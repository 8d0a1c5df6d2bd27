package grammar

import (
	"slices"
	"strings"

	"readback/parse"
)

// marks is what is so, what happened, and which part went where.
func (m *maker) marks() node {
	var kids []node
	axes, weights := map[string][]node{}, map[string]float64{} // confirmations and events by their axes
	var order [][]string
	for _, n := range m.words.Names {
		switch n.Kind {
		case parse.Confirm, parse.Event:
			key := strings.Join(n.Axes, " ")
			if axes[key] == nil {
				order = append(order, n.Axes)
			}
			axes[key] = append(axes[key], m.mark(n))
			weights[key] += m.likelihood(n)
		case parse.Part:
			kids = append(kids, m.part(n).likely(m.likelihood(n)))
		case parse.Reading, parse.Detail, parse.Instrument, parse.Symptom, parse.Question, parse.Correction, parse.Remark, parse.Unclear:
		}
	}
	for _, ids := range order {
		names := axes[strings.Join(ids, " ")]
		k := alt(names...)
		if len(ids) > 0 {
			k = seq(maybe(0.4, alt(m.anyOf(ids).likely(4), m.slotted(ids))), maybe(0.1, m.list("is|are|is not|not|isn't")), k, maybe(0.4, m.anyOf(ids)))
		}
		kids = append(kids, k.likely(weights[strings.Join(ids, " ")]))
	}
	return m.rules.add("mark", seq(maybe(0.06, m.list("the|top|the top")), alt(kids...), maybe(0.03, m.list("now|again|yet|okay"))))
}

// marked is the share of marks among notes that record something.
func (m *maker) marked() float64 {
	marks, readings := 0.0, 0.0
	for _, n := range m.words.Names {
		switch {
		case n.Kind == parse.Confirm, n.Kind == parse.Event, n.Kind == parse.Part:
			marks += m.likelihood(n)
		case n.Kind == parse.Reading && !n.Derived:
			readings += m.likelihood(n)
		}
	}
	if marks+readings == 0 {
		return 0.5
	}
	return min(max(marks/(marks+readings), 0.1), 0.9)
}

// slotted is the readings whose names end in the word of one of the axes: "tie rods loosened".
func (m *maker) slotted(axes []string) node {
	var kids []node
	for _, n := range m.words.Names {
		if n.Kind != parse.Reading || n.Derived {
			continue
		}
		for _, f := range m.forms(Missing{Of: n.Callout, Callout: true}, n.Say...) {
			if axis, ok := m.slotOf(n, f); ok && slices.Contains(axes, axis) {
				kids = append(kids, m.rules.ref("c_"+ruleName(n.Callout)))
				break
			}
		}
	}
	return alt(kids...)
}

// inners may stand inside the name of what is so: "seat is clean", "seat is not clean".
const inners = "is|are|is not|are not|isn't|not"

// mark makes the rule of what is so or happens.
func (m *maker) mark(n parse.Name) node {
	of := Missing{Of: n.Callout, Callout: true}
	say := m.forms(of, slices.Concat(n.Say, n.Denied)...)
	byLast := map[string][][]string{} // what "is" may stand before
	var lasts []string
	var plain [][]string
	for _, f := range say {
		last := f[len(f)-1]
		if len(f) < 2 || slices.Contains(f, "is") {
			plain = append(plain, f)
			continue
		}
		if strings.HasSuffix(last, "ed") && !strings.HasSuffix(last, "eed") {
			plain = append(plain, append([]string{last, "the"}, strings.Fields(strings.TrimPrefix(strings.Join(f[:len(f)-1], " "), "the "))...)) // "oiled the threads"
		}
		if byLast[last] == nil {
			lasts = append(lasts, last)
		}
		byLast[last] = append(byLast[last], f[:len(f)-1])
	}
	var kids []node
	if len(plain) > 0 {
		kids = append(kids, phrases(plain).likely(float64(len(plain))))
	}
	inner := m.rules.ref("inner")
	if inner.empty() {
		inner = m.rules.add("inner", m.list(inners))
	}
	for _, last := range lasts {
		k := seq(phrases(byLast[last]), maybe(0.15, inner), each(last))
		if last == "free" {
			k = seq(k, maybe(0.1, m.list("to move|to turn")))
		}
		kids = append(kids, k.likely(float64(len(byLast[last]))))
	}
	return m.rules.add("c_"+ruleName(n.Callout), alt(kids...)).likely(m.likelihood(n))
}

// part is a part with its kind and its place: "full impeller on stage three", "stage three full".
func (m *maker) part(n parse.Name) node {
	of := Missing{Of: n.Callout, Callout: true}
	var kinds [][]string
	for _, c := range n.Choices {
		kinds = append(kinds, m.forms(of, append(slices.Clone(c.Say), c.Is)...)...)
	}
	name := m.rules.add("c_"+ruleName(n.Callout), phrases(m.forms(of, n.Say...))).likely(m.likelihood(n))
	kind := m.rules.add("k_"+ruleName(n.Callout), phrases(kinds))
	at := m.anyOf(n.Axes)
	the := maybe(0.1, each("a", "the"))
	return m.rules.add("p_"+ruleName(n.Callout), alt(
		seq(the, kind, maybe(0.7, name), maybe(0.9, at)).likely(5),
		seq(at, the, kind, maybe(0.7, name)).likely(2),
		seq(maybe(0.1, each("the")), name, maybe(0.8, at), maybe(0.2, each("is")), kind).likely(2),
	))
}

// details is what is spelt: "serial number m r dash four seven". A detail in words of the
// technician's own cannot be heard, and is left out.
func (m *maker) details() node {
	var names []node
	for _, n := range m.words.Names {
		if n.Kind != parse.Detail || !spelt(n) {
			continue
		}
		names = append(names, m.rules.add("c_"+ruleName(n.Callout), phrases(m.forms(Missing{Of: n.Callout, Callout: true}, n.Say...))))
	}
	if len(names) == 0 {
		return node{}
	}
	letters := strings.Split("abcdefghijklmnopqrstuvwxyz", "")
	sign := m.rules.add("sign", alt(m.rules.ref("digit").likely(3), each(letters...).likely(2), each("dash", "double").likely(0.2)))
	return m.rules.add("detail", seq(alt(names...), maybe(0.2, each("is")), sign, often(sign)))
}

// spelt reports whether a detail is a number or code.
func spelt(n parse.Name) bool {
	return slices.ContainsFunc(n.Say, func(s string) bool {
		return slices.ContainsFunc(strings.Fields(s), func(w string) bool { return slices.Contains([]string{"number", "serial", "tag", "code", "no"}, w) })
	})
}
