package number

// spoken reads a number in words: an integer part, a point with digits, a fraction
// after "and".
func (r Reader) spoken(i int) (Number, bool) {
	n := Number{Spoken: true}
	whole, end, ok := r.whole(i)
	if !ok && r.class(i) != Point {
		return n, false
	}
	digits, decimals, after, point := r.decimals(end, whole)
	switch {
	case point:
		n.Value, ok = Decimal(digits, decimals)
		n.End = after
	case !ok:
		return n, false
	default:
		n.Value, ok = Decimal(whole, 0)
		n.End, n.Whole = end, true
		r.mixed(&n)
	}
	if !ok {
		n.Broken, n.Why = true, "too many digits for a measurement"
	}
	r.multiplied(&n)
	return n, true
}

// multiplied reads "two point two million", "two thirds of a million", "three dozen".
func (r Reader) multiplied(n *Number) {
	at := n.End
	if w := r.word(at); w.Class == Part && w.Many && w.N >= 10 && !n.Whole {
		r.parted(n, w.N) // "one and a half hundredths"
		return
	}
	if w := r.word(r.ofA(at)); w.Class == Large && !n.Whole || w.Class == Dozen {
		at = r.ofA(at)
	}
	w := r.word(at)
	if w.Class != Dozen && (w.Class != Large || n.Whole) || w.Many && !n.Whole {
		return
	}
	v, ok := n.Value.Times(w.N)
	if !ok {
		n.Broken, n.Why = true, "too large for a measurement"
	}
	n.Value, n.End, n.NeedsUnit = v, at+1, false
}

// parted makes so many parts of n: "two point five thousandths".
func (r Reader) parted(n *Number, den int64) {
	zeros := 0
	for ; den >= 10 && den%10 == 0; den /= 10 {
		zeros++
	}
	v, ok := n.Value.Shift(-zeros)
	if !ok || den != 1 {
		n.Broken, n.Why = true, "parts of a part"
		return
	}
	n.Value, n.End = v, n.End+1
}

// decimals reads "point" and its digits after the integer part whole that ends at i.
func (r Reader) decimals(i int, whole int64) (digits int64, scale, end int, ok bool) {
	if r.class(i) != Point || !r.isDigitLike(i+1) {
		return 0, 0, i, false
	}
	digits, end = whole, i+1
	if c := r.class(end); c == Teen || c == Tens {
		n, to, _ := r.small(end)
		return digits*100 + n, 2, to, digits < limit/100
	}
	for r.isDigitLike(end) {
		if r.class(end) == Numeric && !allDigits(r.Tokens[end].Text) {
			break
		}
		n, count, to := r.digit(end)
		if count == 0 {
			break
		}
		end = to
		for ; count > 0 && scale <= MaxDigits; count-- {
			digits, scale = digits*10+n%10, scale+1
		}
		if digits > limit {
			return digits, MaxDigits + 1, end, true
		}
	}
	return digits, scale, end, scale > 0
}

// digit reads one digit, or a repeated one ("double five"); count is how often it
// stands. A numeral counts by its digits only where it is a single one.
func (r Reader) digit(i int) (n int64, count, end int) {
	w := r.Words[i]
	if r.isOwe(i) {
		return 0, 1, i + 1
	}
	switch w.Class {
	case Digit, Zero, Sounds:
		return w.N, 1, i + 1
	case Repeat:
		if c := r.class(i + 1); c == Digit || c == Zero {
			return r.Words[i+1].N, int(w.N), i + 2
		}
	case Numeric:
		if len(r.Tokens[i].Text) == 1 {
			return int64(r.Tokens[i].Text[0] - '0'), 1, i + 1
		}
	case None, Teen, Tens, Hundred, Large, Point, And, Article, Half, Part, Minus, Of, Dozen, Vulgar, Nth:
	}
	return 0, 0, i
}

// small reads one to ninety-nine in words.
func (r Reader) small(i int) (n int64, end int, ok bool) {
	switch r.class(i) {
	case Digit:
		if r.isTea(i + 1) {
			return r.units(i+2, r.Words[i].N*10)
		}
		if r.isTeen(i) {
			return r.Words[i].N + 10, i + 2, true
		}
		return r.Words[i].N, i + 1, true
	case Sounds:
		if r.isTea(i+1) && r.Words[i].N > 2 {
			return r.units(i+2, r.Words[i].N*10)
		}
		if r.isTeen(i) {
			return r.Words[i].N + 10, i + 2, true
		}
		if r.soundsAlone(i) {
			return r.Words[i].N, i + 1, true
		}
	case Teen:
		return r.Words[i].N, i + 1, true
	case Tens:
		return r.units(i+1, r.Words[i].N)
	case None, Zero, Hundred, Large, Point, And, Article, Half, Part, Repeat, Minus, Of, Numeric, Dozen, Vulgar, Nth:
	}
	return 0, i, false
}

// units adds the digit after a tens word, if there is one: "eighty", "eighty two",
// "eighty to millimetres".
func (r Reader) units(i int, tens int64) (n int64, end int, ok bool) {
	at := r.hyphen(i)
	switch r.class(at) {
	case Digit:
		if !r.isTea(at + 1) {
			return tens + r.Words[at].N, at + 1, true
		}
	case Sounds:
		if r.soundsAfterTens(at) {
			return tens + r.Words[at].N, at + 1, true
		}
	case None, Zero, Teen, Tens, Hundred, Large, Point, And, Article, Half, Part, Repeat, Minus, Of, Numeric, Dozen, Vulgar, Nth:
	}
	return tens, i, true
}

// isTea reports whether token i is the "-ty" of a tens word heard apart: "for tea".
func (r Reader) isTea(i int) bool {
	return i < len(r.Tokens) && (r.Tokens[i].Text == "tea" || r.Tokens[i].Text == "ty")
}

// isTeen reports whether token i is the first half of a teen heard apart: "for teen".
func (r Reader) isTeen(i int) bool {
	n := r.Words[i].N
	return i+1 < len(r.Tokens) && r.Tokens[i+1].Text == "teen" && (n == 4 || n > 5)
}

// soundsAlone: "ate newton metres", "won point two". "To" and "for" open a number only
// before "hundred" and the like: elsewhere they are what they seem.
func (r Reader) soundsAlone(i int) bool {
	if r.Words[i].Small {
		c := r.class(i + 1)
		return c == Hundred || c == Large
	}
	switch c := r.class(i + 1); c {
	case Hundred, Large, Digit, Zero, Teen, Tens:
		return true
	case Point:
		return r.isDigitLike(i + 2)
	case And:
		_, _, _, ok := r.ratio(i + 2)
		return ok
	case None, Article, Half, Part, Repeat, Minus, Sounds, Of, Numeric, Dozen, Vulgar, Nth:
	}
	return r.unit(i + 1)
}

// soundsAfterTens: "forty ate", "eighty to point six", "sixty for millimetres". "To"
// and "for" need a unit or a point behind them, or they are what they seem.
func (r Reader) soundsAfterTens(i int) bool {
	if r.unit(i+1) || r.class(i+1) == Point && r.isDigitLike(i+2) {
		return true
	}
	return !r.Words[i].Small
}

// whole reads an integer in words: cardinal ("four hundred and twenty five"), pair
// ("four twenty five"), digit string ("two oh five", "double five").
func (r Reader) whole(i int) (n int64, end int, ok bool) {
	if c := r.class(i); c == Repeat || c == Zero {
		return r.string(i)
	}
	n, end, ok = r.small(i)
	if !ok {
		switch {
		case r.class(i) == Article && (r.class(i+1) == Hundred || r.class(i+1) == Large):
			n, end = 1, i+1
		case (r.class(i) == Hundred || r.class(i) == Large) && r.class(i-1) != Hundred && r.class(i-1) != Large:
			n, end = 1, i // "thousand litres", "hundred and twenty megs"
		default:
			return 0, i, false
		}
	}
	if c := r.class(end); c == Hundred || c == Large {
		return r.cardinal(end, n)
	}
	return r.grouped(i, end, n)
}

// grouped continues the first number n of [i,end) as a digit string or a pair.
func (r Reader) grouped(i, end int, n int64) (int64, int, bool) {
	if n < 10 && end == i+1 {
		switch r.class(end) {
		case Digit, Zero, Repeat:
			if !r.isTea(end + 1) {
				n, end, ok := r.string(i)
				if c := r.class(end); c == Hundred || c == Large {
					return r.cardinal(end, n) // "one zero thousand"
				}
				return n, end, ok
			}
		case None, Teen, Tens, Hundred, Large, Point, And, Article, Half, Part, Minus, Sounds, Of, Numeric, Dozen, Vulgar, Nth:
		}
	}
	if c := r.class(end); (c == Teen || c == Tens || c == Digit && r.isTea(end+1)) && !r.Listed(i) {
		m, to, _ := r.small(end)
		return n*100 + m, to, true
	}
	if n >= 10 && r.class(end) == Zero && r.class(end+1) == Digit {
		return n*100 + r.Words[end+1].N, end + 2, true
	}
	return n, end, true
}

// Listed reports whether the number at i opens a list after a plural: "passes eight
// fourteen and twenty" is three numbers, not 814 and 20.
func (r Reader) Listed(i int) bool {
	if i == 0 {
		return false
	}
	t := r.Tokens[i-1].Text
	if len(t) < 4 || t[len(t)-1] != 's' || t[len(t)-2] == 's' || t == "reads" || t == "measures" || t == "gives" {
		return false
	}
	_, end, _ := r.small(i)
	_, end, _ = r.small(end)
	if r.class(end) != And {
		return false
	}
	if _, _, _, fraction := r.ratio(end + 1); fraction {
		return false
	}
	_, _, ok := r.small(end + 1)
	return ok
}

// string reads two digits and more, said one by one.
func (r Reader) string(i int) (n int64, end int, ok bool) {
	end = i
	for {
		c := r.class(end)
		if c == Sounds && end == i && r.soundsAlone(i) {
			c = Digit // "won nine"
		}
		if c != Digit && c != Zero && c != Repeat || c == Digit && r.isTea(end+1) || end > i && r.isNought(end) && r.class(end+1) == Point {
			break // "six nought point two" are two numbers, or none
		}
		d, count, to := r.digit(end)
		if count == 0 {
			break
		}
		for ; count > 0; count-- {
			n = min(n*10+d, limit+1)
		}
		end = to
	}
	return n, end, end > i
}

// isNought reports whether token i is a zero as it is said before a point, and not of a digit
// among others.
func (r Reader) isNought(i int) bool {
	return r.Tokens[i].Text == "nought" || r.Tokens[i].Text == "naught"
}

// cardinal continues n before "hundred" or "thousand" at i. It stops before a word
// that does not go on from there ("two thousand thousand"), for [Reader.guard] to find.
func (r Reader) cardinal(i int, n int64) (total int64, end int, ok bool) {
	group, last := n, int64(limit)
	for {
		switch w := r.word(i); w.Class {
		case Hundred:
			if group == 0 || group > 99 {
				return total + group, i, true
			}
			group, i = group*100, i+1
		case Large:
			if group == 0 || w.N >= last {
				return total + group, i, true
			}
			total, group, last, i = min(total+group*w.N, limit+1), 0, w.N, i+1
		case None, Digit, Zero, Teen, Tens, Point, And, Article, Half, Part, Repeat, Minus, Sounds, Of, Numeric, Dozen, Vulgar, Nth:
			m, to, more := r.rest(i)
			if !more {
				return total + group, i, true
			}
			group, i = group+m, to
			if c := r.class(i); c != Hundred && c != Large {
				return total + group, i, true
			}
		}
	}
}

// rest reads what may follow "hundred" or "thousand": "and five", "twenty three".
// "And" belongs to a fraction where one follows: "two hundred and three quarters", but
// not "a hundred and twenty seconds" nor "a hundred and twenty thousandths".
func (r Reader) rest(i int) (n int64, end int, ok bool) {
	at := i
	if r.class(at) == And {
		at++
	}
	if num, den, last, part := r.ratio(at); part && at > i && den > 2 && den < 1000 && num < den && !r.oneOfMany(num, last) {
		return 0, i, false
	}
	return r.small(at)
}

func (r Reader) word(i int) Word {
	if i >= len(r.Words) {
		return Word{}
	}
	return r.Words[i]
}
