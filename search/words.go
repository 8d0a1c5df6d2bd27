package search

import (
	"slices"
	"strings"

	"github.com/blevesearch/bleve/v2/analysis"

	"readback/parse/lexicon"
	"readback/parse/symptom"
)

// Words are the synonyms that a search goes by. They are applied to the query and not to the
// index: so a shop's own words work at once on ten years of notes without building the index
// again, quoted phrases and the snippets stay what was said, and the index stays small. The price
// is a query of many terms, which the engine answers from its postings alone.
type Words struct {
	groups []symptom.Group
	narrow map[string][]int // of a group's id: the groups that are like it
	forms  map[string][]int // stems of a form, parted by spaces, to the groups that it is in
	firsts map[string]int   // the first stem of a form to the most words that a form with it has
	single []string         // forms of one word, for typing errors
	stem   func(string) []string
}

// newWords makes the groups ready to be looked up by stems.
func newWords(groups []symptom.Group, stem func(string) []string) *Words {
	w := &Words{groups: groups, narrow: map[string][]int{}, forms: map[string][]int{}, firsts: map[string]int{}, stem: stem}
	for i, g := range groups {
		for _, wide := range g.Like {
			w.narrow[wide] = append(w.narrow[wide], i)
		}
		for _, form := range g.Say {
			stems := stem(form)
			if len(stems) == 0 {
				continue
			}
			key := strings.Join(stems, " ")
			if !slices.Contains(w.forms[key], i) {
				w.forms[key] = append(w.forms[key], i)
			}
			w.firsts[stems[0]] = max(w.firsts[stems[0]], len(stems))
			if !strings.Contains(form, " ") && !slices.Contains(w.single, form) {
				w.single = append(w.single, form)
			}
		}
	}
	slices.Sort(w.single)
	return w
}

// longest returns how many of the stems make the longest form that is known, and its groups.
func (w *Words) longest(stems []string) (n int, groups []int) {
	if len(stems) == 0 {
		return 0, nil
	}
	for n := min(w.firsts[stems[0]], len(stems)); n > 0; n-- {
		if g := w.forms[strings.Join(stems[:n], " ")]; g != nil {
			return n, g
		}
	}
	return 0, nil
}

// exact keeps the groups that hold the form as it is, if any does: "vibration" is in one, and
// "vibrating", which has the same stem, in another as well.
func (w *Words) exact(form string, groups []int) []int {
	var kept []int
	for _, i := range groups {
		if slices.Contains(w.groups[i].Say, form) {
			kept = append(kept, i)
		}
	}
	if len(kept) > 0 {
		return kept
	}
	return groups
}

// say lists every form of the groups and of those that are like them.
func (w *Words) say(groups []int) (forms []string) {
	seen := map[int]bool{}
	for queue := slices.Clone(groups); len(queue) > 0; queue = queue[1:] {
		if i := queue[0]; !seen[i] {
			seen[i] = true
			forms = append(forms, w.groups[i].Say...)
			queue = append(queue, w.narrow[w.groups[i].ID]...)
		}
	}
	slices.Sort(forms)
	return slices.Compact(forms)
}

// condition reports whether one of the groups says what is wrong: of those a denial is no match.
func (w *Words) condition(groups []int) bool {
	return slices.ContainsFunc(groups, func(i int) bool { return w.groups[i].Sort == symptom.IsCondition })
}

// slips is how many letters of a word may be wrong: none of a short one, where another word is
// never far.
func slips(word string) int {
	switch n := len([]rune(word)); {
	case n < 5:
		return 0
	case n < 8:
		return 1
	default:
		return 2
	}
}

// near returns the known word that this one misspells, or "".
func (w *Words) near(word string) string {
	best, fewest := "", slips(word)+1
	for _, known := range w.single {
		if known[0] != word[0] || len(known) < 4 {
			continue
		}
		if n := slip(word, known, fewest-1); n < fewest {
			best, fewest = known, n
		}
	}
	return best
}

// slip counts the letters that are wrong; two that changed places count once.
func slip(a, b string, limit int) int {
	if limit < 1 {
		return limit + 1
	}
	if len(a) == len(b) {
		for i := range len(a) - 1 {
			if a[:i] == b[:i] && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:] {
				return 1
			}
		}
	}
	return lexicon.Slip(a, b, limit)
}

// terms returns the terms of a token stream.
func terms(tokens analysis.TokenStream) []string {
	out := make([]string, len(tokens))
	for i, t := range tokens {
		out[i] = string(t.Term)
	}
	return out
}
