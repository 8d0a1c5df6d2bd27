package grammar

import (
	"slices"
	"strings"

	"readback/capture/hear/judge"
	"readback/parse"
	"readback/parse/symptom"
)

// Phrases that are whole notes.
const (
	notYet   = "not yet"
	skip     = "skip that one|skip that|skip it|leave it|leave that one|come back to that|later" //nolint:dupword // phrases side by side
	commands = "stand by|resume|go on|carry on|stop listening|back to the jobs|back to the job list|show the jobs|show me the jobs|go to the jobs"
	left     = "what's left|what's left to do|what is left|what's still to do|anything left|what's missing|what's outstanding|what's open|anything open|what's still open|what's next|what is next|what comes next|what do i do next|why|why is that|why is it out|" +
		"what was the last reading|what was the last one|what did i say|what do i need|what parts do i need|which wrench do i need|which wrench|which instrument do i need|which tool do i need|" +
		"where are we|where was i|where am i|where did we get to|where did i get to|how do we stand|how does it stand|how are we doing|how far are we|how is the job|brief me|what's the state|what's been done|what has been done"
	askings = "what's|what is|what was|what's the limit for|what's the limit on|what are the limits for|what's the torque for|what's the torque on|what is the torque for|what's left on|what's left before|read back|read me|" +
		"how many|how much is|is|are|was|did i do|do i have|which wrench for|which wrench do i need for|which instrument for|what order for|what's the order for|in what order do i do|what did i get for|what did i get on|what did we read for|when do i do"
)

// answers is what only a question of the tool makes sense of.
func (m *maker) answers() node {
	var kinds []node
	for _, n := range m.words.Names {
		if n.Kind == parse.Part {
			kinds = append(kinds, m.rules.ref("k_"+ruleName(n.Callout)))
		}
	}
	r := &m.rules
	return r.add("answer", alt(
		r.add("yes", alt(each("yes").likely(1), phrases(m.forms(Missing{}, judge.Yes...)))).likely(6), r.add("no", alt(each("no").likely(1), phrases(m.forms(Missing{}, append([]string{notYet}, judge.No...)...)))).likely(6), r.add("scratch", phrases(m.forms(Missing{}, judge.Scratch...))).likely(2),
		seq(each("number"), r.ref("n99")), r.ref("unit").likely(0.5), alt(kinds...), m.list(skip),
	))
}

// questions is what the tool answers.
func (m *maker) questions() node {
	r := &m.rules
	var names []node
	for _, n := range m.words.Names {
		switch {
		case n.Kind == parse.Reading && n.Derived:
			names = append(names, m.name(n))
		case n.Kind == parse.Reading, n.Kind == parse.Part, n.Kind == parse.Detail:
			names = append(names, r.ref("c_"+ruleName(n.Callout)))
		}
	}
	named := alt(names...)
	asking, same := r.add("asking", m.list(askings)), r.add("same", m.list(sameWords))
	var axes [][]string
	for _, a := range m.words.Axes {
		axes = append(axes, m.forms(Missing{Of: a.ID}, a.Say...)...)
	}
	stuff := r.add("kit", phrases(m.forms(Missing{}, m.options.Kit...)))
	return r.add("question", alt(
		r.add("ask", alt(m.list(left).likely(2), m.list("why|what's next|what's left").likely(1))).likely(3),
		r.add("about", seq(alt(asking, same), maybe(0.2, each("the", "on")), maybe(0.7, named), maybe(0.4, m.oneOf(m.allAxes())))).likely(3),
		seq(m.list("how many|which|what|how many more"), alt(phrases(axes), stuff), maybe(0.8, m.list("do i need|are there|is next|are left|to go"))),
	))
}

// symptoms is what was found: "thrust washer badly scored on the inlet side".
func (m *maker) symptoms() node {
	r := &m.rules
	var parts, wrong []string
	for _, p := range symptom.Parts() {
		parts = append(parts, p.Say...)
	}
	for _, c := range symptom.Conditions() {
		for _, s := range c.Say {
			if !slices.Contains(said0, s) {
				wrong = append(wrong, s)
			}
		}
	}
	if m.options.Own != nil {
		for _, f := range m.options.Own.Forms {
			if f.Sort == symptom.IsPart {
				parts = append(parts, f.Say)
			} else {
				wrong = append(wrong, f.Say)
			}
		}
	}
	part := r.add("part", phrases(m.forms(Missing{}, parts...)))
	condition := r.add("condition", phrases(m.forms(Missing{}, wrong...)))
	degree := m.list(strings.Join(symptom.Degrees(), "|"))
	where := seq(m.list("on|at|near|in|under|inside|behind|along|around"), opt(each("the")),
		alt(m.list("inlet|outlet|inlet side|outlet side|inlet end|outlet end|drive side|drive end|motor side|motor end|pump end|far side|top|bottom|edge|edges|face|bore|outside|inside|seat|thread|threads|teeth|tips|middle")))
	return r.add("symptom", seq(
		maybe(0.08, m.list("old|found|some|there is|there's|the")),
		maybe(0.2, m.oneOf(m.allAxes())), maybe(0.85, seq(part, maybe(0.2, m.list("is|are|has|was|looks")))),
		maybe(0.05, m.list("no|not")), maybe(0.3, degree), condition, maybe(0.3, alt(r.add("where", where), seq(each("on", "in"), opt(each("the")), part))),
	))
}

// said0 are forms that are more often something else.
var said0 = []string{"scratch on the", "scratch in the", "scratch across", "scratch along", "scratch down", "gone", "lost", "absent", "not there", "wear", "slack"}

// note makes the whole.
func (m *maker) note() {
	m.numbers()
	m.places()
	reading, mark := m.readings(), m.marks()
	with, taken := m.with(), m.taken()
	mend := m.rules.add("mend", alt(each("correction").likely(0.5), m.list(mendWords+"|next one|the next one").likely(0.4), seq(each("not"), m.plainly(), opt(m.rules.ref("unit"))).likely(0.1)))
	mended := m.mended()
	tail := alt(with.likely(2), taken.likely(2), m.list(tailWords), m.list(rareTails).likely(0.05), mended.likely(0.5))
	marked := m.marked()
	m.rules.add(public, seq(
		maybe(0.02, m.list(openWords)),
		alt(
			seq(maybe(0.08, mend), reading, maybe(0.06, tail)).likely(0.74*(1-marked)),
			mark.likely(0.74*marked),
			m.answers().likely(0.08),
			alt(with, taken).likely(0.02),
			m.questions().likely(0.06),
			m.rules.add("command", m.list(commands+"|"+strings.Join(slices.Concat(judge.Repeat, parse.Photos()), "|"))).likely(0.05),
			m.details().likely(0.02),
			m.symptoms().likely(0.02),
			m.gauge().likely(0.02),
			m.hand().likely(0.02),
			m.dispose().likely(0.02),
		),
	))
}
