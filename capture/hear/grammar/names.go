package grammar

import (
	"cmp"
	"slices"
	"strings"

	"readback/parse"
)

// Unsaid is the name of a person that cannot be spoken.
type Unsaid struct {
	Name string
	Why  string // as the end of a sentence: "it sounds like Joan Reed"
}

// Names parts people into those whose names can be heard and those whose cannot: where a word has no
// pronunciation, and where two sound the same but for one phone at most, however they are said. Of such two
// neither can be heard, or it would be taken for the other.
func Names(people []string, d *Dictionary) (said []string, unsaid []Unsaid) {
	sounds := make([][][]string, len(people))
	why := make([]string, len(people))
	for i, name := range people {
		if sounds[i], why[i] = d.ways(spell(name)); why[i] != "" {
			continue
		}
		for k := range i {
			if near(sounds[i], sounds[k]) {
				why[i], why[k] = cmp.Or(why[i], "it sounds like "+people[k]), cmp.Or(why[k], "it sounds like "+name)
			}
		}
	}
	for i, name := range people {
		if why[i] == "" {
			said = append(said, name)
			continue
		}
		unsaid = append(unsaid, Unsaid{name, why[i]})
	}
	return said, unsaid
}

// Named reports whether words that were heard are somebody's name, whatever its capitals and signs.
func Named(heard, name string) bool { return slices.Equal(spell(heard), spell(name)) }

// mostWays is in how many ways a name is said at most: one of five words with three pronunciations each has more.
const mostWays = 64

// ways returns the phones of the words in every way in which they are said, or why there is none.
func (d *Dictionary) ways(words []string) (ways [][]string, why string) {
	ways = [][]string{nil}
	for _, w := range words {
		sounds := d.Sounds(w)
		if sounds == nil {
			return nil, "no sound is known for “" + w + "”"
		}
		var longer [][]string
		for _, before := range ways {
			for _, s := range sounds {
				longer = append(longer, slices.Concat(before, strings.Fields(s)))
			}
		}
		ways = longer[:min(len(longer), mostWays)]
	}
	if len(words) == 0 {
		return nil, "it has no word that can be said"
	}
	return ways, ""
}

// near reports whether two names may be heard as each other.
func near(a, b [][]string) bool {
	return slices.ContainsFunc(a, func(x []string) bool {
		return slices.ContainsFunc(b, func(y []string) bool { return onePhone(x, y) })
	})
}

// onePhone reports whether two rows of phones are the same but for one that is another, or is missing.
func onePhone(x, y []string) bool {
	if len(x) > len(y) {
		x, y = y, x
	}
	if len(y) > len(x)+1 {
		return false
	}
	same := 0
	for same < len(x) && x[same] == y[same] {
		same++
	}
	if same == len(x) {
		return true
	}
	if len(x) == len(y) {
		return slices.Equal(x[same+1:], y[same+1:])
	}
	return slices.Equal(x[same:], y[same+1:])
}

// hand gives the bench to another person: "hand the bench to martin hale".
func (m *maker) hand() node {
	names := m.forms(Missing{}, m.options.People...)
	if len(names) == 0 {
		return node{}
	}
	return m.rules.add("hand", seq(m.list(parse.HandBench), m.rules.add("person", phrases(names))))
}

// dispose gives what is out its disposition: "use the part as is".
func (m *maker) dispose() node {
	if !m.options.Decide {
		return node{}
	}
	return m.rules.add("dispose", phrases(m.forms(Missing{}, dispositions()...)))
}

// dispositions is all that gives one.
func dispositions() (say []string) {
	for _, d := range parse.Disposes {
		say = append(say, d.Say...)
	}
	return say
}
