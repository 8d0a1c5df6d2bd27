package parse

import (
	"slices"
	"strings"
)

// Disposes are the words by which what is out gets its disposition, in the words of the trade: rework, use as is, scrap. Each
// is a whole note, and is none for the record: whoever hears it asks which finding is meant, and why.
var Disposes = []struct {
	Is  string
	Say []string
}{
	{"rework", []string{"rework the part"}},
	{"use as is", []string{"use the part as is", "use it as is"}},
	{"scrap", []string{"scrap the part"}}, // "scrap that" is too near to "scratch that"
}

// Disposition returns the disposition that a note gives, whatever capitals and stops are around it.
func Disposition(text string) (is string, ok bool) {
	said := strings.ToLower(strings.Join(strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" \t\n.,;:!?", r) }), " "))
	for _, d := range Disposes {
		if slices.Contains(d.Say, said) {
			return d.Is, true
		}
	}
	return "", false
}
