package number

import (
	"strconv"
	"strings"
)

// numeral reads a number in digits: 48.50, 48,5, 1,450, 1/8, 3 1/2, 2-1/4, 3½,
// 3x10^3, 6.3e2, 2 thousand, 48 point 2.
func (r Reader) numeral(i int) (Number, bool) {
	n := Number{End: i + 1}
	if r.class(i) == Vulgar {
		n.Value, _ = vulgar(r.Words[i].N)
		return n, true
	}
	text := r.Tokens[i].Text
	if end, odd := r.clock(i); odd {
		n.End, n.Broken, n.Why = end, true, "a time, a date or a section, not a measurement"
		return n, true
	}
	ok := readDigits(text, &n)
	if !ok {
		n.Broken, n.Why = true, "not a number of at most 15 digits"
		return n, true
	}
	n.Whole = allDigits(text)
	if r.class(i+1) == Dozen {
		r.multiplied(&n)
		return n, true
	}
	for _, more := range []func(*Number) bool{r.slashed, r.exponent, r.times, r.pointed} {
		if more(&n) {
			n.Whole = false
			break
		}
	}
	return n, true
}

func allDigits(s string) bool { return strings.Trim(s, "0123456789") == "" }

// readDigits reads points and commas as they are written on either side of the
// Atlantic. One comma with exactly three digits after it has two honest readings.
func readDigits(s string, n *Number) bool {
	whole, decimals, point := cutLast(s, '.')
	commas := strings.Count(s, ",")
	switch {
	case commas == 0:
		return setDecimal(&n.Value, whole, decimals, strings.Count(s, ".") <= 1)
	case point && strings.Contains(whole, ",") && grouped(whole, ','):
		return setDecimal(&n.Value, strings.ReplaceAll(whole, ",", ""), decimals, true)
	case point:
		head, tail, _ := strings.Cut(s, ",")
		return commas == 1 && grouped(head, '.') && setDecimal(&n.Value, strings.ReplaceAll(head, ".", ""), tail, true)
	case commas > 1:
		return grouped(s, ',') && setDecimal(&n.Value, strings.ReplaceAll(s, ",", ""), "", true)
	}
	head, tail, _ := strings.Cut(s, ",")
	if len(tail) != 3 || len(head) > 3 || strings.Trim(head, "0") == "" || head[0] == '0' {
		return setDecimal(&n.Value, head, tail, true)
	}
	n.HasOther = setDecimal(&n.Other, head, tail, true)
	n.Why = "a comma before three digits may be a decimal comma or a thousands mark"
	return setDecimal(&n.Value, head+tail, "", true)
}

func cutLast(s string, sep byte) (before, after string, found bool) {
	if i := strings.LastIndexByte(s, sep); i >= 0 {
		return s[:i], s[i+1:], true
	}
	return s, "", false
}

// grouped reports whether s is digits in groups of three, as 1,234,567.
func grouped(s string, sep byte) bool {
	parts := strings.Split(s, string(sep))
	for i, p := range parts {
		if !allDigits(p) || i > 0 && len(p) != 3 || i == 0 && (p == "" || len(p) > 3) {
			return false
		}
	}
	return len(parts) > 1
}

func setDecimal(v *Value, whole, decimals string, ok bool) bool {
	if !ok || len(whole)+len(decimals) > MaxDigits+3 || !allDigits(whole+decimals) {
		return false
	}
	digits, err := strconv.ParseInt("0"+whole+decimals, 10, 64)
	if err != nil {
		return false
	}
	*v, ok = Decimal(digits, len(decimals))
	return ok
}

// clock finds what looks like a number and is none: 10:30, 12/11/2026, 3.2.1.
func (r Reader) clock(i int) (end int, odd bool) {
	end = i + 1
	for end+1 < len(r.Tokens) && r.Tokens[end].Glued && r.Tokens[end+1].Glued && r.class(end+1) == Numeric {
		sign := r.Tokens[end].Text
		another := end+3 < len(r.Tokens) && r.Tokens[end+2].Text == "/" && r.Tokens[end+2].Glued
		if sign != ":" && (sign != "/" || end == i+1 && !another) {
			break
		}
		odd = true
		end += 2
	}
	return end, odd
}

// slashed reads a fraction in digits: "1/8" from its numerator, "3 1/2" and "2-1/4"
// from the whole number, "3½".
func (r Reader) slashed(n *Number) bool {
	i := n.End
	if !n.Whole {
		return false
	}
	whole, _ := n.Value.Whole()
	if d, ok := r.over(i); ok {
		v, good := Fraction(whole, d)
		if good {
			n.Value, n.End = v, i+2
		}
		return good
	}
	if r.class(i) == Vulgar {
		v, _ := vulgar(r.Words[i].N + whole*(r.Words[i].N%100)*100)
		n.Value, n.End = v, i+1
		return true
	}
	at := r.hyphen(i)
	if r.class(at) != Numeric || !allDigits(r.Tokens[at].Text) || len(r.Tokens[at].Text) > 4 {
		return false
	}
	d, ok := r.over(at + 1)
	num, _ := strconv.ParseInt(r.Tokens[at].Text, 10, 64)
	if !ok || num >= d {
		return false
	}
	v, good := Fraction(whole*d+num, d)
	if good {
		n.Value, n.End = v, at+3
	}
	return good
}

// over reads "/8" at i.
func (r Reader) over(i int) (den int64, ok bool) {
	if i+1 >= len(r.Tokens) || r.Tokens[i].Text != "/" || !r.Tokens[i].Glued || !r.Tokens[i+1].Glued {
		return 0, false
	}
	s := r.Tokens[i+1].Text
	if r.class(i+1) != Numeric || !allDigits(s) || len(s) > 4 {
		return 0, false
	}
	den, err := strconv.ParseInt(s, 10, 64)
	return den, err == nil && den > 0
}

// vulgar turns 100 × numerator + denominator into a fraction.
func vulgar(n int64) (Value, bool) { return Fraction(n/100, n%100) }

// VulgarWord returns the Word of a fraction character such as ½ (folded to
// numerator, U+2044, denominator).
func VulgarWord(folded string) (Word, bool) {
	a, b, ok := strings.Cut(folded, fractionSlash)
	if !ok {
		return Word{}, false
	}
	num, err := strconv.ParseInt(a, 10, 8)
	den, err2 := strconv.ParseInt(b, 10, 8)
	if err != nil || err2 != nil || den <= 0 || den > 99 {
		return Word{}, false
	}
	return Word{Class: Vulgar, N: num*100 + den}, true
}

// exponent reads "e2", "e-3", "x10^3", "× 10^3" after the digits.
func (r Reader) exponent(n *Number) bool {
	i := n.End
	if i >= len(r.Tokens) {
		return false
	}
	switch t := r.Tokens[i]; {
	case t.Text == "e" && t.Glued:
		i++
	case t.Text == "x" || t.Text == "×" || t.Text == "*":
		if i+2 >= len(r.Tokens) || r.Tokens[i+1].Text != "10" || r.Tokens[i+2].Text != "^" {
			return false
		}
		i += 3
	default:
		return false
	}
	sign := 1
	if i < len(r.Tokens) && (isMinus(r.Tokens[i].Text) || r.Tokens[i].Text == "+") && r.Tokens[i].Glued {
		if r.Tokens[i].Text != "+" {
			sign = -1
		}
		i++
	}
	if i >= len(r.Tokens) || r.class(i) != Numeric || !r.Tokens[i].Glued || !allDigits(r.Tokens[i].Text) {
		return false
	}
	power, err := strconv.Atoi(r.Tokens[i].Text)
	n.End = i + 1
	v, ok := n.Value, false
	if err == nil && power <= MaxDigits {
		v, ok = n.Value.Shift(sign * power)
	}
	if !ok {
		n.Broken, n.Why = true, "too large or too small for a measurement"
		return true
	}
	n.Value = v
	return true
}

// times reads "2 thousand", "1.5 million", "3 hundred".
func (r Reader) times(n *Number) bool {
	w := r.word(n.End)
	if w.Class != Large && w.Class != Hundred {
		return false
	}
	zeros := 0
	for p := w.N; p > 1; p /= 10 {
		zeros++
	}
	v, ok := n.Value.Shift(zeros)
	if !ok {
		return false
	}
	n.Value, n.End, n.HasOther = v, n.End+1, false
	return true
}

// pointed reads "48 point 2", "48 point two five".
func (r Reader) pointed(n *Number) bool {
	whole, ok := n.Value.Whole()
	if !ok || !n.Whole || n.HasOther {
		return false
	}
	i := n.End
	if r.class(i) == Point && r.class(i+1) == Numeric && allDigits(r.Tokens[i+1].Text) {
		v, good := Parse(strconv.FormatInt(whole, 10) + "." + r.Tokens[i+1].Text)
		if good {
			n.Value, n.End = v, i+2
		}
		return good
	}
	digits, scale, end, point := r.decimals(i, whole)
	if point {
		var good bool
		if n.Value, good = Decimal(digits, scale); !good {
			n.Broken, n.Why = true, "too many digits for a measurement"
		}
		n.End = end
		return true
	}
	return r.mixed(n)
}
