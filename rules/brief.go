package rules

import (
	"slices"
	"strings"

	"readback/parse"
)

// sayBrief tells who takes a job up again how it stands: what was recorded last, what
// comes next, how much is left and what is open.
func (j *Job) sayBrief() string {
	out := []string{j.sayLatest()}
	if t, ok := j.Next(); ok {
		out = append(out, "Next: "+j.wantedNext(t)+".")
	}
	return strings.Join(append(out, j.sayState(nil)...), " ")
}

// sayLatest says what was recorded last of what stands, with its verdict.
func (j *Job) sayLatest() string {
	for _, t := range slices.Backward(j.made) {
		if k := j.readings[t]; k != nil {
			return "Last: " + j.sayReading([]Reading{j.shown(j.byID[t.Callout], k)})
		}
		if is := j.mark(t); is != "" {
			return "Last: " + j.sayMark(Mark{Callout: t.Callout, At: t.At, Is: is})
		}
	}
	return "Nothing is recorded yet."
}

// wantedNext names a target and what it should be, in words.
func (j *Job) wantedNext(t parse.Target) string {
	text, l := j.where(t), j.byID[t.Callout]
	switch b := l.limitsAt(t.At); {
	case !b.none():
		text += ", " + j.wanted(l, t.At)
	case j.partKind(l, t.At) != "":
		text += ", " + j.partKind(l, t.At)
	}
	return text
}
