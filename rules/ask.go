package rules

import (
	"fmt"
	"slices"
	"strings"

	"readback/parse"
	"readback/parse/number"
	"readback/rules/say"
)

// RuleAsk speaks when a reading was not recorded. It is closed by the answer, by
// "scratch that", or by the same reading said whole.

// askBack puts a claim back to the technician.
func (j *Job) askBack(c, full parse.Claim, why *reason, a *Answer) {
	f := finding(RuleAsk, c.Target, Note, why.text)
	if l := j.byID[c.Callout]; l == nil || !l.known[c.At] && len(c.Places) > 0 {
		f.At = ""
	}
	f.spoken = why.spoken
	known := j.byID[c.Callout] != nil
	if !c.NoValue && known {
		a.Readings = append(a.Readings, Reading{
			Callout: c.Callout, At: c.At, Value: c.Value, Unit: said(full), Verdict: Unclear, With: Taken(c.With), How: c.How,
		})
	}
	a.Findings = append(a.Findings, f)
	if len(full.Doubts) == 0 {
		full.Doubts = why.doubts
	}
	if len(why.units) > 0 {
		full.Unit, full.Slang = "", why.units
	}
	a.Heard.Asked = append(a.Heard.Asked, full)
	j.open(ask{finding: f, target: c.Target, value: c.Value, homeless: !known, typed: !known && c.How == parse.HowGauge})
}

// open adds a question, in place of one about the same thing.
func (j *Job) open(q ask) {
	j.closeAsks(func(o ask) bool { return !q.homeless && o.target == q.target || o.finding.Text == q.finding.Text })
	j.asks = append(j.asks, q)
}

// said returns the unit of a reading that was asked back: "1" where none is clear.
func said(c parse.Claim) string {
	if c.Unit == "" {
		return "1"
	}
	return c.Unit
}

// asked puts back what was unclear and belongs to no claim.
func (j *Job) asked(u parse.Utterance, a *Answer) {
	for _, q := range u.Asks {
		text := "I did not get that: " + q.Words + ". Say it again in other words."
		switch q.Doubt {
		case parse.TooLong:
			text = "That note is too long (" + q.Words + "; at most 2000 are read). Say it in shorter pieces."
		case parse.NoPlace:
			text = say.Cap(q.Words) + ": where? Say it again with its place."
		case parse.NoSuchPlace:
			text = say.Cap(q.Words) + ": this job has no such place. Which one?"
		case parse.TwoPlaces:
			text = say.Cap(q.Words) + ": which one? Say it again with one place."
		case parse.Missing:
			text = say.Cap(q.Words) + ": which kind? " + j.kindsOf(q.Words)
		case parse.Doubtful:
			text = "Not recorded, since you are not sure: " + q.Words + ". Say it again when it is certain."
		case parse.NoNumber:
			text = fmt.Sprintf("%q from a gauge is no single number with a unit. Measure again, or say the reading.", q.Words)
		case parse.NoHome:
			text = "The same as what? Say the value itself."
		case parse.TwoHomes, parse.TwoNumbers, parse.Approximate, parse.Negated, parse.Hearsay, parse.Range, parse.OddUnit, parse.Unknown, parse.Twice:
		}
		var t parse.Target
		if q.Mark != nil {
			t = q.Mark.Target
			if l := j.byID[t.Callout]; l != nil && l.Kind == parse.Detail {
				text = j.askDetail(q.Doubt, l)
			}
		}
		f := finding(RuleAsk, t, Note, text)
		a.Findings = append(a.Findings, f)
		j.open(ask{finding: f, target: t, homeless: true, typed: q.Doubt == parse.NoNumber, mark: q.Mark != nil})
	}
	if len(u.Asks) == 1 && u.Asks[0].Mark != nil {
		a.Heard.Open = u.Asks[0].Mark
	}
}

// askDetail asks for the words of a detail, or for a reading that was said among them.
func (j *Job) askDetail(d parse.Doubt, l *live) string {
	if d == parse.Missing {
		return say.Cap(j.name(l.ID)) + ": say it in one note with its name."
	}
	return say.Cap(j.name(l.ID)) + ": something else was said in the same breath. Say each in a note of its own."
}

// kindsOf lists the kinds of the part that words name.
func (j *Job) kindsOf(words string) string {
	for _, l := range j.list {
		if l.Kind != parse.Part || !slices.Contains(l.Say, strings.ToLower(words)) {
			continue
		}
		var kinds []string
		for _, c := range l.Choices {
			kinds = append(kinds, c.Is)
		}
		return say.Cap(say.List(kinds, "or")) + "?"
	}
	return "Say which."
}

// value returns a claim's value with its unit, or what it may be, in words.
func value(c *parse.Claim) string {
	if c.Unit != "" {
		return say.Quantity(c.Value, c.Unit)
	}
	return say.Number(c.Value)
}

// doubtful words the doubts that the parser had. The first decides.
func (j *Job) doubtful(c parse.Claim, l *live) *reason {
	if l == nil && c.How == parse.HowGauge {
		return &reason{text: value(&c) + " from a gauge: of what? Say gauge on and its name, then measure again.", doubts: []parse.Doubt{parse.NoHome}}
	}
	if l == nil {
		return &reason{text: value(&c) + ": what is it for? Say it again with its name and place.", doubts: []parse.Doubt{parse.NoHome}}
	}
	where, v := j.where(c.Target), value(&c)
	text := ""
	switch d := mostTelling(c.Doubts); d {
	case parse.NoHome:
		text = fmt.Sprintf("%s: what is it for? Say it again with its name and place.", v)
	case parse.TwoHomes:
		text = fmt.Sprintf("%s: is that %s?", v, j.choices(c.Others))
	case parse.TwoPlaces:
		text = fmt.Sprintf("%s, %s: which one, %s?", j.name(c.Callout), v, j.placeList(c.Places))
		if !slices.ContainsFunc(c.Places, func(p parse.Place) bool { return p != "" }) {
			text = fmt.Sprintf("%s: for which reading? Say it with its name.", v)
		}
	case parse.NoPlace:
		text = j.whereTo(&c, l, v)
	case parse.NoSuchPlace:
		text = fmt.Sprintf("This job has no %s. %s", j.placeOf(c.At), j.placesOf(l))
		if c.At == "" {
			text = fmt.Sprintf("%s: there is no next one. Say which.", say.Cap(j.name(c.Callout)))
		}
	case parse.TwoNumbers:
		text = fmt.Sprintf("%s: I heard more than one number. Say the reading again.", where)
	case parse.Approximate:
		text = fmt.Sprintf("%s: about %s is not recorded. What does it read exactly?", where, v)
	case parse.Doubtful:
		text = fmt.Sprintf("%s: not recorded, since you are not sure. Check it and say it again.", where)
	case parse.Negated:
		text = fmt.Sprintf("%s: not done, and still owed.", where)
	case parse.Hearsay:
		text = fmt.Sprintf("%s: was %s measured here, now? Then say the reading alone.", where, v)
	case parse.Range:
		text = fmt.Sprintf("%s: one reading is called for, not a range. What does it read?", where)
	case parse.Missing:
		text = fmt.Sprintf("%s: what is the reading?", where)
	case parse.OddUnit:
		text = fmt.Sprintf("%s: I do not know that unit. Say %s in %s.", where, say.Number(c.Value), say.Unit(l.Unit, true))
		if c.Unit == "" {
			text = fmt.Sprintf("%s: %s of what? Say it with its unit.", where, say.Number(c.Value))
		}
	case parse.Unknown:
		text = fmt.Sprintf("%s: %s, and what about %q? Say yes, or the reading alone.", where, v, c.Words)
	case parse.Twice:
		text = fmt.Sprintf("The gauge sent %s twice at once. Is the second %s? Yes or no.", v, where)
	case parse.NoNumber:
		text = fmt.Sprintf("%s: no number came. Say the reading.", where)
	case parse.TooLong:
		text = fmt.Sprintf("%s: that note is too long. Say it in shorter pieces.", where)
	}
	return &reason{text: text, doubts: c.Doubts}
}

// mostTelling returns the doubt to ask about first.
func mostTelling(doubts []parse.Doubt) parse.Doubt {
	for _, d := range []parse.Doubt{parse.Negated, parse.Doubtful, parse.Hearsay, parse.Approximate, parse.TwoNumbers, parse.Range, parse.OddUnit, parse.Unknown, parse.NoSuchPlace, parse.TwoHomes, parse.TwoPlaces, parse.NoPlace, parse.Missing} {
		if slices.Contains(doubts, d) {
			return d
		}
	}
	if len(doubts) > 0 {
		return doubts[0]
	}
	return parse.NoHome
}

func (j *Job) choices(callouts []string) string {
	var names []string
	for _, c := range callouts {
		names = append(names, j.name(c))
	}
	return say.List(names, "or")
}

func (j *Job) placeList(places []parse.Place) string {
	var words []string
	for _, p := range places {
		words = append(words, j.placeOf(p))
	}
	return say.List(words, "or")
}

// whereTo asks for the place of a value.
func (j *Job) whereTo(c *parse.Claim, l *live, v string) string {
	if len(c.Places) == 1 {
		return fmt.Sprintf("%s for %s?", v, j.where(parse.Target{Callout: c.Callout, At: c.Places[0]}))
	}
	var axes []string
	for _, a := range l.axes {
		if c.At.On(a) == "" {
			axes = append(axes, a)
		}
	}
	return fmt.Sprintf("%s, %s: which %s?", j.where(c.Target), v, strings.Join(axes, " and which "))
}

// placesOf says which places a callout has: "Stages go from one to ten."
func (j *Job) placesOf(l *live) string {
	var parts []string
	for _, a := range l.At {
		values := a.values(j.options)
		if len(values) == 0 {
			continue
		}
		first, last := parse.Index{Axis: a.Axis, Value: values[0]}, parse.Index{Axis: a.Axis, Value: values[len(values)-1]}
		parts = append(parts, fmt.Sprintf("%s goes from %s to %s", a.Axis, j.index(first), j.index(last)))
	}
	return say.Cap(say.List(parts, "and")) + "."
}

// whichUnit asks what a bare number is in.
func (j *Job) whichUnit(c *parse.Claim, codes []string) *reason {
	var words []string
	for _, code := range codes {
		words = append(words, say.Unit(code, true))
	}
	return &reason{
		text:  fmt.Sprintf("%s: %s what, %s?", j.where(c.Target), say.Number(c.Value), say.List(words, "or")),
		units: codes, doubts: []parse.Doubt{parse.OddUnit},
	}
}

func (j *Job) wrongDimension(l *live, c *parse.Claim) *reason {
	return &reason{
		text:   fmt.Sprintf("%s is read in %s, not in %s. Which reading is %s?", j.where(c.Target), say.Unit(l.Unit, true), say.Unit(c.Unit, true), say.Quantity(c.Value, c.Unit)),
		doubts: []parse.Doubt{parse.OddUnit},
	}
}

// tenTimes asks about a point that may have been missed: n is the power of ten that
// would bring the value inside.
func (j *Job) tenTimes(c *parse.Claim, n int) *reason {
	other := "a tenth of that"
	if v, ok := c.Value.Shift(n); ok {
		other = say.Quantity(v, c.Unit)
	}
	return &reason{
		text:   fmt.Sprintf("%s: %s, or %s? Say it again.", j.where(c.Target), say.Quantity(c.Value, c.Unit), other),
		doubts: []parse.Doubt{parse.TwoNumbers},
	}
}

// orOther asks which of two values the words stand for.
func (j *Job) orOther(c *parse.Claim) *reason {
	return &reason{
		text:   fmt.Sprintf("%s: %s, or %s? Say it again.", j.where(c.Target), say.Quantity(c.Value, c.Unit), say.Quantity(*c.Other, c.Unit)),
		doubts: []parse.Doubt{parse.TwoNumbers},
	}
}

func (j *Job) implausible(l *live, c *parse.Claim) *reason {
	return &reason{
		text:   fmt.Sprintf("%s: %s is hardly possible here (%s). Say it again.", j.where(c.Target), say.Quantity(c.Value, c.Unit), rangeWords(l)),
		doubts: []parse.Doubt{parse.TwoNumbers},
	}
}

func rangeWords(l *live) string {
	speak := func(v *number.Value) string { return say.Quantity(*v, l.Unit) }
	switch r := l.Plausible; {
	case r == nil:
		return "less than nothing"
	case r.Min != nil && r.Max != nil:
		return say.Number(*r.Min) + " to " + speak(r.Max)
	case r.Min != nil:
		return speak(r.Min) + " and up"
	default:
		return "up to " + speak(r.Max)
	}
}

func (j *Job) whichPlace(c *parse.Claim) *reason {
	return &reason{
		text:   fmt.Sprintf("%s: %s, for %s?", j.name(c.Callout), say.Quantity(c.Value, c.Unit), j.placeList(c.Places)),
		doubts: []parse.Doubt{parse.TwoPlaces},
	}
}
