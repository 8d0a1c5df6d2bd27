package parse_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"readback/parse"
	"readback/parse/parsetest"
)

// TestSpokenNumbersAreNeverMisread says numbers with units in words, after the small words that
// stand before readings. Each is read as it was meant or not read at all.
func TestSpokenNumbersAreNeverMisread(t *testing.T) {
	forms := parsetest.UnitForms("")
	s := parsetest.Speaker{Rand: rand.New(rand.NewPCG(1, 2))}
	total, missed, n := 0, 0, 200_000
	if testing.Short() {
		n = 20_000
	}
	misread := 0
	for range n {
		said, value, of := s.Number()
		f := forms[s.IntN(len(forms))]
		note := said + " " + f.Say
		if of {
			f = parsetest.UnitForm{Say: "inch", Codes: []string{"[in_i]"}}
			note = said + s.One(" of an inch", " of an inch", " inch")
		}
		note = s.One("", "", "torque ", "it reads ", "got ", "up ", "it is ", "down ", "at ", "play ") + note
		got := parse.Quantities(note)
		got = slices.DeleteFunc(got, func(q parse.Quantity) bool { return q.Unit == "1" })
		total++
		switch {
		case len(got) == 0:
			missed++
			if missed <= 40 {
				t.Logf("not read: %q", note)
			}
		case len(got) > 1 || !slices.ContainsFunc(f.Codes, func(code string) bool {
			return size(t, value.RatString(), code) == size(t, got[0].Value.Rat().RatString(), got[0].Unit)
		}):
			if misread++; misread <= 60 {
				t.Errorf("Quantities(%q) = %v, want %s %v", note, got, value.RatString(), f.Codes)
			}
		}
	}
	t.Logf("%d of %d spoken quantities read, %d misread", total-missed-misread, total, misread)
}
