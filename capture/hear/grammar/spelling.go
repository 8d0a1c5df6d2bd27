package grammar

import (
	"strings"
	"unicode"
)

var (
	digitWords = strings.Fields("one two three four five six seven eight nine")
	teenWords  = strings.Fields("ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen")
	tensWords  = strings.Fields("twenty thirty forty fifty sixty seventy eighty ninety")
	nthWords   = strings.Fields("first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth twentieth")
)

// spell cuts a spoken form into the words that are heard: in small letters, hyphens split, digits
// as numbers. Signs are not heard.
func spell(form string) (words []string) {
	form = strings.ReplaceAll(strings.ToLower(form), "’", "'")
	var b strings.Builder
	digits := false
	end := func() {
		switch w := strings.Trim(b.String(), "'"); {
		case w == "":
		case digits:
			words = append(words, spellNumber(w)...)
		default:
			words = append(words, w)
		}
		b.Reset()
	}
	for _, c := range form {
		digit := '0' <= c && c <= '9'
		if !digit && c != '\'' && !unicode.IsLetter(c) && !unicode.IsMark(c) {
			end()
			continue
		}
		if digit != digits {
			end()
		}
		digits = digit
		b.WriteRune(c)
	}
	end()
	return words
}

// spellNumber says digits: up to 99 as a number, longer ones digit by digit.
func spellNumber(digits string) (words []string) {
	if n := len(digits); n <= 2 && digits[0] != '0' {
		value := 0
		for _, c := range digits {
			value = 10*value + int(c-'0')
		}
		return count(value)
	}
	for _, c := range digits {
		if c == '0' {
			words = append(words, "zero")
			continue
		}
		words = append(words, digitWords[c-'1'])
	}
	return words
}

// count says 1 to 99.
func count(n int) []string {
	switch {
	case n < 10:
		return digitWords[n-1 : n]
	case n < 20:
		return teenWords[n-10 : n-9]
	case n%10 == 0:
		return tensWords[n/10-2 : n/10-1]
	}
	return []string{tensWords[n/10-2], digitWords[n%10-1]}
}

// abbreviated reports whether a word is a written abbreviation, which nobody says: "stg", "uv".
func abbreviated(word string) bool {
	return len(word) <= 3 || !strings.ContainsAny(word, "aeiouy")
}
