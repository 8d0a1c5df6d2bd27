package voice

import (
	"regexp"
	"strings"
)

// spelt is how words of the trade are written for a program that says them wrongly as they
// are; flite shows its sounds with -ps. MR and BH are models of the demo, not mister.
var spelt = map[string]string{
	"thou": "thow", "runout": "run out", "psi": "P S I", "microhm": "micro ohm", "microhms": "micro ohms", "kilohm": "kilo ohm",
	"kilohms": "kilo ohms", "microinch": "micro inch", "microinches": "micro inches",
	"uv": "U V", "vw": "V W", "wu": "W U", "rpm": "R P M", "retorqued": "re torqued", "mr": "M R", "bh": "B H",
}

var letters = regexp.MustCompile(`[A-Za-z]+`)

// spellings writes words so that a program says them rightly.
func spellings(words string) string {
	return letters.ReplaceAllStringFunc(words, func(word string) string {
		if s, ok := spelt[strings.ToLower(word)]; ok {
			return s
		}
		return word
	})
}
