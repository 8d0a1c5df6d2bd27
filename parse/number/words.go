package number

// Class says what part a word can play in a number.
type Class uint8

// The classes of number words.
const (
	None    Class = iota
	Digit         // one to nine; N is its value
	Zero          // oh, nought, zero
	Teen          // ten to nineteen
	Tens          // twenty to ninety
	Hundred       // N is 100
	Large         // thousand and up; N is its value
	Point         // point, decimal
	And           // and
	Article       // a, an
	Half          // half
	Part          // quarter(s), third(s), tenth(s) ...; N is the denominator
	Repeat        // double, triple; N is how often
	Minus         // minus, negative
	Sounds        // sounds like a digit: to, for, ate, won; N is the digit
	Of            // of
	Numeric       // a numeral in digits
	Dozen         // N is 12
	Vulgar        // ½ and its kin: N is 100 × numerator + denominator
	Nth           // first, second, third ... as a place in a row; N is the place (Part where it is a denominator too)
)

// Word is what a word can mean in a number.
type Word struct {
	Class Class
	N     int64
	Nth   int64 // place in a row, where the word is an ordinal; 0 otherwise
	Many  bool  // a plural: thirds
	Small bool  // of Sounds: far more often the small word that it is, "to" and "for"
}

// Words lists every number word in lower case. It is made anew at each call; the
// vocabulary keeps it.
func Words() map[string]Word {
	m := make(map[string]Word, 160)
	list := func(c Class, from, step int64, words ...string) {
		for i, w := range words {
			if w != "" {
				m[w] = Word{Class: c, N: from + int64(i)*step}
			}
		}
	}
	list(Digit, 1, 1, "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
	list(Teen, 10, 1, "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen")
	list(Tens, 20, 10, "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
	list(Zero, 0, 0, "zero", "oh", "nought", "naught", "nil", "ought", "aught", "zeros", "zeroes")
	// Heard or said so on the radio: FAA 7110.65, table of spoken figures; ICAO Annex 10.
	list(Digit, 3, 0, "tree")
	list(Digit, 4, 0, "fower")
	list(Digit, 5, 0, "fife")
	list(Digit, 8, 0, "ait")
	list(Digit, 9, 0, "niner")
	m["fourty"], m["ninty"], m["fivety"] = Word{Class: Tens, N: 40}, Word{Class: Tens, N: 90}, Word{Class: Tens, N: 50} //nolint:misspell // as people spell it
	m["hundred"], m["hundreds"] = Word{Class: Hundred, N: 100}, Word{Class: Hundred, N: 100}
	m["thousand"] = Word{Class: Large, N: 1_000}
	m["million"] = Word{Class: Large, N: 1_000_000}
	m["billion"] = Word{Class: Large, N: 1_000_000_000}
	m["trillion"] = Word{Class: Large, N: 1_000_000_000_000}
	m["point"], m["decimal"], m["dot"] = Word{Class: Point}, Word{Class: Point}, Word{Class: Point}
	m["and"], m["a"], m["an"], m["of"] = Word{Class: And}, Word{Class: Article}, Word{Class: Article}, Word{Class: Of}
	m["half"], m["halves"] = Word{Class: Half, N: 2}, Word{Class: Half, N: 2, Many: true}
	m["double"], m["triple"], m["treble"] = Word{Class: Repeat, N: 2}, Word{Class: Repeat, N: 3}, Word{Class: Repeat, N: 3}
	m["minus"], m["negative"] = Word{Class: Minus}, Word{Class: Minus}
	m["dozen"], m["dozens"] = Word{Class: Dozen, N: 12}, Word{Class: Dozen, N: 12}
	m["millions"], m["billions"] = Word{Class: Large, N: 1_000_000}, Word{Class: Large, N: 1_000_000_000}
	m["to"], m["for"] = Word{Class: Sounds, N: 2, Small: true}, Word{Class: Sounds, N: 4, Small: true}
	list(Sounds, 2, 0, "too")
	list(Sounds, 4, 0, "fore")
	list(Sounds, 8, 0, "ate")
	list(Sounds, 1, 0, "won")
	ordinals(m)
	return m
}

// ordinals adds first, second, third ... and the denominators made of them.
func ordinals(m map[string]Word) {
	names := []string{
		"first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
		"eleventh", "twelfth", "thirteenth", "fourteenth", "fifteenth", "sixteenth", "seventeenth", "eighteenth", "nineteenth", "twentieth",
	}
	for i, w := range names {
		n := int64(i + 1)
		m[w] = Word{Class: Part, N: n, Nth: n}
		m[w+"s"] = Word{Class: Part, N: n, Many: true}
	}
	m["first"] = Word{Class: Nth, N: 1, Nth: 1}
	delete(m, "firsts")
	m["1st"], m["2nd"], m["3rd"] = Word{Class: Nth, N: 1, Nth: 1}, Word{Class: Nth, N: 2, Nth: 2}, Word{Class: Nth, N: 3, Nth: 3}
	for tens, n := range map[string]int64{"twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90} {
		for i, w := range names[:9] {
			m[tens+w] = Word{Class: Nth, N: n + int64(i) + 1, Nth: n + int64(i) + 1} // "thirtyfirst"
		}
	}
	for w, n := range map[string]int64{
		"quarter": 4, "thirtieth": 30, "fortieth": 40, "fiftieth": 50, "sixtieth": 60, "seventieth": 70,
		"eightieth": 80, "ninetieth": 90, "hundredth": 100, "thousandth": 1000, "millionth": 1_000_000, "billionth": 1_000_000_000, "trillionth": 1_000_000_000_000,
	} {
		m[w], m[w+"s"] = Word{Class: Part, N: n, Nth: n}, Word{Class: Part, N: n, Many: true}
	}
	m["quarter"] = Word{Class: Part, N: 4}
}

// vulgar lists the fraction characters as Unicode's compatibility folding leaves
// them: numerator, fraction slash U+2044, denominator.
const fractionSlash = "⁄"
