package rules

import (
	"fmt"
	"slices"
	"strings"

	"readback/rules/say"
)

// Changes says, callout by callout, what a newer revision of a spec calls for otherwise, for
// a job with the given options. Both must take the options; what only the newer one asks
// takes its default. Nil means that nothing differs for this job.
func Changes(old, newer *Spec, options map[string]string) []string {
	a, err := NewJob(old, options)
	if err != nil {
		return []string{"the options of the job: " + err.Error()}
	}
	b, err := NewJob(newer, optionsFor(newer, options))
	if err != nil {
		return []string{"the options of the job: " + err.Error()}
	}
	var out []string
	for _, l := range a.list {
		m := b.byID[l.ID]
		if m == nil {
			out = append(out, a.name(l.ID)+": no longer called for")
			continue
		}
		out = append(out, changed(a, b, l, m)...)
	}
	for _, m := range b.list {
		if a.byID[m.ID] == nil {
			out = append(out, b.name(m.ID)+": called for as well")
		}
	}
	return append(out, cautionsAdded(old, newer)...)
}

// optionsFor drops options that the newer spec does not have.
func optionsFor(s *Spec, options map[string]string) map[string]string {
	out := map[string]string{}
	for _, o := range s.Options {
		if v, ok := options[o.Name]; ok && o.takes(v) {
			out[o.Name] = v
		}
	}
	return out
}

// changed compares one callout.
func changed(a, b *Job, l, m *live) (out []string) {
	name := a.name(l.ID)
	add := func(format string, args ...any) { out = append(out, name+": "+fmt.Sprintf(format, args...)) }
	if l.Unit != m.Unit {
		add("in %s instead of %s", say.Unit(m.Unit, true), say.Unit(l.Unit, true))
	}
	if len(l.places) != len(m.places) {
		add("at %d places instead of %d", len(m.places), len(l.places))
	}
	var texts []string
	where := map[string][]string{} // the places, by what changed there
	for _, p := range l.places {
		was, is := a.wantedShown(l, p), b.wantedShown(m, p)
		if was == is || !m.known[p] {
			continue
		}
		text := fmt.Sprintf("%s instead of %s", orNone(is), orNone(was))
		if where[text] == nil {
			texts = append(texts, text)
		}
		where[text] = append(where[text], a.placeOf(p))
	}
	for _, text := range texts {
		if len(where[text]) < len(l.places) {
			text = strings.Join(where[text], "; ") + ": " + text
		}
		add("%s", text)
	}
	if l.Source != m.Source && m.Source != "" {
		add("stands in %s now", m.Source)
	}
	return out
}

func orNone(limits string) string {
	if limits == "" {
		return "no limit"
	}
	return limits
}

func cautionsAdded(old, newer *Spec) (out []string) {
	for _, c := range newer.Cautions {
		if !slices.Contains(old.Cautions, c) {
			out = append(out, "caution before "+strings.ReplaceAll(c.Before, "_", " ")+": "+c.Text)
		}
	}
	return out
}
