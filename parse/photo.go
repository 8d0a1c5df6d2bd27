package parse

import (
	"slices"
	"strings"

	"readback/parse/token"
)

// photos are the whole notes that have a picture taken.
var photos = []string{"photo", "take a photo", "picture", "take a picture"}

// Photos lists what may be said to have a photo taken of what the last note was about. Each is a whole
// note, and is none for the record.
func Photos() []string { return slices.Clone(photos) }

// IsPhoto reports whether a note is such a command, whatever its capitals and stops.
func IsPhoto(text string) bool {
	var words []string
	for _, t := range token.Split(text, nil) {
		if t.Kind != token.Sign {
			words = append(words, t.Text)
		}
	}
	return slices.Contains(photos, strings.Join(words, " "))
}
