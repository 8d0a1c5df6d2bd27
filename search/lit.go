package search

import (
	"math"
	"math/bits"
	"slices"
	"strings"
	"unicode/utf8"
)

// How much a group counts by how a note holds it.
const (
	asTyped   = 1.0
	asMeant   = 0.75 // by a word that means the same
	asSymptom = 0.95 // by one that was understood as the symptom when it was said
	asKnown   = 0.7  // by what was understood, or by whose note it is
	perWord   = 0.01 // less for each word of a long note
	bySymptom = 0.1  // more for a note that says what is wrong
)

// matcher finds the groups of a search in the text of a note, as the index has found them.
type matcher struct {
	*Index
	groups  []group
	weights []float64 // of each group: a rare one counts more
}

func (s *searching) matcher() *matcher {
	m := &matcher{Index: s.Index, groups: s.must, weights: make([]float64, len(s.must))}
	total := 1.0
	for _, n := range s.counts {
		total = max(total, float64(n))
	}
	for i := range m.weights {
		m.weights[i] = 1
		if s.counts != nil {
			m.weights[i] = 1 + math.Log(total/max(1, float64(s.counts[i])))/2
		}
	}
	return m
}

// token is a word of a note, as both analyzers have it.
type token struct {
	stem, plain string
	span
	denied bool
}

// light finds what of the note's text was looked for, and gives the note its score.
func (m *matcher) light(h *Hit) {
	tokens := m.tokens(h.Text)
	var spans []span
	h.score = -perWord * float64(min(len(tokens), 60))
	if h.Kind == "symptom" {
		h.score += bySymptom
	}
	for i, g := range m.groups {
		found, how := m.find(g, tokens)
		if len(found) > 0 {
			h.covered |= 1 << i
		}
		if how < asSymptom && slices.ContainsFunc(g.ids, func(id string) bool { return slices.Contains(h.conditions, id) }) {
			h.covered |= 1 << i
			how = asSymptom
		}
		if h.covered&(1<<i) != 0 {
			h.score += m.weights[i] * how
		}
		spans = append(spans, found...)
	}
	if n := len(m.groups); n > 0 { // what stands together belongs together
		h.score *= 0.5 + 0.5*float64(bits.OnesCount64(h.covered))/float64(n)
	}
	h.Lit = inUTF16(h.Text, join(spans))
}

// tokens takes a text apart. Both analyzers part it alike and drop nothing.
func (m *matcher) tokens(text string) []token {
	stems, err1 := m.mapping.AnalyzeText(stemmed, []byte(text))
	words, err2 := m.mapping.AnalyzeText(plain, []byte(text))
	if err1 != nil || err2 != nil || len(stems) != len(words) {
		return nil
	}
	denied := append(deniedSpans(text), asideSpans(split(text))...)
	out := make([]token, len(words))
	for i, w := range words {
		out[i] = token{stem: string(stems[i].Term), plain: string(w.Term), span: span{w.Start, w.End}}
		out[i].denied = slices.ContainsFunc(denied, func(d span) bool { return d.from <= w.Start && w.Start < d.to })
	}
	return out
}

// find returns where a group stands, and how much that counts.
func (m *matcher) find(g group, tokens []token) (spans []span, how float64) {
	run := func(words []string, of func(token) string) {
		for i := 0; i+len(words) <= len(tokens) && len(words) > 0; i++ {
			if slices.EqualFunc(tokens[i:i+len(words)], words, func(t token, w string) bool { return of(t) == w }) {
				spans = append(spans, span{tokens[i].from, tokens[i+len(words)-1].to})
			}
		}
	}
	plainOf := func(t token) string { return t.plain }
	if g.kind == isPhrase {
		run(g.plain, plainOf)
		return spans, asTyped
	}
	for _, t := range tokens {
		if t.denied != (g.kind == isDenied) && (g.wrong || g.kind == isDenied) {
			continue
		}
		if slices.Contains(g.stems, t.stem) {
			spans = append(spans, t.span)
		}
	}
	if len(spans) > 0 && (len(g.stems) == 1 || len(spans) >= len(g.stems)) {
		return spans, asTyped
	}
	spans = nil
	for _, t := range tokens {
		if (!t.denied || !g.wrong) && slices.Contains(g.same, t.stem) {
			spans = append(spans, t.span)
		}
	}
	for _, words := range g.longer {
		run(words, plainOf)
	}
	if len(spans) > 0 {
		return spans, asMeant
	}
	return nil, asKnown
}

// join sorts spans and makes one of those that overlap or touch.
func join(spans []span) (out []span) {
	slices.SortFunc(spans, func(a, b span) int { return a.from - b.from })
	for _, s := range spans {
		if n := len(out); n > 0 && s.from <= out[n-1].to {
			out[n-1].to = max(out[n-1].to, s.to)
			continue
		}
		out = append(out, s)
	}
	return out
}

// inUTF16 counts spans of bytes in UTF-16 units.
func inUTF16(text string, spans []span) (out []Lit) {
	at, units := 0, 0
	count := func(to int) int {
		for at < to {
			r, n := utf8.DecodeRuneInString(text[at:])
			if units++; r > 0xffff {
				units++
			}
			at += n
		}
		return units
	}
	for _, s := range spans {
		from := count(s.from)
		out = append(out, Lit{from, count(s.to)})
	}
	return out
}

// Marked returns the text of a hit with what was looked for between before and after.
func (h *Hit) Marked(before, after string) string {
	var b strings.Builder
	units, next, open := 0, 0, false
	for _, r := range h.Text {
		if open && units >= h.Lit[next].To {
			b.WriteString(after)
			open = false
			next++
		}
		if !open && next < len(h.Lit) && units >= h.Lit[next].From {
			b.WriteString(before)
			open = true
		}
		b.WriteRune(r)
		if units++; r > 0xffff {
			units++
		}
	}
	if open {
		b.WriteString(after)
	}
	return b.String()
}
