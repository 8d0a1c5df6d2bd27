// Package token cuts a note into words, numerals and signs, each with its range of
// bytes. It folds what only looks different (case, the two micro signs, full-width
// digits) into a copy; the ranges always point into the note as it was said.
//
// It cannot fail: control characters and bytes that are no UTF-8 separate words.
package token

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// Kind says what a token is made of.
type Kind uint8

// The kinds of tokens.
const (
	Word    Kind = iota // letters, with apostrophes inside; ° and the letter after it
	Numeral             // digits, with points and commas between them
	Sign                // one other character
)

// Token is a word, numeral or sign of a note.
type Token struct {
	Text       string // folded to lower case
	Raw        string // folded, but with the case as said
	Start, End int    // half-open range of bytes in the note
	Kind       Kind
	Glued      bool // nothing stands between this token and the one before
}

// Split appends the tokens of note to buf and returns it. It reads the note once.
func Split(note string, buf []Token) []Token {
	glued := false
	for i := 0; i < len(note); {
		start, kind := i, Sign
		r, size := decode(note[i:])
		switch {
		case r == utf8.RuneError && size == 1, r == ' ', unicode.IsSpace(r), unicode.IsControl(r), isInvisible(r):
			i, glued = i+size, false
			continue
		case isDigit(r), r == '.' && startsNumeral(note, i):
			i, kind = numeralEnd(note, i), Numeral
		case isLetter(r):
			i, kind = wordEnd(note, i), Word
		default:
			i += size
		}
		raw := fold(note[start:i])
		buf = append(buf, Token{
			Text: lower(raw), Raw: raw, Start: start, End: i, Kind: kind, Glued: glued,
		})
		glued = true
	}
	return buf
}

func decode(s string) (r rune, size int) {
	if s[0] < utf8.RuneSelf {
		return rune(s[0]), 1
	}
	return utf8.DecodeRuneInString(s)
}

func isDigit(r rune) bool { return '0' <= r && r <= '9' || '０' <= r && r <= '９' }

func isLetter(r rune) bool {
	if r < utf8.RuneSelf {
		return 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' || r == '_'
	}
	return unicode.IsLetter(r) || unicode.IsMark(r) || r == '°' || r == '℃' || r == '℉'
}

// isInvisible reports whether r only steers layout: zero-width and bidirectional marks.
func isInvisible(r rune) bool { return r > utf8.RuneSelf && unicode.Is(unicode.Cf, r) }

// startsNumeral reports whether the point at i opens a numeral, as in ".05".
func startsNumeral(note string, i int) bool {
	if i+1 >= len(note) || !isDigit(rune(note[i+1])) {
		return false
	}
	before, _ := utf8.DecodeLastRuneInString(note[:i])
	return i == 0 || !isDigit(before) && !isLetter(before)
}

// numeralEnd returns where the numeral at i ends: its last digit. Points and commas
// belong to it where digits follow.
func numeralEnd(note string, i int) int {
	end := i
	for i < len(note) {
		r, size := decode(note[i:])
		switch {
		case isDigit(r):
			i += size
			end = i
		case (r == '.' || r == ',') && i+1 < len(note) && isDigit(rune(note[i+1])):
			i++
		default:
			return end
		}
	}
	return end
}

func wordEnd(note string, i int) int {
	for i < len(note) {
		r, size := decode(note[i:])
		if !isLetter(r) && !isApostrophe(note, i, r, size) {
			return i
		}
		i += size
	}
	return i
}

// isApostrophe reports whether r at i is an apostrophe between two letters.
func isApostrophe(note string, i int, r rune, size int) bool {
	if r != '\'' && r != '’' || i+size >= len(note) {
		return false
	}
	after, n := decode(note[i+size:])
	if !isLetter(after) || after == '°' {
		return false
	}
	// 5'x would be feet; only letters around an apostrophe make a word.
	return i > 0 && n > 0
}

// fold maps compatibility characters to one form: µ to μ, Ω (ohm) to Ω (omega),
// full-width digits to digits, ’ to '. ASCII comes back as it is, without a copy.
func fold(s string) string {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return strings.ReplaceAll(norm.NFKC.String(s), "’", "'")
		}
	}
	return s
}

// lower lowers a folded word. Without capitals it makes no copy.
func lower(s string) string {
	for i := range len(s) {
		if c := s[i]; c >= utf8.RuneSelf || 'A' <= c && c <= 'Z' {
			return strings.ToLower(s)
		}
	}
	return s
}
