package token_test

import (
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"readback/parse/token"
)

// got is a token with the bytes of the note that it stands for.
type got struct {
	Text, Said string
	Kind       token.Kind
	Glued      bool
}

func split(note string) []got {
	out := []got{}
	for _, t := range token.Split(note, nil) {
		out = append(out, got{t.Text, note[t.Start:t.End], t.Kind, t.Glued})
	}
	return out
}

const (
	word    = token.Word
	numeral = token.Numeral
	sign    = token.Sign
)

// What Unicode folds is by its compatibility decompositions (UnicodeData.txt): U+00B5
// to U+03BC, U+2126 to U+03A9, full-width digits to digits, U+00BD to 1 U+2044 2.
func TestSplit(t *testing.T) {
	tests := []struct {
		name, note string
		want       []got
	}{
		{"nothing", "", []got{}},
		{"blanks alone", " \t\n\u00a0\u202f", []got{}},
		{"words", "Collar nut", []got{{"collar", "Collar", word, false}, {"nut", "nut", word, false}}},
		{"a unit behind its number", "48Nm", []got{{"48", "48", numeral, false}, {"nm", "Nm", word, true}}},
		{"a full stop is none of the number", "48. 5", []got{{"48", "48", numeral, false}, {".", ".", sign, true}, {"5", "5", numeral, false}}},
		{"a leading point", "to .05", []got{{"to", "to", word, false}, {".05", ".05", numeral, false}}},
		{"a point behind letters", "no.05", []got{{"no", "no", word, false}, {".", ".", sign, true}, {"05", "05", numeral, true}}},
		{"a decimal comma", "48,5", []got{{"48,5", "48,5", numeral, false}}},
		{"thousands", "1,234.5,", []got{{"1,234.5", "1,234.5", numeral, false}, {",", ",", sign, true}}},
		{"two points", "1..2", []got{{"1", "1", numeral, false}, {".", ".", sign, true}, {".2", ".2", numeral, true}}},
		{"micro sign U+00B5", "5\u00b5m", []got{{"5", "5", numeral, false}, {"\u03bcm", "\u00b5m", word, true}}},
		{"mu U+03BC", "5\u03bcm", []got{{"5", "5", numeral, false}, {"\u03bcm", "\u03bcm", word, true}}},
		{"ohm sign U+2126", "M\u2126", []got{{"m\u03c9", "M\u2126", word, false}}},
		{"omega U+03A9", "M\u03a9", []got{{"m\u03c9", "M\u03a9", word, false}}},
		{"kelvin sign U+212A", "3\u212a", []got{{"3", "3", numeral, false}, {"k", "\u212a", word, true}}},
		{"full-width digits", "４８ｍｍ", []got{{"48", "４８", numeral, false}, {"mm", "ｍｍ", word, true}}},
		{"degrees", "25°C", []got{{"25", "25", numeral, false}, {"°c", "°C", word, true}}},
		{"degrees in one sign", "25℃", []got{{"25", "25", numeral, false}, {"°c", "℃", word, true}}},
		{"degrees alone", "45°", []got{{"45", "45", numeral, false}, {"°", "°", word, true}}},
		{"a fraction sign", "3½", []got{{"3", "3", numeral, false}, {"1\u20442", "½", sign, true}}},
		{"a fraction in digits", "3 1/2", []got{{"3", "3", numeral, false}, {"1", "1", numeral, false}, {"/", "/", sign, true}, {"2", "2", numeral, true}}},
		{"an apostrophe in a word", "don't", []got{{"don't", "don't", word, false}}},
		{"a curled apostrophe", "don’t", []got{{"don't", "don’t", word, false}}},
		{"feet and inches", `5' 6"`, []got{{"5", "5", numeral, false}, {"'", "'", sign, true}, {"6", "6", numeral, false}, {`"`, `"`, sign, true}}},
		{"a closing quote", "nut' ok", []got{{"nut", "nut", word, false}, {"'", "'", sign, true}, {"ok", "ok", word, false}}},
		{"a hyphen", "run-out", []got{{"run", "run", word, false}, {"-", "-", sign, true}, {"out", "out", word, true}}},
		{"a minus sign", "−5", []got{{"−", "−", sign, false}, {"5", "5", numeral, true}}},
		{"a middle dot", "N·m", []got{{"n", "N", word, false}, {"·", "·", sign, true}, {"m", "m", word, true}}},
		{"a control character parts words", "nut\x00stage", []got{{"nut", "nut", word, false}, {"stage", "stage", word, false}}},
		{"bytes that are no UTF-8 part words", "nut\xff\xfestage", []got{{"nut", "nut", word, false}, {"stage", "stage", word, false}}},
		{"half a character", "\xc2", []got{}},
		{"a zero-width space parts words", "nut\u200bstage", []got{{"nut", "nut", word, false}, {"stage", "stage", word, false}}},
		{"marks of direction go", "\u202e48\u202c", []got{{"48", "48", numeral, false}}},
		{"a combining accent stays in its word", "e\u0301t", []got{{"\u00e9t", "e\u0301t", word, false}}},
		{"another script", "Гайка 48", []got{{"гайка", "Гайка", word, false}, {"48", "48", numeral, false}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, split(tt.note)); diff != "" {
				t.Errorf("Split(%q) (-want +got):\n%s", tt.note, diff)
			}
		})
	}
}

func TestRawKeepsCase(t *testing.T) {
	got := token.Split("mΩ MΩ", nil)
	if len(got) != 2 || got[0].Raw != "mΩ" || got[1].Raw != "MΩ" || got[0].Text != got[1].Text {
		t.Errorf("mΩ MΩ is %+v", got)
	}
}

func TestSplitAppends(t *testing.T) {
	buf := token.Split("one", nil)
	if got := token.Split("two", buf); len(got) != 2 || got[0].Text != "one" || got[1].Text != "two" || got[1].Glued {
		t.Errorf("appended, the tokens are %+v", got)
	}
}

func FuzzSplit(f *testing.F) {
	for _, s := range []string{
		"collar nut stage one 48 N·m", "5µm", "M\u2126", "４８", "25°C 3½", "don’t", ".05 48,5 1,234.5", "a\x00b\xff\xc2", "\u200b\u202e", "5'6\"", "..", "1.", "°'°",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, note string) {
		end := 0
		for i, tok := range token.Split(note, nil) {
			if tok.Start < end || tok.End <= tok.Start || tok.End > len(note) {
				t.Fatalf("Split(%q): token %d at %d to %d, behind %d", note, i, tok.Start, tok.End, end)
			}
			if tok.Glued != (i > 0 && tok.Start == end) {
				t.Fatalf("Split(%q): token %d is glued: %v", note, i, tok.Glued)
			}
			if tok.Text == "" || !utf8.ValidString(tok.Text) || !utf8.ValidString(note[tok.Start:tok.End]) {
				t.Fatalf("Split(%q): token %d is %q from %q", note, i, tok.Text, note[tok.Start:tok.End])
			}
			end = tok.End
		}
	})
}
