// Package parsetest says quantities as people do, with what they mean, for the tests of what
// understands them. What it says and what it means are made together, by rules that share nothing
// with the parser.
package parsetest

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"strings"

	"readback/parse/unit"
)

// Speaker says numbers as people at a bench do, each in one of many ways. What it says and
// what it means are made together, by rules that share nothing with the parser.
type Speaker struct{ *rand.Rand }

// One returns one of the choices.
func (s Speaker) One(choices ...string) string { return choices[s.IntN(len(choices))] }

// Integer says a whole number from 1 to 9,999.
func (s Speaker) Integer(n int64) string {
	switch {
	case n < 100:
		if n > 20 && n%10 > 0 && s.IntN(4) == 0 {
			return strings.Replace(below100(n), " ", "-", 1)
		}
		return below100(n)
	case n%100 == 0 && n%1000 != 0:
		if n == 100 {
			return s.One("one hundred", "a hundred", "hundred")
		}
		return below100(n/100) + " hundred"
	}
	ways := Ways(n)
	if n < 1000 && n%100 < 10 {
		ways = append(ways, ones[n/100]+" oh "+ones[n%100], ones[n/100]+" zero "+ones[n%100])
	}
	if n < 2000 && n >= 1000 && n%1000 > 0 && n%1000 < 100 {
		ways = append(ways, "a thousand and "+below100(n%1000), "thousand and "+below100(n%1000))
	}
	if n < 200 {
		ways = append(ways, "a hundred and "+below100(n%100), "hundred and "+below100(n%100), "a hundred "+below100(n%100))
	}
	if a, b := n/10%10, n%10; n < 1000 && a == b && a > 0 {
		ways = append(ways, ones[n/100]+" double "+ones[b])
	}
	return ways[s.IntN(len(ways))]
}

// Digits says digits one by one.
func (s Speaker) Digits(d string) string {
	var out []string
	for i := 0; i < len(d); i++ {
		if i+1 < len(d) && d[i] == d[i+1] && s.IntN(3) == 0 {
			out = append(out, "double "+s.Digits(d[i:i+1]))
			i++
			continue
		}
		if d[i] == '0' {
			out = append(out, s.One("oh", "zero", "nought"))
			continue
		}
		out = append(out, ones[d[i]-'0'])
	}
	return strings.Join(out, " ")
}

var parts = map[int64][2]string{
	3: {"third", "thirds"}, 4: {"quarter", "quarters"}, 5: {"fifth", "fifths"}, 8: {"eighth", "eighths"}, 10: {"tenth", "tenths"}, 16: {"sixteenth", "sixteenths"},
	32: {"thirty second", "thirty seconds"}, 64: {"sixty fourth", "sixty fourths"}, 100: {"hundredth", "hundredths"}, 1000: {"thousandth", "thousandths"},
}

// Fraction says num/den, which is below one.
func (s Speaker) Fraction(num, den int64) string {
	if num == 1 {
		return s.One("a ", "one ") + parts[den][0]
	}
	return below100(num) + " " + parts[den][1]
}

// Number says a number and returns what it is. Parts of a thing want "of an inch" behind
// them, which it says with of.
func (s Speaker) Number() (said string, value *big.Rat, of bool) {
	whole := []int64{s.Int64N(10), s.Int64N(100), s.Int64N(1000), s.Int64N(10_000)}[s.IntN(4)] + 1
	whole = min(whole, 9999)
	switch s.IntN(8) {
	case 0, 1:
		return s.Integer(whole), big.NewRat(whole, 1), false
	case 2, 3, 4:
		d := fmt.Sprintf("%0*d", s.IntN(3)+1, s.IntN(1000))
		d = d[:min(len(d), 3)]
		value, _ = new(big.Rat).SetString(fmt.Sprintf("%d.%s", whole, d))
		said = s.Integer(whole) + " " + s.One("point", "point", "decimal") + " " + s.Digits(d)
		if s.IntN(4) == 0 {
			value, _ = new(big.Rat).SetString("0." + d)
			said = s.One("point ", "nought point ", "oh point ", "zero point ") + s.Digits(d)
		}
		return said, value, false
	case 5:
		half := s.IntN(2) == 0
		if half {
			return s.Integer(whole) + " and a half", new(big.Rat).Add(big.NewRat(whole, 1), big.NewRat(1, 2)), false
		}
		num := s.Int64N(3) + 1
		return s.Integer(whole) + " and " + s.One(s.Fraction(num, 4)), new(big.Rat).Add(big.NewRat(whole, 1), big.NewRat(num, 4)), false
	case 6:
		den := []int64{8, 16, 32, 64}[s.IntN(4)]
		num := s.Int64N(den-1) + 1
		if s.IntN(2) == 0 {
			return s.Fraction(num, den), big.NewRat(num, den), true
		}
		whole = whole%20 + 1
		return s.Integer(whole) + " and " + s.Fraction(num, den), new(big.Rat).Add(big.NewRat(whole, 1), big.NewRat(num, den)), false
	default:
		den := []int64{10, 100, 1000}[s.IntN(3)]
		num := s.Int64N(min(den-1, 99)) + 1
		if den == 1000 && s.IntN(2) == 0 {
			if num = 100 + s.Int64N(899); num%100 == 10 {
				num++ // "five ten thousandths" are five of another thing
			}
			return s.Integer(num) + " thousandths", big.NewRat(num, den), true
		}
		return s.Fraction(num, den), big.NewRat(num, den), true
	}
}

// UnitForm is a way to say a unit, and the codes that it may mean.
type UnitForm struct {
	Say   string
	Codes []string
}

// UnitForms lists how units are said in words, all that the table knows; for one dimension if
// that is not "".
func UnitForms(dimension unit.Dimension) (forms []UnitForm) {
	at := map[string]int{}
	for _, u := range unit.All() {
		if dimension != "" && u.Dimension != dimension {
			continue
		}
		for _, f := range u.Forms {
			if f.Symbol || strings.Contains(f.Say, "tenth") || strings.ContainsAny(f.Say, "0123456789/^°") {
				continue
			}
			i, known := at[f.Say]
			if !known {
				i, at[f.Say] = len(forms), len(forms)
				forms = append(forms, UnitForm{Say: f.Say})
			}
			forms[i].Codes = append(forms[i].Codes, u.Code)
		}
	}
	return forms
}

var ones = strings.Fields("zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen")

var tensWords = []string{"", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"}

// below100 says a number below a hundred.
func below100(n int64) string {
	if n < 20 {
		return ones[n]
	}
	if n%10 == 0 {
		return tensWords[n/10]
	}
	return tensWords[n/10] + " " + ones[n%10]
}

// Ways says a number as a Briton, as an American, in pairs and digit by digit, as far
// as people say it so.
func Ways(n int64) (out []string) {
	and := func(word string) string {
		head, rest := n/1000, n%1000
		var parts []string
		if head > 0 {
			parts = append(parts, below100(head), "thousand")
		}
		if rest >= 100 {
			parts = append(parts, ones[rest/100], "hundred")
		}
		if rest%100 > 0 {
			if word != "" && n >= 100 {
				parts = append(parts, word)
			}
			parts = append(parts, below100(rest%100))
		}
		return strings.Join(parts, " ")
	}
	out = append(out, and("and"), and(""))
	if n >= 100 && n%100 >= 10 && (n/100)%10 != 0 {
		out = append(out, below100(n/100)+" "+below100(n%100))
	}
	if n >= 10 {
		var digits []string
		for _, d := range fmt.Sprint(n) {
			digits = append(digits, ones[d-'0'])
		}
		out = append(out, strings.Join(digits, " "))
	}
	return out
}
