package opening

import (
	"strings"
	"unicode"

	"readback/rules"
	"readback/rules/say"
)

// Aloud says a job's number sign by sign, letters as on the radio, since M and N sound alike in a
// shop: "Mike Whiskey one zero four two" for MW-1042. A dash is said where it parts figures.
func Aloud(number string) string {
	var words []string
	before := ' '
	for i, c := range number {
		switch {
		case '0' <= c && c <= '9':
			words = append(words, say.Int(int64(c-'0')))
		case unicode.IsLetter(c):
			words = append(words, letter(c))
		case c == '.':
			words = append(words, "point")
		case c == '-' && unicode.IsLetter(before) && i+1 < len(number) && unicode.IsDigit(rune(number[i+1])):
		default:
			words = append(words, "dash")
		}
		before = c
	}
	return strings.Join(words, " ")
}

func letter(c rune) string {
	c = unicode.ToLower(c)
	if c < 'a' || c > 'z' {
		return string(unicode.ToUpper(c))
	}
	return say.Cap(Letters[c-'a'])
}

// nameOf says a spec, its letters in capitals: "M R five".
func nameOf(s *rules.Spec) string {
	words := strings.Fields(s.Names()[0])
	for i, w := range words {
		if len(w) == 1 {
			words[i] = strings.ToUpper(w)
		}
	}
	return strings.Join(words, " ")
}

// list says options in the order of the spec.
func list(s *rules.Spec, options map[string]string) string {
	var parts []string
	for _, o := range s.Options {
		if v, ok := options[o.Name]; ok {
			parts = append(parts, o.Phrase(v))
		}
	}
	return say.List(parts, "and")
}
