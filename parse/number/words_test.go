package number_test

import (
	"testing"

	"readback/parse"
	"readback/parse/number"
)

func TestWords(t *testing.T) {
	words := number.Words()
	tests := []struct {
		word  string
		class number.Class
		n     int64
	}{
		{"zero", number.Zero, 0},
		{"oh", number.Zero, 0},
		{"nought", number.Zero, 0},
		{"one", number.Digit, 1},
		{"nine", number.Digit, 9},
		{"niner", number.Digit, 9}, // FAA 7110.65, spoken figures (from memory)
		{"ten", number.Teen, 10},
		{"nineteen", number.Teen, 19},
		{"twenty", number.Tens, 20},
		{"ninety", number.Tens, 90},
		{"hundred", number.Hundred, 100},
		{"thousand", number.Large, 1000},
		{"trillion", number.Large, 1_000_000_000_000},
		{"point", number.Point, 0},
		{"half", number.Half, 2},
		{"quarter", number.Part, 4},
		{"third", number.Part, 3},
		{"sixteenths", number.Part, 16},
		{"thousandth", number.Part, 1000},
		{"double", number.Repeat, 2},
		{"minus", number.Minus, 0},
		{"ate", number.Sounds, 8},
		{"first", number.Nth, 1},
		{"dozen", number.Dozen, 12},
	}
	for _, tt := range tests {
		if w := words[tt.word]; w.Class != tt.class || w.N != tt.n {
			t.Errorf("%s is %+v, want class %d, %d", tt.word, w, tt.class, tt.n)
		}
	}
	if _, ok := words["firsts"]; ok {
		t.Error(`"firsts" counts as a number`)
	}
	for w, part := range words {
		if part.Class == number.None {
			t.Errorf("%q has no class", w)
		}
	}
}

// Callers may change their copy.
func TestWordsAreACopy(t *testing.T) {
	delete(number.Words(), "one")
	if _, ok := number.Words()["one"]; !ok {
		t.Error("one caller took the word from all others")
	}
}

func TestVulgarWord(t *testing.T) {
	if w, ok := number.VulgarWord("3⁄4"); !ok || w.Class != number.Vulgar || w.N != 304 {
		t.Errorf("¾ is %+v, %v", w, ok)
	}
	for _, s := range []string{"", "3", "3/4", "3⁄", "⁄4", "3⁄0", "3⁄-4", "3⁄100", "a⁄b"} {
		if w, ok := number.VulgarWord(s); ok {
			t.Errorf("%q is %+v", s, w)
		}
	}
}

// How numbers are said and written at a bench (common practice).
func TestReading(t *testing.T) {
	tests := []struct{ note, want string }{
		// digits
		{"48 mm", "48"},
		{"48.50 mm", "48.50"},
		{".05 mm", "0.05"},
		{"48,5 mm", "48.5"},
		{"0,850 mm", "0.850"},
		{"1,234,567 mm", "1234567"},
		{"1,234.5 mm", "1234.5"},
		{"1.234,5 mm", "1234.5"},
		{"-5 mm", "-5"},
		{"−5 mm", "-5"},
		{"1/8 in", "0.125"},
		{"3 1/2 in", "3.5"},
		{"2-1/4 in", "2.25"},
		{"3½ in", "3.5"},
		{"⅔ in", "2/3"},
		{"3x10^3 Pa", "3000"},
		{"6.3e2 Pa", "630"},
		{"5e-3 mm", "0.005"},
		{"2 thousand mm", "2000"},
		{"1.5 million Pa", "1500000"},
		{"48 point 2 mm", "48.2"},
		{"48 point two five mm", "48.25"},
		// words
		{"forty eight mm", "48"},
		{"forty-eight mm", "48"},
		{"four hundred and twenty five mm", "425"},
		{"twelve thousand three hundred and forty mm", "12340"},
		{"a hundred mm", "100"},
		{"one twenty mm", "120"},
		{"four twenty five mm", "425"},
		{"two oh five mm", "205"},
		{"double five mm", "55"},
		{"point oh four mm", "0.04"},
		{"zero point zero five mm", "0.05"},
		{"eight point nought five mm", "8.05"},
		{"ninety nine point five zero mm", "99.50"},
		{"one point twenty five mm", "1.25"},
		{"minus five mm", "-5"},
		{"forty ate mm", "48"},
		{"fower niner mm", "49"},
		{"half a mm", "0.5"},
		{"three quarters of a mm", "0.75"},
		{"one and a half mm", "1.5"},
		{"eighty two and three quarter mm", "82.75"},
		{"seven thirty seconds of an inch", "0.21875"},
		{"three sixteenths of an inch", "0.1875"},
		{"thirty one sixty fourths of an inch", "0.484375"},
		{"two thirds of a mm", "2/3"},
		{"a hundredth of a mm", "0.01"},
		{"twenty five thousandths of an inch", "0.025"},
		{"two thou and a half", "2.5"},
		// none
		{"10:30", ""},
		{"12/11/2026", ""},
		{"3.2.1", ""},
		{"to for too", ""},
		{"the second", ""},
	}
	for _, tt := range tests {
		got := parse.Quantities(tt.note)
		switch {
		case tt.want == "" && len(got) > 0:
			t.Errorf("%q gives %v, want none", tt.note, got)
		case tt.want != "" && (len(got) != 1 || got[0].Value.String() != tt.want):
			t.Errorf("%q gives %v, want %s", tt.note, got, tt.want)
		}
	}
}
