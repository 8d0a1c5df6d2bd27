// Package phone checks how words are said to sound. The phones are those of the CMU Pronouncing
// Dictionary without marks of stress, which offline recognisers take: R AH N AW T.
package phone

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// All lists the phones.
func All() []string { return slices.Clone(arpabet) }

var arpabet = strings.Fields("AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH")

// vowels are those of them that make a syllable.
var vowels = strings.Fields("AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW")

// most is how many phones a word has at most.
const most = 40

// Word reports whether text is one word of which a sound can be given: small letters and apostrophes.
func Word(text string) bool {
	return text != "" && !strings.ContainsFunc(text, func(c rune) bool { return c != '\'' && !unicode.IsLower(c) })
}

// WordRule says what would be one.
const WordRule = "write one word in small letters, as it stands in a spoken form; a hyphen parts two words"

// Sound returns the phones of a word with single spaces, or what is wrong with them and what would do. Of
// no phones at all it says nothing and returns "".
func Sound(word, written string) (sound, wrong, mend string) {
	phones := strings.Fields(written)
	spoken := false
	for _, p := range phones {
		if !slices.Contains(arpabet, p) {
			mend := "write phones of " + strings.Join(arpabet, " ")
			if plain := strings.TrimRight(strings.ToUpper(p), "0123456789"); slices.Contains(arpabet, plain) {
				mend = "write " + plain + ": capitals, without a mark of stress"
			}
			return "", fmt.Sprintf("the word %s is pronounced with %s, which is no phone", quote(word), quote(p)), mend
		}
		spoken = spoken || slices.Contains(vowels, p)
	}
	switch {
	case len(phones) == 0:
		return "", "", ""
	case !spoken:
		return "", fmt.Sprintf("the word %s is pronounced without a vowel", quote(word)), "write all of its phones, as R AH N AW T"
	case len(phones) > most:
		return "", fmt.Sprintf("the word %s has more than %d phones", quote(word), most), "is that one word?"
	}
	return strings.Join(phones, " "), "", ""
}

// quote shows a word, cut short where it is none.
func quote(word string) string {
	if utf8.RuneCountInString(word) > most {
		word = string([]rune(word)[:most]) + "..."
	}
	return strconv.Quote(word)
}
