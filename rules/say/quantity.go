package say

import (
	"math/big"
	"strings"

	"readback/parse/number"
	"readback/parse/unit"
)

// Quantity returns a value with its unit in words: "forty-eight newton metres", "one
// ohm". A code without a row in the table of units is read as it stands; "" and "1"
// are no unit. A hundred tenths of a thou and more are said in thou: "a hundred and five tenths"
// may be heard two ways.
func Quantity(v number.Value, code string) string {
	if whole, ok := v.Whole(); ok && code == "10*-4.[in_i]" && (whole >= 100 || whole <= -100) {
		if thou, ok := v.Shift(-1); ok {
			v, code = thou, "[mil_i]"
		}
	}
	words := Unit(code, v != number.Int(1))
	if words == "" {
		return Number(v)
	}
	return Number(v) + " " + words
}

// Unit returns the words for a unit, "" for none.
func Unit(code string, plural bool) string {
	if code == "" || code == "1" {
		return ""
	}
	if u, ok := unit.Lookup(code); ok {
		return u.Speak(plural)
	}
	return code
}

// Shown returns a value with its unit as it is written on a screen: "48 N·m", "4 %".
func Shown(v number.Value, code string) string {
	symbol := Symbol(code)
	if symbol == "" {
		return v.String()
	}
	return v.String() + " " + symbol
}

// Symbol returns a unit as it is written on a screen: "N·m"; "" for none.
func Symbol(code string) string {
	if code == "" || code == "1" {
		return ""
	}
	if u, ok := unit.Lookup(code); ok {
		return u.Symbol
	}
	return code
}

// Exact returns r as a value where it is one: a decimal or a fraction of at most
// [number.MaxDigits] digits.
func Exact(r *big.Rat) (number.Value, bool) {
	if !r.Num().IsInt64() || !r.Denom().IsInt64() {
		return number.Value{}, false
	}
	return number.Fraction(r.Num().Int64(), r.Denom().Int64())
}

// Near returns r rounded to the coarsest decimal of at least the given places that
// still stands on the same side of every limit as r does, so that what is shown never
// contradicts the verdict. A value on a limit is shown as the limit.
func Near(r *big.Rat, places int, limits ...*big.Rat) number.Value {
	if v, ok := Exact(r); ok && !strings.Contains(v.String(), "/") && v.Scale() <= places {
		return v
	}
	best := number.Value{}
	for p := max(places, 0); p <= 9; p++ {
		v, ok := number.Parse(r.FloatString(p))
		if !ok {
			break
		}
		best = v
		if sameSide(v.Rat(), r, limits) {
			break
		}
	}
	return best
}

func sameSide(shown, r *big.Rat, limits []*big.Rat) bool {
	for _, l := range limits {
		if l != nil && shown.Cmp(l) != r.Cmp(l) {
			return false
		}
	}
	return true
}

// Beside returns a value, said in the unit from, as it is written in the unit to beside
// the first: 48 N.m as "35.4 lbf·ft". It is converted exactly and rounded as
// [unit.Show] does, finer where it would else stand on another side of a limit; the
// limits are in the unit to. ok is false where the one does not convert into the other.
func Beside(v number.Value, from, to string, limits ...*big.Rat) (text string, ok bool) {
	rounded, err := unit.Show(v, from, to)
	if err != nil {
		return "", false
	}
	y, err := unit.Convert(v.Rat(), from, to)
	if err != nil {
		return "", false
	}
	shown, ok := number.Parse(rounded)
	if !ok {
		return "", false
	}
	if !sameSide(shown.Rat(), y, limits) {
		shown = Near(y, shown.Scale(), limits...)
	}
	return Shown(shown, to), true
}

// List joins items as in speech: "nine, ten and eleven", with "or" for choices.
func List(items []string, last string) string {
	switch len(items) {
	case 0:
		return ""
	case 1:
		return items[0]
	}
	return strings.Join(items[:len(items)-1], ", ") + " " + last + " " + items[len(items)-1]
}

// Cap returns s with its first letter as a capital.
func Cap(s string) string {
	for i, r := range s {
		return s[:i] + strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}
