package judge

import (
	"math"
	"slices"
	"strings"

	"readback/capture/hear"
)

var (
	digits  = []string{"one", "two", "three", "four", "five", "six", "seven", "eight", "nine"}
	noughts = []string{"oh", "zero", "nought"}
	teens   = []string{"ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"}
	tens    = []string{"twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"}
)

// onRadio are digits as they are said there, and otherwise.
var onRadio = map[string]string{"niner": "nine", "fife": "five"}

// rival is what a note might have been instead: another number word in one place, one more, or one
// less.
type rival struct {
	text  string // the note with it
	heard string // the word that was heard, and
	word  string // the other: both "" where there is one more or less
	twin  bool
}

// rivalsOf lists the rivals of a note, none where there is no number in it. A ten before a digit can
// only have been another ten; one alone might have been a teen, or a digit. A digit might have been any
// other, have swallowed one beside it, or be there for nothing.
func rivalsOf(words []string) (all []rival) {
	for i, w := range words {
		if plain, ok := onRadio[w]; ok {
			w = plain
		}
		before, after := "", ""
		if i > 0 {
			before = words[i-1]
		}
		if i+1 < len(words) {
			after = words[i+1]
		}
		for _, o := range othersOf(w, before, after) {
			all = append(all, rival{with(words, i, o), w, o, before != "point" && twins(w, o)})
		}
		if slices.Contains(noughts, w) && before == "point" {
			all = append(all, rival{text: with(words, i, "")})
		}
		if !slices.Contains(digits, w) {
			continue
		}
		if before == "point" {
			all = append(all, rival{text: with(words, i, "zero "+w)})
		}
		for _, o := range digits {
			all = append(all, rival{text: with(words, i, w+" "+o)})
			if before == "point" && o != w {
				all = append(all, rival{text: with(words, i, o+" "+w)})
			}
		}
		if Number(before) || Number(after) {
			all = append(all, rival{text: with(words, i, "")})
		}
	}
	return all
}

// Sentences lists what the sound of a note is held against, so that an engine can do so ahead: the note
// itself, and all its rivals, of which the one counts that stands furthest under its bar, or least over it. Where there is
// no number in it nothing is. level and noise are as of [hear.Heard].
func (p *Policy) Sentences(text string, level, noise float64) []string {
	return p.bars(&hear.Heard{Level: level, Noise: noise}).sentences(text, rivalsOf(strings.Fields(text)))
}

func (b Bars) sentences(text string, all []rival) []string {
	if len(all) == 0 {
		return nil
	}
	top := max(b.Twin, b.Rival)
	others := make([]string, 0, len(all))
	for _, r := range all {
		others = append(others, hear.Handicap(r.text, int(math.Round(top-b.of(r)))))
	}
	return []string{text, hear.OneOf(others...)}
}

// of is the bar for a rival.
func (b Bars) of(r rival) float64 {
	if r.twin {
		return b.Twin
	}
	return b.Rival
}

// mostRivals is how many rivals a note has at most; one with more is asked about. That of one reading has sixty to a hundred.
const mostRivals = 480

// Number reports whether a word is one of a number.
func Number(w string) bool {
	_, radio := onRadio[w]
	return radio || slices.Contains(slices.Concat(digits, noughts, teens, tens), w)
}

// mends reports whether a note puts a number of its own right: "twenty nine degrees, no, ninety one".
func mends(text string) bool {
	words := strings.Fields(text)
	first := slices.IndexFunc(words, Number)
	if first < 0 {
		return false
	}
	for i := first + 1; i+1 < len(words); i++ {
		mend := slices.Contains([]string{"no", "correction", "sorry"}, words[i]) || words[i-1] == "make" && (words[i] == "that" || words[i] == "it")
		if after := words[i+1]; mend && (Number(after) || slices.Contains([]string{"point", "a", "double", "minus"}, after)) {
			return true
		}
	}
	return false
}

// stems are the numbers that begin with the same sound. They differ in their ends, which a bang covers: a
// "seven" with a blow behind it fits as "seventy".
var stems = [][]string{
	{"thirteen", "thirty"},
	{"four", "fourteen", "forty"},
	{"fifteen", "fifty"},
	{"six", "sixteen", "sixty"},
	{"seven", "seventeen", "seventy"},
	{"eight", "eighteen", "eighty"},
	{"nine", "nineteen", "ninety"},
}

// twins reports whether two number words begin with the same sound.
func twins(a, b string) bool {
	return a != b && slices.ContainsFunc(stems, func(s []string) bool { return slices.Contains(s, a) && slices.Contains(s, b) })
}

// othersOf lists the words that a number word might have been.
func othersOf(w, before, after string) []string {
	except := func(all ...[]string) []string {
		return slices.DeleteFunc(slices.Concat(all...), func(o string) bool { return o == w })
	}
	switch {
	case slices.Contains(noughts, w):
		return slices.Clone(digits)
	case slices.Contains(tens, w) && slices.Contains(digits, after):
		return except(tens)
	case slices.Contains(tens, w), slices.Contains(teens, w):
		return except(teens, tens, digits)
	case slices.Contains(digits, w) && slices.Contains(tens, before):
		return except(digits)
	case slices.Contains(digits, w):
		return append(except(digits, teens, tens), "zero")
	}
	return nil
}

func with(words []string, at int, other string) string {
	out := slices.Clone(words)
	out[at] = other
	return strings.Join(strings.Fields(strings.Join(out, " ")), " ")
}

// choice is one of two numbers that may have been said.
type choice struct{ word, text string }

// question asks for one of two numbers, digit by digit as on the radio: "Thirty, three zero,
// or thirteen, one three?"
func question(choices []choice) string {
	var parts []string
	for _, c := range choices {
		parts = append(parts, c.word+", "+spelt(c.word)+",")
	}
	text := strings.Join(parts, " or ")
	return strings.ToUpper(text[:1]) + strings.TrimSuffix(text[1:], ",") + "?"
}

// spelt says a number word digit by digit.
func spelt(word string) string {
	if i := slices.Index(tens, word); i >= 0 {
		return digits[i+1] + " zero"
	}
	if i := slices.Index(teens, word); i > 0 {
		return "one " + digits[i-1]
	}
	if word == "ten" {
		return "one zero"
	}
	return word
}

// HasTwin reports whether a number of the text begins like another and may be asked about for that: seven, seventeen,
// seventy.
func HasTwin(text string) bool {
	return slices.ContainsFunc(rivalsOf(strings.Fields(text)), func(r rival) bool { return r.twin })
}
