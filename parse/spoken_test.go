package parse_test

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"readback/parse"
	"readback/parse/unit"
)

// speaker says numbers as people at a bench do, each in one of many ways. What it says and
// what it means are made together, by rules that share nothing with the parser.
type speaker struct{ *rand.Rand }

func (s speaker) one(choices ...string) string { return choices[s.IntN(len(choices))] }

// integer says a whole number from 1 to 9,999.
func (s speaker) integer(n int64) string {
	switch {
	case n < 100:
		if n > 20 && n%10 > 0 && s.IntN(4) == 0 {
			return strings.Replace(below100(n), " ", "-", 1)
		}
		return below100(n)
	case n%100 == 0 && n%1000 != 0:
		if n == 100 {
			return s.one("one hundred", "a hundred", "hundred")
		}
		return below100(n/100) + " hundred"
	}
	ways := ways(n)
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

// digits says digits one by one.
func (s speaker) digits(d string) string {
	var out []string
	for i := 0; i < len(d); i++ {
		if i+1 < len(d) && d[i] == d[i+1] && s.IntN(3) == 0 {
			out = append(out, "double "+s.digits(d[i:i+1]))
			i++
			continue
		}
		if d[i] == '0' {
			out = append(out, s.one("oh", "zero", "nought"))
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

// fraction says num/den, which is below one.
func (s speaker) fraction(num, den int64) string {
	if num == 1 {
		return s.one("a ", "one ") + parts[den][0]
	}
	return below100(num) + " " + parts[den][1]
}

// number says a number and returns what it is. Parts of a thing want "of an inch" behind
// them, which it says with of.
func (s speaker) number() (said string, value *big.Rat, of bool) {
	whole := []int64{s.Int64N(10), s.Int64N(100), s.Int64N(1000), s.Int64N(10_000)}[s.IntN(4)] + 1
	whole = min(whole, 9999)
	switch s.IntN(8) {
	case 0, 1:
		return s.integer(whole), big.NewRat(whole, 1), false
	case 2, 3, 4:
		d := fmt.Sprintf("%0*d", s.IntN(3)+1, s.IntN(1000))
		d = d[:min(len(d), 3)]
		value, _ = new(big.Rat).SetString(fmt.Sprintf("%d.%s", whole, d))
		said = s.integer(whole) + " " + s.one("point", "point", "decimal") + " " + s.digits(d)
		if s.IntN(4) == 0 {
			value, _ = new(big.Rat).SetString("0." + d)
			said = s.one("point ", "nought point ", "oh point ", "zero point ") + s.digits(d)
		}
		return said, value, false
	case 5:
		half := s.IntN(2) == 0
		if half {
			return s.integer(whole) + " and a half", new(big.Rat).Add(big.NewRat(whole, 1), big.NewRat(1, 2)), false
		}
		num := s.Int64N(3) + 1
		return s.integer(whole) + " and " + s.one(s.fraction(num, 4)), new(big.Rat).Add(big.NewRat(whole, 1), big.NewRat(num, 4)), false
	case 6:
		den := []int64{8, 16, 32, 64}[s.IntN(4)]
		num := s.Int64N(den-1) + 1
		if s.IntN(2) == 0 {
			return s.fraction(num, den), big.NewRat(num, den), true
		}
		whole = whole%20 + 1
		return s.integer(whole) + " and " + s.fraction(num, den), new(big.Rat).Add(big.NewRat(whole, 1), big.NewRat(num, den)), false
	default:
		den := []int64{10, 100, 1000}[s.IntN(3)]
		num := s.Int64N(min(den-1, 99)) + 1
		if den == 1000 && s.IntN(2) == 0 {
			if num = 100 + s.Int64N(899); num%100 == 10 {
				num++ // "five ten thousandths" are five of another thing
			}
			return s.integer(num) + " thousandths", big.NewRat(num, den), true
		}
		return s.fraction(num, den), big.NewRat(num, den), true
	}
}

// TestSpokenNumbersAreNeverMisread says numbers with units in words, after the small words that
// stand before readings. Each is read as it was meant or not read at all.
func TestSpokenNumbersAreNeverMisread(t *testing.T) {
	type form struct{ say, code string }
	var forms []form
	meant := map[string][]string{}
	for _, u := range unit.All() {
		for _, f := range u.Forms {
			if !f.Symbol && !strings.Contains(f.Say, "tenth") && !strings.ContainsAny(f.Say, "0123456789/^°") {
				forms = append(forms, form{f.Say, u.Code})
				meant[f.Say] = append(meant[f.Say], u.Code)
			}
		}
	}
	s := speaker{rand.New(rand.NewPCG(1, 2))} //nolint:gosec // a test that can be run again
	total, missed, n := 0, 0, 200_000
	if testing.Short() {
		n = 20_000
	}
	misread := 0
	for range n {
		said, value, of := s.number()
		f := forms[s.IntN(len(forms))]
		note := said + " " + f.say
		if of {
			f = form{"inch", "[in_i]"}
			note = said + s.one(" of an inch", " of an inch", " inch")
		}
		note = s.one("", "", "torque ", "it reads ", "got ", "up ", "it is ", "down ", "at ", "play ") + note
		got := parse.Quantities(note)
		got = slices.DeleteFunc(got, func(q parse.Quantity) bool { return q.Unit == "1" })
		total++
		switch {
		case len(got) == 0:
			missed++
			if missed <= 40 {
				t.Logf("not read: %q", note)
			}
		case len(got) > 1 || !slices.ContainsFunc(meant[f.say], func(code string) bool {
			return size(t, value.RatString(), code) == size(t, got[0].Value.Rat().RatString(), got[0].Unit)
		}):
			if misread++; misread <= 60 {
				t.Errorf("Quantities(%q) = %v, want %s %v", note, got, value.RatString(), meant[f.say])
			}
		}
	}
	t.Logf("%d of %d spoken quantities read, %d misread", total-missed-misread, total, misread)
}
