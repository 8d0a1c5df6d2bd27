package parse

import "slices"

// handings are the words that say that another person takes over in mid-work. What follows
// them is a name.
var handings = formsOf("handing over to|handing over now to|handing it over to|handing this over to|handing this one over to|handing the job over to|" +
	"i'm handing over to|i am handing over to|i'm handing it over to|i'm handing this over to|i'm handing the job over to|we're handing over to")

// handsOn reports whether the note says that another person takes over, and nothing more.
// A number, a place or anything that the spec calls for makes it an ordinary note: then it
// is not only a name that follows. A name may sound nearly like a callout's.
func (s *scan) handsOn() bool {
	toks := aside(s.toks)
	i := slices.IndexFunc(handings, func(f []string) bool { return len(toks) > len(f) && opens(toks, f) })
	if i < 0 {
		return false
	}
	person := toks[len(handings[i])].Start
	return !slices.ContainsFunc(s.items, func(it item) bool {
		near := it.guess && s.toks[it.from].Start <= person
		return it.kind == isNumber || it.kind == isName && !near || it.kind == isIndex && !it.bare
	})
}
