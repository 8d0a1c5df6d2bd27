package parse_test

import (
	"testing"

	"readback/parse"
)

func TestIsPhoto(t *testing.T) {
	for _, text := range append(parse.Photos(), "Photo.", "TAKE A PHOTO!", "  picture ") {
		if !parse.IsPhoto(text) {
			t.Errorf("%q is no command", text)
		}
	}
	for _, text := range []string{"", "no photo", "photo of the seat", "photo 2", "take a", "collar nut stage one photo", "photos"} {
		if parse.IsPhoto(text) {
			t.Errorf("%q is a command", text)
		}
	}
}
