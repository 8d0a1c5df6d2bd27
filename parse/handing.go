package parse

import (
	"slices"

	"readback/parse/token"
)

// handings are the words that say that another person takes over in mid-work. What follows
// them is a name.
var handings = formsOf("handing over to|handing over now to|handing it over to|handing this over to|handing this one over to|handing the job over to|" +
	"i'm handing over to|i am handing over to|i'm handing it over to|i'm handing this over to|i'm handing the job over to|we're handing over to")

// ofHanding reports whether the words are of those that say that another takes over.
func (s *scan) ofHanding() bool {
	return slices.ContainsFunc(handings, func(f []string) bool {
		for i := range len(f) - len(s.toks) + 1 {
			if opens(s.toks, f[i:i+len(s.toks)]) {
				return true
			}
		}
		return false
	})
}

// handsOn reports whether the note says that another person takes over, and nothing more. What
// follows is a name, whatever words it is made of, where it is short and no stop is in it; behind a
// longer one, or where a symptom is told, it is an ordinary note.
func (s *scan) handsOn() bool {
	toks := aside(s.toks)
	i := slices.IndexFunc(handings, func(f []string) bool { return len(toks) > len(f) && opens(toks, f) })
	if i < 0 {
		return false
	}
	name := toks[len(handings[i]):]
	return len(name) <= 4 && !slices.ContainsFunc(name, func(t token.Token) bool {
		return t.Kind == token.Sign && t.Text != "-" && t.Text != "'" && t.Text != "."
	}) && !s.has(isWrong)
}
