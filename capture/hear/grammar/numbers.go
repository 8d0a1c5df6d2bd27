package grammar

// numbers makes the rules of numbers. A value is said in a hundred ways; what is missing here is
// what sounds too much like another, as digits in pairs behind the point ("point forty five") and a
// bare "oh", which is heard in every "no".
func (m *maker) numbers() {
	r := &m.rules
	digits := digitWords
	if m.options.Radio {
		digits = append(append([]string{}, digits...), "niner", "fife")
	}
	d := r.add("d", each(digits...))
	digit := r.add("digit", alt(d.likely(9), each("oh", "zero", "nought").likely(2)))
	teen := r.add("teen", each(teenWords...))
	tens := r.add("tens", seq(each(tensWords...), opt(d)))
	n99 := r.add("n99", alt(d.likely(9), teen.likely(10), tens.likely(80)))
	and := opt(seq(opt(each("and")), n99))
	behind := r.add("behind", alt( // one digit that opens a longer number
		seq(each("hundred"), and).likely(5),
		alt(teen, tens).likely(4),
		seq(digit, opt(digit)).likely(2),
		seq(each("double"), d).likely(0.2),
	))
	r.add("int", alt(
		seq(d, alt(nullAt(0.7), behind.likely(0.3))).likely(25),
		teen.likely(10), tens.likely(80),
		seq(each("a"), each("hundred")).likely(1), each("zero", "nought").likely(2), seq(each("double"), d).likely(0.3),
	))
	r.add("large", alt(
		r.ref("int").likely(0.94), seq(each("a"), each("hundred"), each("and"), n99).likely(0.02),
		seq(d, each("thousand"), opt(seq(d, each("hundred")))).likely(0.02), seq(teen, each("hundred")).likely(0.02),
	))
	behindPoint := seq(digit, opt(seq(digit, opt(digit))))
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
	n := r.ref("int")
	switch what {
	case "insulation", "pressure":
		n = r.ref("large")
	case "temperature":
		n = seq(opt(each("minus")), n)
	}
	number := r.add("num_"+name, alt(seq(n, opt(r.ref("dec"))).likely(0.96), seq(opt(each("oh")), r.ref("dec")).likely(0.04)))
	return r.add("v_"+name, alt(
		seq(number, opt(seq(alt(nullAt(0.95), r.ref("frac").likely(0.05)), units))).likely(0.97),
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
