package judge

import (
	"slices"
	"strings"
)

var (
	digits  = []string{"one", "two", "three", "four", "five", "six", "seven", "eight", "nine"}
	noughts = []string{"oh", "zero", "nought"}
	teens   = []string{"ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"}
	tens    = []string{"twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"}
)

// slot is a number word of a note with what might have been said instead.
type slot struct {
	at      int
	word    string
	others  []string // the words it might have been
	each    []string // the note with each of them
	without string   // the note with any of them: a sentence with alternatives, as a grammar writes them
}

// slotsOf finds the number words of a note. A ten before a digit can only have been another
// ten; one alone might have been a teen, or a digit. A digit might have been any other.
func slotsOf(words []string) (slots []slot) {
	for i, w := range words {
		before, after := "", ""
		if i > 0 {
			before = words[i-1]
		}
		if i+1 < len(words) {
			after = words[i+1]
		}
		if others := rivalsOf(w, before, after); len(others) > 0 {
			s := slot{at: i, word: w, others: others}
			for _, o := range others {
				s.each = append(s.each, with(words, i, o))
			}
			s.without = with(words, i, "( "+strings.Join(others, " | ")+" )")
			slots = append(slots, s)
		}
	}
	return slots
}

// twinOf is the teen of a ten, and the ten of a teen, "" where there is none.
func twinOf(word string) string {
	if i := slices.Index(tens, word); i > 0 {
		return teens[i+2]
	}
	if i := slices.Index(teens, word); i > 2 {
		return tens[i-2]
	}
	return ""
}

func rivalsOf(w, before, after string) []string {
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
	return strings.Join(out, " ")
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
