package rules

import (
	"strconv"
	"strings"

	"readback/parse"
	"readback/rules/say"
)

// name returns a callout in words, or its id where the spec does not know it.
func (j *Job) name(callout string) string {
	if l := j.byID[callout]; l != nil && len(l.Say) > 0 {
		return l.Say[0]
	}
	return strings.ReplaceAll(callout, "_", " ")
}

// where returns a callout at a place in words: "collar nut three", "tie rod two, pass
// one", "winding resistance u v", "stage one impeller". The first axis of a reading
// follows its name, further ones their own name.
func (j *Job) where(t parse.Target) string {
	text := j.name(t.Callout)
	l := j.byID[t.Callout]
	if l != nil && l.Kind != parse.Reading && t.At != "" {
		return j.placeOf(t.At) + " " + text
	}
	for i, x := range t.At.Indexes() {
		word := j.index(x)
		if i == 0 && l != nil && len(l.axes) > 0 && l.axes[0] == x.Axis && l.Kind == parse.Reading {
			text += " " + word
			continue
		}
		text += ", " + x.Axis + " " + word
	}
	return text
}

// places returns only the place in words: "stage three", "rod two, pass one".
func (j *Job) placeOf(p parse.Place) string {
	var parts []string
	for _, x := range p.Indexes() {
		parts = append(parts, x.Axis+" "+j.index(x))
	}
	return strings.Join(parts, ", ")
}

// index returns one coordinate as spoken.
func (j *Job) index(x parse.Index) string {
	if n, err := strconv.ParseInt(x.Value, 10, 32); err == nil {
		return say.Int(n)
	}
	for _, a := range j.spec.Axes {
		if a.ID != x.Axis {
			continue
		}
		for _, v := range a.Values {
			if v.Value == x.Value && len(v.Say) > 0 {
				return v.Say[0]
			}
		}
	}
	return x.Value
}

// finding makes a finding about a target.
func finding(rule string, t parse.Target, s Severity, text string) Finding {
	return Finding{Rule: rule, Callout: t.Callout, At: t.At, Severity: s, Text: say.Cap(text)}
}
