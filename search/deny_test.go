package search

import (
	"strings"
	"testing"

	"readback/parse"
)

func TestAffirmed(t *testing.T) {
	for _, tt := range []struct{ text, yes, no string }{
		{"thrust washer scored", "thrust washer scored", ""},
		{"no wear", "no", "wear"},
		{"no wear, washer scored", "no , washer scored", "wear"},
		{"no visible wear or scoring on the sleeve", "no visible or on the sleeve", "wear scoring"},
		{"sleeve not scored and not worn", "sleeve not and not", "scored worn"},
		{"washer isn’t worn but bush cracked", "washer isn’t but bush cracked", "worn"},
		{"free of rust", "free of", "rust"},
		{"casing rust free", "casing free", "rust"},
		{"shaft turns free", "shaft turns free", ""},
		{"inlet free", "inlet free", ""},
		{"wear none", "none", "wear"},
		{"neither worn nor scored", "neither nor", "worn scored"},
		{"not only scored but bent", "not only scored but bent", ""},
		{"no doubt seized", "no doubt seized", ""},
		{"never any sign of leaking", "never any sign of", "leaking"},
		{"wear rings worn", "rings worn", "wear"},
		{"lock washer fitted, supply locked out", "washer fitted, supply out", "lock locked"},
		{"end play up", "end up", "play"},
		{"no longer leaks", "no longer", "leaks"},
	} {
		yes, no := affirmed(tt.text, nil)
		if len(yes) != len(tt.text) || strings.Join(strings.Fields(yes), " ") != tt.yes || strings.TrimSpace(no) != tt.no {
			t.Errorf("affirmed(%q) = %q, %q; want %q, %q", tt.text, strings.Join(strings.Fields(yes), " "), no, tt.yes, tt.no)
		}
	}
	yes, no := affirmed("nowt worn there", []parse.Condition{{Condition: "worn", Absent: true, Span: parse.Span{Start: 5, End: 9}}, {Absent: true, Span: parse.Span{Start: 9, End: 99}}})
	if yes != "nowt      there" || no != "worn " {
		t.Errorf("what the parser found absent: %q, %q", yes, no)
	}
}
