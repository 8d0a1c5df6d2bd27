package grammar

// numbers makes the rules of numbers. Whole numbers below a hundred are as likely as each other, so that a
// lone ten has no start on its teen. What ends in "hundred" or "thousand" is apart from the rest, and so
// are halves and quarters. A value is said in a hundred ways; what is missing here is what sounds too
// much like another, as digits in pairs behind the point ("point forty five") and a bare "oh", which is
// heard in every "no".
func (m *maker) numbers() {
	r := &m.rules
	digits := digitWords
	if m.options.Radio {
		digits = append(append([]string{}, digits...), "niner", "fife")
	}
	d := r.add("d", each(digits...))
	zero := r.add("zero", alt(each("zero").likely(3), each("nought").likely(1)))
	digit := r.add("digit", alt(d.likely(9), zero.likely(1.3), each("oh").likely(0.5)))
	teen := r.add("teen", each(teenWords...))
	tens := r.add("tens", seq(each(tensWords...), maybe(0.9, d)))
	n99 := r.add("n99", alt(d.likely(9), teen.likely(10), tens.likely(80)))
	behind := r.add("behind", alt( // one digit that opens a longer number
		seq(each("hundred"), opt(each("and")), n99).likely(3),
		alt(teen, tens).likely(4),
		seq(digit, opt(digit)).likely(2),
		seq(each("double"), d).likely(0.2),
	))
	r.add("int", alt(
		seq(d, alt(nullAt(0.7), behind.likely(0.3))).likely(25),
		teen.likely(10), tens.likely(80),
		zero.likely(4), seq(each("double"), d).likely(0.3),
	))
	hundred := seq(alt(d.likely(1), each("a").likely(0.5)), each("hundred"))
	r.add("round", hundred)
	r.add("large", alt(
		r.ref("int").likely(0.97), seq(each("a"), each("hundred"), each("and"), n99).likely(0.03),
	))
	r.add("roundest", alt(hundred.likely(2), seq(d, each("thousand"), opt(seq(d, each("hundred")))), seq(teen, each("hundred"))))
	behindPoint := seq(digit, maybe(0.5, seq(digit, maybe(0.04, digit))))
	r.add("dec", seq(alt(each("point").likely(0.97), each("decimal").likely(0.03)), behindPoint))
	r.add("frac", seq(each("and"), m.list("a half|a quarter|three quarters|one eighth|three eighths|five eighths|seven eighths")))
}

// value is a number with the units that it may have.
func (m *maker) value(name, what string, codes []string) node {
	r := &m.rules
	var forms []string
	for _, c := range codes {
		forms = append(forms, unitForms(c)...)
	}
	units := r.add("u_"+name, phrases(m.forms(Missing{}, forms...)))
	n, round := r.ref("int"), r.ref("round")
	switch what {
	case "insulation", "pressure":
		n, round = r.ref("large"), r.ref("roundest")
	case "temperature":
		n = seq(maybe(0.1, each("minus")), n)
	}
	number := r.add("num_"+name, alt(seq(n, maybe(0.45, r.ref("dec"))).likely(0.96), seq(maybe(0.2, each("oh")), r.ref("dec")).likely(0.04)))
	return r.add("v_"+name, alt(
		seq(number, maybe(0.85, units)).likely(0.91),
		seq(r.add("num_round_"+name, round), maybe(0.85, units)).likely(0.04),
		seq(n, r.ref("frac"), units).likely(0.02),
		r.add("part_"+name, m.partOf(what, units)).likely(0.03),
	))
}

// partOf is parts of a unit: "half a thou", "two hundredths of a millimetre".
func (m *maker) partOf(what string, units node) node {
	half := seq(m.list("half a|half an|a quarter of a|three quarters of a"), units)
	if what != "length" {
		return half
	}
	r := &m.rules
	return alt(
		half.likely(2),
		m.list("a thou|a thou and a half"),
		seq(alt(each("a"), r.ref("n99")), alt(
			seq(m.list("hundredth|hundredths|tenth|tenths"), m.list("of a millimetre|of a mil|of a thou")).likely(4),
			seq(m.list("eighth|eighths|sixteenth|sixteenths|thirty second|thirty seconds|sixty fourth|sixty fourths|thousandth|thousandths"), m.list("of an inch")),
		)).likely(4),
	)
}
