package rules

import (
	"fmt"
	"slices"
	"strings"

	"readback/parse"
	"readback/rules/say"
)

// reply answers a question from the spec and the state of the job.
func (j *Job) reply(q *parse.Query) string {
	switch q.About {
	case parse.AboutCallout:
		return j.sayEach(q.Targets, j.calledFor)
	case parse.AboutReading:
		return j.sayRead(q.Targets)
	case parse.AboutLast:
		return j.sayLast()
	case parse.AboutLeft:
		return j.sayLeftOf(q)
	case parse.AboutOpen:
		return j.sayOpen()
	case parse.AboutNext:
		return j.sayNext(q.Axis)
	case parse.AboutCount:
		return j.sayCount(q)
	case parse.AboutNeed:
		return j.sayNeed(q.Words)
	case parse.AboutOrder:
		return j.sayOrder(q)
	case parse.AboutTool:
		return j.sayTools(q.Targets)
	case parse.AboutWhy:
		return j.sayWhy()
	case parse.AboutBrief:
		return j.sayBrief()
	case parse.AboutOther:
	}
	return noAnswer
}

const noAnswer = "I cannot answer that. Ask what is called for, what is left, what is open, what was read, or where we are."

func (j *Job) sayEach(targets []parse.Target, one func(parse.Target) string) string {
	var out []string
	for _, t := range targets {
		if s := one(t); s != "" && len(out) < 6 && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	if len(out) == 0 {
		return "This job calls for nothing of that name."
	}
	return strings.Join(out, " ")
}

// calledFor says what the spec wants of a target. Where its place is not said, the
// first place stands for all if their limits agree.
func (j *Job) calledFor(t parse.Target) string {
	l := j.byID[t.Callout]
	if l == nil {
		return ""
	}
	if l.Kind == parse.Part {
		return j.partCalledFor(l, t)
	}
	var out []string
	for _, p := range l.places {
		if !within(p, t.At) {
			continue
		}
		words := j.wanted(l, p)
		at := parse.Target{Callout: t.Callout, At: p}
		if len(l.axes) > 0 && t.At == "" {
			at.At = parse.Place("")
			if len(l.axes) > 1 {
				a := l.axes[len(l.axes)-1]
				at.At = parse.At(parse.Index{Axis: a, Value: p.On(a)})
			}
		}
		text := say.Cap(fmt.Sprintf("%s: %s.", j.placeNamed(l, at.At, t.At), words))
		if !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	if len(out) == 0 {
		return ""
	}
	return strings.Join(out, " ")
}

// wanted says what a reading should be, as the manual puts it: "forty-eight newton
// metres, give or take four per cent".
func (j *Job) wanted(l *live, p parse.Place) string {
	text := j.limitWanted(l, p)
	if l.Corrected != nil {
		text += " at " + say.Quantity(l.Corrected.To, "Cel")
	}
	parts := []string{text}
	for _, a := range l.TakenAt {
		if a.Limits == nil {
			continue
		}
		parts = append(parts, a.said()+" "+limitWordsIn(a.Limits.bounds(p, j.options), a.Unit))
	}
	return strings.Join(parts, ", ")
}

func (j *Job) limitWanted(l *live, p parse.Place) string {
	if l.Limits == nil || l.Limits.Nominal == nil || l.Limits.Within == nil {
		return j.limitWords(l, l.limitsAt(p))
	}
	code := l.Unit
	if l.Limits.Percent {
		code = "%"
	}
	return fmt.Sprintf("%s, give or take %s", say.Quantity(exact(l.Limits.Nominal.at(p, j.options)), l.Unit), say.Quantity(exact(l.Limits.Within.at(p, j.options)), code))
}

// placeNamed names a callout with the coordinates that tell its limits apart.
func (j *Job) placeNamed(l *live, at, asked parse.Place) string {
	p := at
	if asked != "" {
		p = asked
	}
	if p == "" {
		return j.name(l.ID)
	}
	return j.name(l.ID) + ", " + j.placeOf(p)
}

func (j *Job) partCalledFor(l *live, t parse.Target) string {
	var parts []string
	for _, p := range l.places {
		if k := j.partKind(l, p); k != "" && within(p, t.At) {
			parts = append(parts, strings.TrimSpace(j.placeOf(p)+" "+k))
		}
	}
	switch {
	case len(parts) > 0:
		return say.Cap(j.name(l.ID)) + ": " + say.List(parts, "and") + "."
	case len(l.axes) == 0:
		return say.Cap(j.name(l.ID)) + ": any of them."
	}
	return say.Cap(j.name(l.ID)) + ": one at each place."
}

// sayRead says what stands at the targets; of several, what stands nowhere is named at the end.
func (j *Job) sayRead(targets []parse.Target) string {
	if len(targets) < 2 {
		return j.sayEach(targets, j.wasRead)
	}
	var stand []parse.Target
	var missing []string
	for _, t := range targets {
		l := j.byID[t.Callout]
		switch {
		case l == nil:
		case l.Derived != nil || slices.ContainsFunc(l.places, func(p parse.Place) bool { return within(p, t.At) && j.has(parse.Target{Callout: t.Callout, At: p}) }):
			stand = append(stand, t)
		case l.Owed && !slices.Contains(missing, j.name(t.Callout)):
			missing = append(missing, j.name(t.Callout))
		}
	}
	var out []string
	if len(stand) > 0 {
		out = append(out, j.sayEach(stand, j.wasRead))
	}
	if len(missing) > 0 {
		out = append(out, "Not yet: "+say.List(missing, "and")+".")
	}
	if len(out) == 0 {
		return "Nothing is recorded there."
	}
	return strings.Join(out, " ")
}

// wasRead says what stands at a target.
func (j *Job) wasRead(t parse.Target) string {
	l := j.byID[t.Callout]
	if l == nil {
		return ""
	}
	if l.Derived != nil {
		if y, ok := j.derive(l); ok {
			return say.Cap(fmt.Sprintf("%s, %s.", j.name(l.ID), say.Quantity(exact(y), l.Unit)))
		}
		return say.Cap(j.name(l.ID)) + " cannot be worked out yet."
	}
	var out []string
	for _, p := range l.places {
		at := parse.Target{Callout: t.Callout, At: p}
		if !within(p, t.At) {
			continue
		}
		if k := j.readings[at]; k != nil {
			out = append(out, say.Cap(fmt.Sprintf("%s, %s. %s.", j.where(at), say.Quantity(k.claim.Value, k.claim.Unit), say.Cap(string(k.verdict)))))
		} else if is := j.mark(at); is != "" {
			out = append(out, j.sayMark(Mark{Callout: at.Callout, At: at.At, Is: is}))
		}
	}
	if len(out) == 0 && l.Kind == parse.Reading {
		return say.Cap(j.name(t.Callout)) + ": nothing was read there."
	}
	if len(out) == 0 {
		return say.Cap(j.where(t)) + ": not yet."
	}
	return strings.Join(out, " ")
}

func (j *Job) sayLast() string {
	k := j.readings[j.last]
	if k == nil {
		return "Nothing was read yet."
	}
	return j.sayReading([]Reading{{Callout: j.last.Callout, At: j.last.At, Value: k.claim.Value, Unit: k.claim.Unit, Verdict: k.verdict, With: Taken(k.claim.With)}})
}

func (j *Job) sayLeft() string {
	left := j.Left()
	if len(left) == 0 {
		return "Nothing is left to do."
	}
	var names []string
	for _, o := range left {
		name := j.name(o.Callout)
		if len(names) == 0 || names[len(names)-1] != name {
			names = append(names, name)
		}
	}
	if more := len(names) - 5; more > 0 {
		names = append(names[:5], fmt.Sprintf("%s more", say.Int(int64(more))))
	}
	first := parse.Target{Callout: left[0].Callout, At: left[0].At}
	return fmt.Sprintf("%s left. Next: %s. Then %s.", say.Cap(say.Int(int64(len(left)))), j.where(first), say.List(names, "and"))
}

func (j *Job) sayOpen() string {
	open := j.Open()
	if len(open) == 0 {
		return "No finding is open."
	}
	var out []string
	for _, f := range open {
		if len(out) < 5 {
			out = append(out, sentence(f.Text))
		}
	}
	return fmt.Sprintf("%s open. %s", say.Cap(say.Int(int64(len(open)))), strings.Join(out, " "))
}

// sayNext says what comes next; on an axis, which of its places.
func (j *Job) sayNext(axis string) string {
	var next *parse.Target
	j.walk(func(t parse.Target) bool {
		if axis == "" || t.At.On(axis) != "" {
			next = &t
		}
		return next == nil
	})
	switch {
	case next != nil:
		return "Next: " + j.where(*next) + "."
	case axis != "":
		return "No " + axis + " is left to do."
	}
	return "Nothing is left to do."
}

// saysAll reports whether all of some words are among others, in singular or plural.
func saysAll(among, words []string) bool {
	return !slices.ContainsFunc(words, func(w string) bool {
		return !slices.ContainsFunc(among, func(a string) bool { return sameNoun(a, w) || sameNoun(w, a) })
	})
}
