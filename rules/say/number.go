// Package say puts numbers, quantities and places into the words that are read back
// to the technician. It knows nothing of jobs: what to say is for package rules.
//
// Decimals are read digit by digit after the point and every written digit is said,
// so that what the tool says, heard again, is the same number with the same
// resolution: 99.50 is "ninety-nine point five zero".
package say

import (
	"slices"
	"strings"

	"readback/parse/number"
)

var units = [...]string{
	"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
	"thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
}

var tens = [...]string{"", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"}

var thousands = [...]string{"", " thousand", " million", " billion", " trillion"}

// Number returns v in words: "forty-eight", "zero point zero five", "minus five",
// "two thirds".
func Number(v number.Value) string {
	text, sign := v.String(), ""
	if rest, ok := strings.CutPrefix(text, "-"); ok {
		text, sign = rest, "minus "
	}
	if num, den, ok := strings.Cut(text, "/"); ok {
		return sign + fraction(atoi(num), atoi(den))
	}
	whole, decimals, _ := strings.Cut(text, ".")
	var b strings.Builder
	b.WriteString(sign)
	b.WriteString(Int(atoi(whole)))
	if decimals != "" {
		b.WriteString(" point")
		for _, d := range decimals {
			b.WriteByte(' ')
			b.WriteString(units[d-'0'])
		}
	}
	return b.String()
}

func atoi(digits string) (n int64) {
	for _, d := range digits {
		n = n*10 + int64(d-'0')
	}
	return n
}

// Int returns a whole number in words. A negative one is led by "minus".
func Int(n int64) string {
	if n < 0 {
		return "minus " + Int(-n)
	}
	if n == 0 {
		return units[0]
	}
	var groups []string
	for power := 0; n > 0; power, n = power+1, n/1000 {
		if n%1000 > 0 {
			groups = append(groups, hundreds(n%1000, power == 0 && n >= 1000)+thousands[power])
		}
	}
	var b strings.Builder
	for i, group := range slices.Backward(groups) {
		b.WriteString(group)
		if i > 0 {
			b.WriteByte(' ')
		}
	}
	return b.String()
}

// hundreds speaks 1 to 999; after thousands, what is below a hundred is led by "and".
func hundreds(n int64, after bool) string {
	switch {
	case n < 100 && after:
		return "and " + below100(n)
	case n < 100:
		return below100(n)
	case n%100 == 0:
		return units[n/100] + " hundred"
	}
	return units[n/100] + " hundred and " + below100(n%100)
}

func below100(n int64) string {
	switch {
	case n < 20:
		return units[n]
	case n%10 == 0:
		return tens[n/10]
	}
	return tens[n/10] + "-" + units[n%10]
}

// fraction speaks num/den, both positive, den no divisor of a power of ten.
func fraction(num, den int64) string {
	whole, rest := num/den, num%den
	part := Int(rest) + " " + Ordinal(den)
	if rest != 1 {
		part += "s"
	}
	if whole == 0 {
		return part
	}
	return Int(whole) + " and " + part
}

var odd = map[string]string{
	"one": "first", "two": "second", "three": "third", "five": "fifth", "eight": "eighth", "nine": "ninth", "twelve": "twelfth",
}

// Ordinal returns n as a place in a row: "third", "twenty-first".
func Ordinal(n int64) string {
	words := Int(n)
	at := strings.LastIndexAny(words, " -") + 1
	head, last := words[:at], words[at:]
	if o, ok := odd[last]; ok {
		return head + o
	}
	if stem, ok := strings.CutSuffix(last, "y"); ok {
		return head + stem + "ieth"
	}
	return head + last + "th"
}
