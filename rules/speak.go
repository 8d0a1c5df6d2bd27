package rules

import (
	"fmt"
	"slices"
	"strings"

	"readback/parse"
	"readback/rules/say"
)

// say makes the sentence that is spoken in answer to a note: what was understood with
// its verdict, then what is wrong with it.
func (j *Job) say(u parse.Utterance, a *Answer, withdrawn []parse.Target) string {
	var out []string
	if u.Question != nil {
		return j.reply(u.Question)
	}
	for _, t := range withdrawn {
		out = append(out, "Taken back: "+j.where(t)+".")
	}
	if len(u.Untold) > 0 {
		out = append(out, "Taken back: "+conditions(u.Untold)+".")
		if len(u.Symptoms) > 0 {
			out = append(out, "Noted: "+conditions(u.Symptoms)+".")
		}
	}
	if u.Dropped {
		out = append(out, "Forgotten.")
	}
	out = append(out, j.sayReadings(a)...)
	out = append(out, j.sayDerived(a)...)
	out = append(out, j.sayMarks(a.Marks)...)
	for i := range a.Findings {
		if text := a.Findings[i].Spoken(); a.Findings[i].Rule != RuleMissing && !isSaid(out, text) {
			out = append(out, sentence(text))
		}
	}
	out = append(out, j.sayMissing(a, out)...)
	if len(out) == 0 {
		return j.sayOther(u)
	}
	return strings.Join(out, " ")
}

func isSaid(out []string, text string) bool {
	for _, s := range out {
		if strings.Contains(s, text) {
			return true
		}
	}
	return false
}

// end returns the mark that closes a sentence.
func end(text string) string {
	if strings.HasSuffix(text, "?") {
		return ""
	}
	return "."
}

// sayReadings speaks the readings that were recorded; several with one value and
// verdict are spoken together.
func (j *Job) sayReadings(a *Answer) (out []string) {
	for i := 0; i < len(a.Readings); {
		r := a.Readings[i]
		n := i + 1
		for n < len(a.Readings) && alike(a.Readings[n], r) {
			n++
		}
		if r.Verdict != Unclear {
			out = append(out, j.sayReading(a.Readings[i:n]))
		}
		i = n
	}
	return out
}

// sayDerived speaks what can be computed from the readings of the note and is not out; what
// is out speaks for itself.
func (j *Job) sayDerived(a *Answer) (out []string) {
	for _, l := range j.list {
		if l.Derived == nil || l.Limits == nil || !slices.ContainsFunc(l.Derived.Names(), func(name string) bool {
			return slices.ContainsFunc(a.Heard.Recorded, func(c parse.Claim) bool { return c.Callout == name })
		}) {
			continue
		}
		if r := j.readingAt(l, parse.Target{Callout: l.ID}); r != nil && r.Verdict != Out {
			out = append(out, j.sayReading([]Reading{*r}))
		}
	}
	return out
}

func alike(a, b Reading) bool {
	if a.Callout != b.Callout || a.Value != b.Value || a.Unit != b.Unit || a.Verdict != b.Verdict {
		return false
	}
	x, y := a.At.Indexes(), b.At.Indexes()
	for i := 1; i < len(x) && i < len(y); i++ {
		if x[i] != y[i] {
			return false
		}
	}
	return len(x) > 0
}

func (j *Job) sayReading(rs []Reading) string {
	r := rs[0]
	where := j.where(parse.Target{Callout: r.Callout, At: r.At})
	if len(rs) > 1 {
		var words []string
		for _, o := range rs {
			words = append(words, j.index(o.At.Indexes()[0]))
		}
		rest := parse.At(r.At.Indexes()[1:]...)
		where = j.many(r.Callout) + " " + say.List(words, "and")
		if rest != "" {
			where += ", " + j.placeOf(rest)
		}
	}
	parts := []string{where + ", " + say.Quantity(r.Value, r.Unit)}
	for _, w := range r.With {
		parts = append(parts, taken(w.Unit)+" "+say.Quantity(w.Value, w.Unit))
	}
	text := say.Cap(strings.Join(parts, " ")) + ". " + say.Cap(string(r.Verdict))
	if r.Verdict == Close {
		text += ": inside with " + r.conforms + " likelihood"
	}
	return text + "."
}

// taken returns the word before what a reading was taken at: at a voltage, for a time.
func taken(code string) string {
	if sameQuantity(code, "s") {
		return "for"
	}
	return "at"
}

// many returns the plural of a callout's name.
func (j *Job) many(callout string) string {
	if l := j.byID[callout]; l != nil && l.Many != "" {
		return l.Many
	}
	return j.name(callout)
}

// sayMarks speaks marks; several of one kind at places of one axis are spoken together.
func (j *Job) sayMarks(marks []Mark) (out []string) {
	for i := 0; i < len(marks); {
		m := marks[i]
		n := i + 1
		for n < len(marks) && marks[n].Callout == m.Callout && marks[n].Is == m.Is && len(m.At.Indexes()) == 1 {
			n++
		}
		if l := j.byID[m.Callout]; n == i+1 && (l == nil || l.Kind != parse.Event || m.At == "") {
			out = append(out, j.sayMark(m))
		} else {
			out = append(out, j.sayMarked(marks[i:n]))
		}
		i = n
	}
	return out
}

func (j *Job) sayMark(m Mark) string {
	where := j.where(parse.Target{Callout: m.Callout, At: m.At})
	if l := j.byID[m.Callout]; l != nil && l.Kind == parse.Detail {
		return say.Cap(where) + ", " + m.Is + "."
	}
	switch m.Is {
	case done:
		return say.Cap(where) + "."
	case undone:
		return say.Cap(where) + ": " + j.denied(m.Callout)
	}
	return say.Cap(fmt.Sprintf("%s, %s.", where, m.Is))
}

// sayMarked speaks what holds at several places, or an event at one: "Impeller, full:
// stage one, two and three."
func (j *Job) sayMarked(marks []Mark) string {
	m := marks[0]
	var words []string
	for _, o := range marks {
		words = append(words, j.index(o.At.Indexes()[0]))
	}
	where := m.At.Indexes()[0].Axis + " " + say.List(words, "and")
	switch m.Is {
	case done:
		return say.Cap(fmt.Sprintf("%s: %s.", j.name(m.Callout), where))
	case undone:
		return say.Cap(fmt.Sprintf("%s, %s: %s", j.name(m.Callout), where, j.denied(m.Callout)))
	}
	return say.Cap(fmt.Sprintf("%s, %s: %s.", j.name(m.Callout), m.Is, where))
}

// denied says that a mark does not hold: what happened once no longer does.
func (j *Job) denied(callout string) string {
	if l := j.byID[callout]; l != nil && l.Kind == parse.Event {
		return "no longer."
	}
	return "not done."
}

// conditions speaks what was found: "thrust washer scored and shaft not bent".
func conditions(found []parse.Condition) string {
	var parts []string
	for _, s := range found {
		text := strings.TrimSpace(s.Part + " " + s.Condition)
		if s.Absent {
			text = strings.TrimSpace(s.Part + " not " + s.Condition)
		}
		parts = append(parts, text)
	}
	return say.List(parts, "and")
}

// sayOther answers notes that hold no reading and no mark.
func (j *Job) sayOther(u parse.Utterance) string {
	switch {
	case u.Over:
		return "Noted: the next person takes over."
	case u.Instrument != "":
		return say.Cap(u.Instrument) + "."
	case len(u.Symptoms) > 0:
		return "Noted: " + conditions(u.Symptoms) + "."
	case u.Kind == parse.Correction:
		return "Nothing is taken back: say what, with its name and place."
	}
	return "Noted."
}
