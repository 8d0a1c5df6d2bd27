package rules

import (
	"fmt"
	"slices"

	"readback/parse"
)

// StackOrder speaks when a part is of the wrong kind for its place in the stack: cut
// impellers belong in the last stages. It is closed by the right part at that place.
type StackOrder struct {
	Part string // callout
	Axis string // along which the stack runs
	Is   string // the kind that belongs at the end: "cut"
	Else string // the kind that belongs before: "full"
	Last Count  // how many places at the end
}

// Reads returns the part.
func (s *StackOrder) Reads() []string { return []string{s.Part} }

// Check compares each part with what belongs there.
func (s *StackOrder) Check(j *Job) (out []Finding) {
	l := j.byID[s.Part]
	if l == nil {
		return nil
	}
	values := l.valuesOn(s.Axis)
	last := s.Last.of(j.options)
	for _, p := range l.places {
		t := parse.Target{Callout: s.Part, At: p}
		is := j.mark(t)
		if is == "" {
			continue
		}
		want := s.Else
		if slices.Index(values, p.On(s.Axis)) >= len(values)-last {
			want = s.Is
		}
		if is != want && (is == s.Is || is == s.Else) {
			out = append(out, finding(RuleStackOrder, t, Stop, fmt.Sprintf("Stop: %s, %s: %s %s one belongs here, not %s %s one", j.name(s.Part), j.placeOf(p), article(want), want, article(is), is)))
		}
	}
	return out
}

func article(word string) string {
	switch word[0] {
	case 'a', 'e', 'i', 'o', 'u':
		return "an"
	}
	return "a"
}

// Kind returns what belongs at a place.
func (s *StackOrder) kindAt(l *live, p parse.Place, options map[string]string) string {
	values := l.valuesOn(s.Axis)
	if slices.Index(values, p.On(s.Axis)) >= len(values)-s.Last.of(options) {
		return s.Is
	}
	return s.Else
}
