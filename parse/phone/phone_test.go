package phone_test

import (
	"strings"
	"testing"

	"readback/parse/phone"
)

func TestSound(t *testing.T) {
	for _, tt := range []struct{ written, sound, wrong string }{
		{" R  AH N AW T ", "R AH N AW T", ""},
		{"", "", ""},
		{"P S T", "", "without a vowel"},
		{"R AH0 T", "", `with "AH0", which is no phone`},
		{"ah", "", `with "ah", which is no phone`},
		{strings.Repeat("AH ", 41), "", "more than 40 phones"},
	} {
		sound, wrong, mend := phone.Sound("psst", tt.written)
		if sound != tt.sound || !strings.Contains(wrong, tt.wrong) || (wrong == "") != (tt.wrong == "") || (wrong == "") != (mend == "") {
			t.Errorf("%q: %q, %q, %q", tt.written, sound, wrong, mend)
		}
	}
	for word, is := range map[string]bool{"runout": true, "won't": true, "run-out": false, "two words": false, "Caps": false, "": false, "mr5": false} {
		if phone.Word(word) != is {
			t.Errorf("%q is a word: %v", word, !is)
		}
	}
}
