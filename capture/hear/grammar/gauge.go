package grammar

import "readback/parse"

// Phrases about a gauge that types its readings.
const gaugeSteps = "off|next|back|again|where|skip|on the next one|go back one"

// gauge is what is said of a gauge that types its readings: "gauge on collar nuts from stage one".
func (m *maker) gauge() node {
	names := m.named()
	for _, n := range m.words.Names {
		if n.Kind == parse.Reading && n.Derived {
			names = append(names, m.name(n))
		}
	}
	named, one := alt(names...), m.oneOf(m.allAxes())
	on := named
	if !one.empty() {
		places := seq(opt(each("from", "on")), one, opt(seq(opt(each("from")), one))) // written once: the net holds each copy
		on = seq(opt(named), opt(places))
	}
	return m.rules.add("gauge", seq(opt(m.list("the|put the")), each("gauge"), alt(m.list(gaugeSteps), seq(each("on"), opt(each("the")), on).likely(3))))
}
