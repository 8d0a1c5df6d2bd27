package lexicon_test

import (
	"testing"

	"pgregory.net/rapid"

	"readback/parse/lexicon"
)

// Words that are heard one for another must sound alike. The table is our own; common
// practice in matching by sound.
func TestSound(t *testing.T) {
	alike := [][]string{
		{"collar", "caller", "color", "cooler"},
		{"nut", "knut", "nutt", "note"},
		{"phase", "faze", "vase"},
		{"wrench", "rench"},
		{"check", "chek"},
		{"bolt", "polt"},
		{"thrust", "trust"},
		{"shaft", "shafft"},
		{"write", "right", "rite"},
	}
	for _, group := range alike {
		for _, w := range group[1:] {
			if a, b := lexicon.Sound(group[0]), lexicon.Sound(w); a != b {
				t.Errorf("%s sounds as %q, %s as %q", group[0], a, w, b)
			}
		}
	}
	apart := [][2]string{{"collar", "coupling"}, {"nut", "bolt"}, {"rod", "stage"}, {"runout", "insulation"}, {"up", "down"}}
	for _, pair := range apart {
		if a, b := lexicon.Sound(pair[0]), lexicon.Sound(pair[1]); a == b {
			t.Errorf("%s and %s both sound as %q", pair[0], pair[1], a)
		}
	}
	for word, want := range map[string]string{"collar": "klr", "end": "ant", "": "", "a": "a", "h": "", "aa": "a"} {
		if got := lexicon.Sound(word); got != want {
			t.Errorf("Sound(%q) = %q, want %q", word, got, want)
		}
	}
}

// Levenshtein's distance, with a limit.
func TestSlip(t *testing.T) {
	tests := []struct {
		a, b        string
		limit, want int
	}{
		{"", "", 2, 0},
		{"collar", "collar", 2, 0},
		{"collar", "coller", 2, 1},
		{"collar", "colar", 2, 1},
		{"collar", "collars", 2, 1},
		{"collar", "ocllar", 2, 2}, // two letters changed places
		{"kitten", "sitting", 3, 3},
		{"kitten", "sitting", 2, 3},
		{"a", "abcdef", 2, 3},
		{"nut", "bolt", 1, 2},
		{"", "ab", 5, 2},
	}
	for _, tt := range tests {
		if got := lexicon.Slip(tt.a, tt.b, tt.limit); got != tt.want {
			t.Errorf("Slip(%q, %q, %d) = %d, want %d", tt.a, tt.b, tt.limit, got, tt.want)
		}
	}
}

// What holds of every distance: none to itself, the same both ways, and the triangle.
func TestSlipIsADistance(t *testing.T) {
	w := rapid.StringMatching(`[a-d]{0,8}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := w.Draw(t, "a"), w.Draw(t, "b"), w.Draw(t, "c")
		const all = 8
		ab, ba := lexicon.Slip(a, b, all), lexicon.Slip(b, a, all)
		if ab != ba || (ab == 0) != (a == b) {
			t.Fatalf("%q to %q is %d, back %d", a, b, ab, ba)
		}
		if ac, cb := lexicon.Slip(a, c, all), lexicon.Slip(c, b, all); ab > ac+cb {
			t.Fatalf("%q to %q is %d, by %q only %d", a, b, ab, c, ac+cb)
		}
		if got := lexicon.Slip(a, b, 2); got != min(ab, 3) {
			t.Fatalf("%q to %q is %d, with limit 2 %d", a, b, ab, got)
		}
	})
}

func FuzzSound(f *testing.F) {
	for _, s := range []string{"collar", "knight", "wrgh", "phth", "gg", "\xff", "ß"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, word string) {
		got := lexicon.Sound(word)
		if len(got) > len(word) || got != lexicon.Sound(word) {
			t.Fatalf("Sound(%q) = %q", word, got)
		}
		for i := 1; i < len(got); i++ {
			if got[i] == got[i-1] {
				t.Fatalf("Sound(%q) = %q has a doubled letter", word, got)
			}
		}
	})
}
