package say

import (
	"cmp"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"readback/parse/number"
	"readback/parse/unit"
)

// Aloud returns a written sentence in words alone, for a voice that would stumble over
// figures and signs: "51 N·m, out: -0.05 to 0.05 mm (4 of them)" is "fifty-one newton
// metres, out: minus zero point zero five to zero point zero five millimetres, four of
// them". A value and its unit come out as [Quantity] says them. What is left holds
// letters of the English alphabet, spaces, apostrophes, hyphens between letters, and
// marks that are a pause; "" where nothing in it can be spoken. A text that is all words
// stays as it is.
func Aloud(text string) string {
	for range passes {
		a := aloud{text: alike.Replace(text)}
		for a.at < len(a.text) {
			a.next()
		}
		words := punctuate(a.out.String())
		if words == text {
			break
		}
		text = words
	}
	return text
}

// passes bounds how often a text is read: a sign that became a word can show that a short
// word before it ended no sentence.
const passes = 8

// alike folds signs that only look different.
var alike = strings.NewReplacer("μ", "µ", "\u2126", "Ω", "\u2212", "-", "\u2011", "-", "\u00a0", " ", "\u202f", " ", "’", "'")

type aloud struct {
	text string
	at   int
	out  strings.Builder
}

// rest is what was not read yet.
func (a *aloud) rest() string { return a.text[a.at:] }

// before is the character before the one that is read; a space at the start.
func (a *aloud) before() rune {
	if a.at == 0 {
		return ' '
	}
	r, _ := utf8.DecodeLastRuneInString(a.text[:a.at])
	return r
}

// write adds words, apart from those before and behind them.
func (a *aloud) write(words string) {
	a.out.WriteByte(' ')
	a.out.WriteString(words)
	a.out.WriteByte(' ')
}

func (a *aloud) next() {
	r, size := utf8.DecodeRuneInString(a.rest())
	switch {
	case r == utf8.RuneError && size <= 1:
		a.at++
		a.out.WriteByte(' ')
	case numeral.MatchString(a.rest()) && (digit(r) || a.opens()):
		a.number()
	case a.sign():
	case unicode.IsLetter(r):
		a.word()
	default:
		a.at += size
		a.out.WriteString(cmp.Or(signs[r], " "))
	}
}

// opens reports whether a sign or a point may begin a number here: "-0.05", ".5", but not
// "P-104".
func (a *aloud) opens() bool {
	b := a.before()
	return !unicode.IsLetter(b) && !digit(b) && b != ')'
}

func digit(r rune) bool { return '0' <= r && r <= '9' }

var (
	numeral  = regexp.MustCompile(`^[+±-]?(?:\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)*|\.\d+)`)
	day      = regexp.MustCompile(`^(\d{4})-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])\b`)
	clock    = regexp.MustCompile(`^([01]?\d|2[0-3]):([0-5]\d)\b`)
	against  = regexp.MustCompile(`^(\d{1,6}):(\d{1,6})\b`)
	part     = regexp.MustCompile(`^(\d{1,6})/([1-9]\d{0,5})\b`)
	upTo     = regexp.MustCompile(`^ ?[-–—] ?\.?\d`)
	inchWord = regexp.MustCompile(`^ (?:and|or|to|at|from|over|deep|long|wide)\b`)
)

var months = [...]string{"January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"}

// number reads what begins with a figure.
func (a *aloud) number() {
	rest := a.rest()
	if m := day.FindStringSubmatch(rest); m != nil {
		a.at += len(m[0])
		a.write("the " + Ordinal(atoi(m[3])) + " of " + months[atoi(m[2])-1] + " " + Int(atoi(m[1])))
		return
	}
	if m := clock.FindStringSubmatch(rest); m != nil {
		a.at += len(m[0])
		a.write(strings.TrimSpace(Int(atoi(m[1])) + " " + minutes(m[2])))
		return
	}
	if m := against.FindStringSubmatch(rest); m != nil {
		a.at += len(m[0])
		a.write(Int(atoi(m[1])) + " to " + Int(atoi(m[2])))
		return
	}
	text := numeral.FindString(rest)
	sign := ""
	switch r, size := utf8.DecodeRuneInString(text); r {
	case '-':
		sign, text = "minus ", text[size:]
	case '+':
		sign, text = "plus ", text[size:]
	case '±':
		sign, text = "plus or minus ", text[size:]
	}
	a.at += len(rest) - len(strings.TrimLeft(rest, "+-±"))
	if m := part.FindStringSubmatch(a.rest()); m != nil {
		a.fraction(sign, atoi(m[1]), atoi(m[2]), len(m[0]))
		return
	}
	a.decimal(sign, text)
}

func minutes(text string) string {
	switch n := atoi(text); {
	case n == 0:
		return "hundred hours"
	case n < 10:
		return "oh " + Int(n)
	default:
		return Int(n)
	}
}

func (a *aloud) fraction(sign string, num, den int64, size int) {
	a.at += size
	words := fraction(num, den)
	switch {
	case den == 1 || num%den == 0:
		words = Int(num / den)
	case den == 2 && num == 1:
		words = "half"
	case den == 2 || den == 4:
		words = Int(num) + " " + map[int64]string{2: "half", 4: "quarter"}[den] + map[bool]string{true: "s"}[num != 1]
		words = strings.Replace(words, "halfs", "halves", 1)
	}
	u, size := a.unit()
	a.at += size
	a.write(strings.TrimSpace(sign + words + " " + Unit(u, num != den)))
}

// decimal reads a number with its unit, if one follows.
func (a *aloud) decimal(sign, text string) {
	letter := unicode.IsLetter(a.before()) || a.before() == '-' && a.coded()
	a.at += len(text)
	code, size := a.unit()
	if b, _ := utf8.DecodeRuneInString(a.rest()); size == 0 && unicode.IsLetter(b) {
		letter = true // "4b" is a name
	}
	v, ok := number.Parse(strings.ReplaceAll(leading(text), ",", ""))
	if !ok || size == 0 && (letter || figures(text)) {
		a.write(sign + spell(text))
		a.between()
		return
	}
	a.at += size
	if sign == "minus " {
		v, sign = v.Neg(), ""
		if v.Sign() == 0 {
			sign = "minus "
		}
	}
	a.write(sign + Quantity(v, code))
	a.between()
}

// between reads a dash between two numbers as "to".
func (a *aloud) between() {
	if m := upTo.FindString(a.rest()); m != "" {
		a.at += strings.IndexFunc(m, func(r rune) bool { return r == '.' || digit(r) })
		a.write("to")
	}
}

// leading gives a number that begins with its point a zero.
func leading(text string) string {
	if strings.HasPrefix(text, ".") {
		return "0" + text
	}
	return text
}

// figures reports whether a number is a row of figures rather than an amount: a serial
// number, what begins with a zero, a number of several points.
func figures(text string) bool {
	whole := !strings.ContainsAny(text, ".,")
	return whole && (len(text) > 3 || len(text) > 1 && text[0] == '0') || strings.Count(text, ".") > 1
}

// spell reads figures one by one.
func spell(text string) string {
	var words []string
	for _, r := range text {
		switch {
		case digit(r):
			words = append(words, units[r-'0'])
		case r == '.':
			words = append(words, "point")
		}
	}
	return strings.Join(words, " ")
}

// coded reports whether the hyphen before a figure joins it to letters: "P-104".
func (a *aloud) coded() bool {
	r, _ := utf8.DecodeLastRuneInString(a.text[:a.at-1])
	return unicode.IsLetter(r)
}

// symbol is a unit as it is written.
type symbol struct{ text, code string }

// symbols are what units are written as, the longest first.
var symbols = sync.OnceValue(func() []symbol {
	var out []symbol
	for _, u := range unit.All() {
		if u.Symbol != "" {
			out = append(out, symbol{u.Symbol, u.Code})
		}
	}
	slices.SortStableFunc(out, func(a, b symbol) int { return len(b.text) - len(a.text) })
	return out
})

// unit returns the unit that is written here, behind a number or a space, and how many
// bytes it takes; 0 for none.
func (a *aloud) unit() (code string, size int) {
	rest := strings.TrimPrefix(a.rest(), " ")
	space := len(a.rest()) - len(rest)
	for _, s := range symbols() {
		if behind, ok := strings.CutPrefix(rest, s.text); ok && ends(behind) && (s.code != "[in_i]" || inch(behind)) {
			return s.code, space + len(s.text)
		}
	}
	return "", 0
}

// ends reports whether a word ends before the text.
func ends(text string) bool {
	r, _ := utf8.DecodeRuneInString(text)
	return text == "" || !unicode.IsLetter(r) && !unicode.IsNumber(r) && r != '/' && r != '·' && r != '\'' && (r != '-' || len(text) == 1)
}

// inch reports whether "in" before the text is an inch rather than the small word: no
// word follows that it could belong to.
func inch(behind string) bool {
	if behind == "" || inchWord.MatchString(behind) {
		return true
	}
	r, _ := utf8.DecodeRuneInString(strings.TrimLeft(behind, " "))
	return !unicode.IsLetter(r) && !unicode.IsNumber(r)
}

// sign reads a unit that stands without a number, where nothing else can be meant.
func (a *aloud) sign() bool {
	if unicode.IsLetter(a.before()) || a.before() == '\'' {
		return false
	}
	code, size := a.unit()
	if size == 0 || !strings.ContainsFunc(a.rest()[:size], func(r rune) bool { return r >= utf8.RuneSelf || r == '/' || r == '%' }) {
		return false
	}
	a.at += size
	a.write(Unit(code, true))
	return true
}

// short is what is written shorter than it is said, with its point.
var short = map[string]string{"rev.": "revision", "no.": "number", "max.": "at most", "min.": "at least", "approx.": "about", "incl.": "with", "e.g.": "for example", "i.e.": "that is"}

func (a *aloud) word() {
	rest := a.rest()
	for text, words := range short {
		if len(rest) > len(text) && strings.EqualFold(rest[:len(text)], text) && !unicode.IsLetter(a.before()) && !sentence.MatchString(rest[len(text):]) {
			a.at += len(text)
			a.write(words)
			return
		}
	}
	for more := true; more; more = a.inside() {
		end := strings.IndexFunc(a.rest(), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsMark(r) })
		if end < 0 {
			end = len(a.rest())
		}
		a.out.WriteString(plain(a.rest()[:end]))
		a.at += end
	}
}

// inside reads what stands in the middle of a word, an apostrophe or a hyphen, and reports
// whether letters follow that belong to it.
func (a *aloud) inside() bool {
	if len(a.rest()) < 2 {
		return false
	}
	mark := a.rest()[0]
	behind, _ := utf8.DecodeRuneInString(a.rest()[1:])
	switch {
	case mark == '-' && digit(behind):
		a.at++
		a.write("dash")
		return false
	case (mark == '-' || mark == '\'') && unicode.IsLetter(behind) && plain(string(behind)) != "" && plain(string(a.before())) != "":
		a.at++
		a.out.WriteByte(mark)
		return true
	}
	return false
}

// sentence finds the start of the next sentence; "C" alone is a revision.
var sentence = regexp.MustCompile(`^[^A-Za-z0-9]*(?:[A-Z][a-z]|$)`)

// plain writes a word with the letters of the English alphabet.
func plain(word string) string {
	var b strings.Builder
	for _, r := range norm.NFKD.String(word) {
		switch {
		case r < utf8.RuneSelf && unicode.IsLetter(r):
			b.WriteRune(r)
		case r == 'ß':
			b.WriteString("ss")
		case r == 'ø' || r == 'Ø':
			b.WriteByte('o')
		case r == 'æ' || r == 'Æ':
			b.WriteString("ae")
		}
	}
	return b.String()
}

// signs is what a sign says where it is no part of a number, a unit or a word.
var signs = map[rune]string{
	'.': ".", ',': ",", ';': ";", ':': ":", '?': "?", '!': "!",
	'(': ", ", ')': ", ", '[': ", ", ']': ", ", '–': ", ", '—': ", ", '-': ", ", '…': ".", '/': " or ", '\n': ", ",
	'±': " plus or minus ", '+': " plus ", '=': " equals ", '×': " times ", '÷': " divided by ", '≥': " at least ", '≤': " at most ",
	'>': " more than ", '<': " less than ", '≈': " about ", '~': " about ", '&': " and ", '@': " at ", '#': " number ", '→': " to ",
	'%': " per cent ", '°': " degrees ", '½': " half ", '¼': " a quarter ", '¾': " three quarters ",
}

var (
	spaces  = regexp.MustCompile(`\s+`)
	tight   = regexp.MustCompile(`\s+([.,;:?!])`)
	several = regexp.MustCompile(`[.,;:?!](?:\s*[.,;:?!])+`)
	touch   = regexp.MustCompile(`([.,;:?!])([A-Za-z])`)
)

// punctuate leaves one mark where several came together, the heaviest, and none at the
// start.
func punctuate(text string) string {
	text = tight.ReplaceAllString(spaces.ReplaceAllString(text, " "), "$1")
	text = several.ReplaceAllStringFunc(text, func(marks string) string {
		for _, heavy := range "?!.:;" {
			if strings.ContainsRune(marks, heavy) {
				return string(heavy)
			}
		}
		return ","
	})
	text = touch.ReplaceAllString(text, "$1 $2")
	text = strings.TrimRight(strings.TrimLeft(text, " .,;:?!'-"), " ,'-")
	if !strings.ContainsFunc(text, unicode.IsLetter) {
		return ""
	}
	return text
}
