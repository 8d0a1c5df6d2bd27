package rules

import (
	"fmt"
	"slices"
	"strings"

	"readback/parse"
	"readback/rules/say"
)

// few is how many things a spoken sum names before it counts the rest.
const few = 3

// HandedOver reports whether the job was handed over and the hand-over stands.
func (j *Job) HandedOver() bool {
	return slices.ContainsFunc(j.spec.Rules, func(r Rule) bool {
		m, ok := r.(*Missing)
		return ok && j.has(parse.Target{Callout: m.When})
	})
}

// handsOver reports whether the note said that the job is handed over.
func (j *Job) handsOver(a *Answer) bool {
	return slices.ContainsFunc(a.Marks, func(m Mark) bool { return m.Is != undone && j.endsWith(m.Callout) })
}

// sayMissing speaks the findings of what is left at hand-over as one sum: nobody listens
// to thirty of them. The answer lists each. When the hand-over is said, the sum is of all
// that is left and of what else is open; a later note speaks one finding as it is, several
// by their number.
func (j *Job) sayMissing(a *Answer, said []string) []string {
	if j.handsOver(a) {
		return j.sayState(said)
	}
	var missing []*Finding
	for i := range a.Findings {
		if a.Findings[i].Rule == RuleMissing {
			missing = append(missing, &a.Findings[i])
		}
	}
	if len(missing) < 2 {
		var out []string
		for _, f := range missing {
			out = append(out, sentence(f.Spoken()))
		}
		return out
	}
	var due []Owed
	for _, o := range j.due() {
		if slices.ContainsFunc(missing, func(f *Finding) bool { return f.Callout == o.Callout }) {
			due = append(due, o)
		}
	}
	return j.sayThings(due)
}

// sayState says what is left and which other findings are open.
func (j *Job) sayState(said []string) []string {
	due, others := j.due(), j.others()
	one := "finding"
	if len(due) > 0 && j.HandedOver() {
		one = "other finding" // what is left are findings then
	}
	switch {
	case len(due)+len(others) == 0:
		return []string{"Nothing is left, no finding is open."}
	case len(others) == 0:
		return append(j.sayThings(due), "No "+one+" is open.")
	}
	return append(j.sayThings(due), j.sayOthers(others, one, said))
}

// due lists what is left but for the hand-over itself.
func (j *Job) due() []Owed {
	return slices.DeleteFunc(j.Left(), func(o Owed) bool { return j.endsWith(o.Callout) })
}

// sayThings says how many things are left, and names the first few in the order of the
// work: "Nineteen things are left to do: five collar nuts, cover on, twelve tie rods and
// one more."
func (j *Job) sayThings(due []Owed) []string {
	if len(due) == 0 {
		return []string{"Nothing is left to do."}
	}
	var order []string
	at := map[string][]parse.Place{}
	for _, o := range due {
		if at[o.Callout] == nil {
			order = append(order, o.Callout)
		}
		at[o.Callout] = append(at[o.Callout], o.At)
	}
	var names []string
	named := 0
	for _, id := range order[:min(len(order), few)] {
		names = append(names, j.countOf(id, at[id]))
		named += len(at[id])
	}
	if more := len(due) - named; more > 0 {
		names = append(names, say.Int(int64(more))+" more")
	}
	return []string{fmt.Sprintf("%s left to do: %s.", things(len(due), "thing"), say.List(names, "and"))}
}

// things counts in words, with the verb: "One thing is", "Thirty-one things are".
func things(n int, one string) string {
	if n == 1 {
		return "One " + one + " is"
	}
	return say.Cap(say.Int(int64(n))) + " " + one + "s are"
}

// countOf names places of a callout: one in full, several by their number.
func (j *Job) countOf(id string, at []parse.Place) string {
	if len(at) == 1 {
		return j.where(parse.Target{Callout: id, At: at[0]})
	}
	n := say.Int(int64(len(at)))
	if l := j.byID[id]; l != nil && l.Many != "" {
		return n + " " + l.Many
	}
	return j.name(id) + " at " + n + " places"
}

// sayOthers says how many findings are open, and names the worst two that were not said
// before.
func (j *Job) sayOthers(others []Finding, one string, said []string) string {
	var texts []string
	for _, f := range others[:min(len(others), 2)] {
		if !isSaid(said, f.Spoken()) {
			texts = append(texts, sentence(j.alone(f)))
		}
	}
	head := things(len(others), one) + " open"
	if len(texts) == 0 {
		return head + "."
	}
	return head + ": " + strings.Join(texts, " ")
}

// alone speaks a finding apart from its reading: one of limits then says whose they are.
func (j *Job) alone(f Finding) string {
	t := parse.Target{Callout: f.Callout, At: f.At}
	k := j.readings[t]
	if f.Rule != RuleLimit || f.of != "" || k == nil {
		return f.Spoken()
	}
	return say.Cap(fmt.Sprintf("%s, %s, out. %s", j.where(t), say.Quantity(k.claim.Value, k.claim.Unit), f.Spoken()))
}

// others lists the open findings but for those of what is left, the worst first.
func (j *Job) others() []Finding {
	others := slices.DeleteFunc(j.Open(), func(f Finding) bool { return f.Rule == RuleMissing })
	slices.SortStableFunc(others, func(a, b Finding) int { return WorstFirst(a.Severity, b.Severity) })
	return others
}

// sentence closes a text as a sentence.
func sentence(text string) string { return strings.TrimRight(text, ".") + end(text) }
