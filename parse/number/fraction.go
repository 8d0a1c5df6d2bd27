package number

// mixed reads the fraction after the whole number that n is so far: "and a half", "and three
// quarters", "and thirty one sixty fourths". "A hundred and five hundredths" has two honest
// readings, 100.05 and 1.05, and so have tenths.
func (r Reader) mixed(n *Number) bool {
	if r.class(n.End) != And {
		return false
	}
	num, den, end, ok := r.ratio(n.End + 1)
	if !ok || num >= den { // "a hundred and twenty tenths of a thou"
		return false
	}
	whole, _ := n.Value.Whole()
	v, ok := Fraction(whole*den+num, den)
	if !ok {
		return false
	}
	n.Value, n.End, n.Whole = v, end, false
	if (den == 10 || den == 100) && num > 1 && whole%100 == 0 {
		n.Other, n.HasOther = Fraction(whole+num, den)
		n.Why = "the fraction may count all of the number or its last words"
	}
	return true
}

// fraction reads a number that is a fraction alone: "three sixteenths", "half a",
// "four tenths", "half a hundredth". One without a numerator needs a unit after it.
func (r Reader) fraction(i int) (n Number, ok bool) {
	num, den, end, ok := r.ratio(i)
	if !ok {
		return n, false
	}
	n = Number{Spoken: true, End: end, NeedsUnit: r.class(i) == Half || r.class(i) == Part || r.class(i) == Article && num == 1}
	if den == 10_000 && num < 10 { // "five ten thousandths": 0.0005, and 0.510 to some
		n.Other, n.HasOther = Decimal(100*num+10, 3)
		n.Why = "ten may belong to the number or to its parts"
	}
	at := r.ofA(end)
	if (r.class(i) == Half || r.class(i) == Article || at == end+2) && r.class(at) == Part && !r.Words[at].Many && r.Words[at].N > 4 {
		den, n.End = den*r.Words[at].N, at+1 // "half a hundredth", "three tenths of a hundredth"
	}
	if n.Value, ok = decimalPart(num, den); ok {
		r.multiplied(&n)
	}
	return n, ok
}

// decimalPart keeps the resolution of tenths, hundredths and thousandths.
func decimalPart(num, den int64) (Value, bool) {
	switch den {
	case 10:
		return Decimal(num, 1)
	case 100:
		return Decimal(num, 2)
	case 1000:
		return Decimal(num, 3)
	case 10_000:
		return Decimal(num, 4)
	}
	return Fraction(num, den)
}

// ratio reads numerator and denominator at i.
func (r Reader) ratio(i int) (num, den int64, end int, ok bool) {
	at := i
	if r.class(at) == Article {
		at++
	}
	switch w := r.word(at); w.Class {
	case Half:
		return 1, 2, at + 1, true
	case Part:
		// Without a numerator only "quarter", "tenth" and finer read as parts.
		if !w.Many && w.N > 2 && !r.slot(at+1) && (w.Nth == 0 || at > i || r.ofA(at+1) > at+1) {
			return 1, w.N, at + 1, true
		}
		return 0, 0, i, false
	case None, Digit, Zero, Teen, Tens, Hundred, Large, Point, And, Article, Repeat, Minus, Sounds, Of, Numeric, Dozen, Vulgar, Nth:
	}
	if at == i {
		num, at, ok = r.small(i)
	}
	if at > i && r.class(i) == Article && r.class(at) == Tens {
		den, end, ok = r.denominator(at, 1) // "a sixty fourth of an inch"
		return 1, den, end, ok
	}
	if num, den, end, ok := r.fine(i); ok {
		return num, den, end, ok
	}
	if !ok {
		return 0, 0, i, false
	}
	den, end, ok = r.denominator(at, num)
	if !ok && r.class(i) == Tens && at > i+1 {
		// "twenty five thousandths" is one number; "thirty one sixty fourths" needs the whole 31.
		return 0, 0, i, false
	}
	return num, den, end, ok
}

// fine reads so many parts of a unit that is cut into a thousand or more: "a hundred and
// twenty thousandths", "two hundred thousandths", "one oh four thousandths". "Fifteen ten
// thousandths" are as many ten-thousandths, as a machinist says them.
func (r Reader) fine(i int) (num, den int64, end int, ok bool) {
	if num, end, ok = r.small(i); ok && r.class(end) == Teen && r.Words[end].N == 10 && r.class(end+1) == Part && r.Words[end+1].N == 1000 {
		return num, 10_000, end + 2, true // "fifteen ten thousandths"
	}
	num, end, ok = r.whole(i)
	w := r.word(end)
	return num, w.N, end + 1, ok && w.Class == Part && w.Many && (w.N >= 1000 || w.N >= 10 && num > 100 && num%100 == 1)
}

// oneOfMany reports whether "one tenths" ends at end: then the one belongs to more, as in "a
// hundred and one tenths".
func (r Reader) oneOfMany(num int64, end int) bool {
	last := r.word(end - 1)
	return num == 1 && last.Class == Part && last.Many && last.N >= 10
}

// denominator reads "sixteenths", "quarter", "sixty fourths", "thirty seconds".
func (r Reader) denominator(i int, num int64) (den int64, end int, ok bool) {
	at := r.hyphen(i)
	w := r.word(at)
	switch w.Class {
	case Half:
		return 2, at + 1, num == 1 || w.Many
	case Part:
		if w.N == 2 || r.slot(at+1) {
			return 0, i, false
		}
		return w.N, at + 1, w.Many || num == 1 || w.N == 4 || w.N >= 100
	case Tens:
		next := r.hyphen(at + 1)
		p := r.part(next)
		if p.Class != Part || p.N > 9 {
			return 0, i, false
		}
		// "thirty seconds" is a time unless a length follows: "of an inch".
		if p.N == 2 && r.ofA(next+1) == next+1 && !r.unit(next+1) {
			return 0, i, false
		}
		return w.N + p.N, next + 1, p.Many || num == 1 || r.unit(next+1)
	case None, Digit, Zero, Teen, Hundred, Large, Point, And, Article, Repeat, Minus, Sounds, Of, Numeric, Dozen, Vulgar, Nth:
	}
	return 0, i, false
}

// part returns the word at i, "first" and "firsts" as what they are behind "twenty".
func (r Reader) part(i int) Word {
	if i < len(r.Tokens) {
		switch r.Tokens[i].Text {
		case "first":
			return Word{Class: Part, N: 1, Nth: 1}
		case "firsts":
			return Word{Class: Part, N: 1, Many: true}
		}
	}
	return r.word(i)
}

// ofA returns the index after "of a", "of an", "of the", "a" at i, or i.
func (r Reader) ofA(i int) int {
	at := i
	if r.class(at) == Of {
		at++
	}
	if r.class(at) == Article {
		at++
	}
	return at
}
