package parse_test

import (
	"cmp"
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"readback/parse"
)

// seeds are notes that try every part of the parser, beside those of the tables.
var seeds = []string{
	"", " ", "collar nut stage three forty eight newton metres", "12' 6\" of cable", "3x10^3 kPa", "6.3e2 MOhm", "2-1/4 in", "½ mm 3½", "48 ± 2 N.m",
	"1e99999 mm", "999999999999999999999 mm", "point point point", "double double five", "one two fifty", "seven thirty seconds of an inch",
	"a\x00b\x7f\xff\xfe", "\u202e48 mm", "４８ ｍｍ", "−5 °C", "1,234,567 1.234.567", "rods one to four to six and and", "stage stage stage", "scratch that scratch that",
	"no no no forty eight no", "not not not", "what?", "to for ate won to for", "° ' \" / - . ,", "half half half a half", "u v w u", "collar collar nut nut not",
	"a thirty seconds of as", "forty eighth A", "coupling bolts all four pass er pass two thirty newton m",
}

func FuzzText(f *testing.F) {
	for _, s := range append(seeds, demoNotes(f)...) {
		f.Add(s, "")
	}
	f.Add("stage two same again", "collar nut stage one forty eight newton metres")
	f.Add("foot pounds", "collar nut stage one about forty eight")
	v := shop()
	f.Fuzz(func(t *testing.T, note, before string) {
		checkNote(t, v, before, note)
	})
}

// checkNote reads a note after another one and fails the test unless what came of it is
// whole: the same each time, inside the text, and nothing recorded that has no home.
func checkNote(t *testing.T, v *parse.Vocabulary, before, note string) {
	t.Helper()
	first := parse.Text(before, v, parse.Context{})
	ctx := parse.Context{}.After(first, heard(first))
	u := parse.Text(note, v, ctx)
	if again := parse.Text(note, v, ctx); !reflect.DeepEqual(u, again) {
		t.Fatalf("Text(%q) differs from one call to the next:\n%+v\n%+v", note, u, again)
	}
	for _, c := range u.Claims {
		inside(t, note, c.Span)
		if len(c.Doubts) == 0 && (c.Callout == "" || c.NoValue) {
			t.Fatalf("Text(%q) claims without a doubt what has no home or no value: %+v", note, c)
		}
	}
	for _, m := range u.Marks {
		inside(t, note, m.Span)
	}
	for _, s := range parse.Explain(note, v, ctx).Steps {
		inside(t, note, s.Span)
	}
}

// FuzzWords reads notes made of whole words, one a byte: what the trade says in orders
// that nobody would think of. A mutation of bytes seldom makes a word; this always does.
func FuzzWords(f *testing.F) {
	words := spokenWords(f)
	at := map[string]byte{}
	for i, w := range words {
		at[w] = byte(i)
	}
	for _, note := range append(seeds, demoNotes(f)...) {
		var b []byte
		for w := range strings.FieldsSeq(strings.ToLower(note)) {
			if i, ok := at[w]; ok {
				b = append(b, i)
			}
		}
		f.Add(b, len(b)/2)
	}
	v := shop()
	f.Fuzz(func(t *testing.T, b []byte, cut int) {
		b = b[:min(len(b), 80)]
		said := make([]string, len(b))
		for i, k := range b {
			said[i] = words[int(k)%len(words)]
		}
		cut = max(0, min(cut, len(said)))
		checkNote(t, v, strings.Join(said[:cut], " "), strings.Join(said[cut:], " "))
	})
}

// spokenWords lists at most 256 words that the demo's notes, the names of the shop and
// the seeds hold, the most frequent first.
func spokenWords(tb testing.TB) []string {
	tb.Helper()
	count := map[string]int{}
	for _, note := range append(seeds, demoNotes(tb)...) {
		for w := range strings.FieldsSeq(strings.ToLower(note)) {
			if utf8.ValidString(w) {
				count[w]++
			}
		}
	}
	words := slices.SortedFunc(maps.Keys(count), func(a, b string) int {
		return cmp.Or(count[b]-count[a], strings.Compare(a, b))
	})
	return words[:min(len(words), 256)]
}

func FuzzQuantities(f *testing.F) {
	for _, s := range append(seeds, demoNotes(f)...) {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, note string) {
		end := 0
		for _, q := range parse.Quantities(note) {
			if q.Start < end || q.End <= q.Start || q.End > len(note) {
				t.Fatalf("Quantities(%q): span %v overlaps, is empty or leaves the text", note, q.Span)
			}
			end = q.End
			if s := q.Value.String(); len(s) > 40 {
				t.Fatalf("Quantities(%q): %q is no measurement", note, s)
			}
		}
	})
}

// inside fails the test unless a span lies inside the note, at whole characters.
func inside(t *testing.T, note string, s parse.Span) {
	t.Helper()
	if s.Start < 0 || s.End < s.Start || s.End > len(note) {
		t.Fatalf("span %v leaves the note %q", s, note)
	}
	if utf8.ValidString(note) && !utf8.ValidString(note[s.Start:s.End]) {
		t.Fatalf("span %v of %q cuts a character", s, note)
	}
}

// TestLongNotes reads the longest notes that are read at all, made of what is hard, and
// notes of a megabyte, which are asked for in pieces.
func TestLongNotes(t *testing.T) {
	v := shop()
	for _, piece := range []string{
		"forty eight ", "stage three ", "collar ", "no ", "one to ", "point ", "double ", "a ", "½", "rods one and ", "not ", "/1", "-", "not fifty ", "seat is ", "\xff", "worn ", "mil ", "1 to ", "same again ", "to for ",
	} {
		note := strings.Repeat(piece, parse.MaxNote/utf8.RuneCountInString(piece))
		for _, c := range parse.Text(note, v, parse.Context{}).Claims {
			if len(c.Doubts) == 0 {
				t.Errorf("%q over and over is recorded: %s=%s", piece, c.Callout, c.Value)
				break
			}
		}
		parse.Quantities(note)
		note = strings.Repeat(piece, 1<<20/len(piece))
		if u := parse.Text(note, v, parse.Context{}); u.Kind != parse.Unclear || len(u.Claims) > 0 || u.Asks[0].Doubt != parse.TooLong {
			t.Errorf("a megabyte of %q: kind %s, %d claims, want an ask", piece, u.Kind, len(u.Claims))
		}
		if q := parse.Quantities(note); len(q) > 0 {
			t.Errorf("a megabyte of %q has %d quantities, want none", piece, len(q))
		}
	}
}
