package search

import (
	"strings"
	"unicode"

	"readback/parse"
)

// A denial covers what stands right behind its word, up to the end of the clause or to the place
// where something was looked for.
const deniedWords = 4

// denies tells the words that deny what follows, and ends the clauses and places at which they
// stop.
var denies, ends, passes = set("no not without never nor neither isn't wasn't aren't weren't doesn't didn't don't hasn't nothing cannot can't free"),
	set("but and on at in inside near under over after before because so then though however just still except with"),
	set("of sign signs trace traces evidence any visible longer further more real obvious the a an or nor much yet at all")

// starts are words that, right behind a denial, make it none.
var starts = set("only doubt idea sure know just matter wonder")

func set(words string) map[string]bool {
	out := map[string]bool{}
	for w := range strings.FieldsSeq(words) {
		out[w] = true
	}
	return out
}

// span is a stretch of bytes of a text.
type span struct{ from, to int }

// affirmed returns the text with what it denies blanked, byte for byte, and what it denies: "no
// wear, washer scored" affirms "washer scored". It goes by small words alone, whatever the
// vocabulary, so that the index need not be built again when that changes. What the parser has
// understood to be absent is denied as well.
func affirmed(text string, absent []parse.Condition) (yes, no string) {
	spans := append(deniedSpans(text), asideSpans(split(text))...)
	for _, c := range absent {
		if c.Absent && c.Span.Start >= 0 && c.Span.Start < c.Span.End && c.Span.End <= len(text) {
			spans = append(spans, span{c.Span.Start, c.Span.End})
		}
	}
	if len(spans) == 0 {
		return text, ""
	}
	blanked := []byte(text)
	var denied strings.Builder
	for _, s := range spans {
		denied.WriteString(text[s.from:s.to])
		denied.WriteByte(' ')
		for i := s.from; i < s.to; i++ {
			blanked[i] = ' '
		}
	}
	return string(blanked), denied.String()
}

// deniedSpans finds what is denied.
func deniedSpans(text string) (spans []span) {
	words := split(text)
	for i := 0; i < len(words); i++ {
		w := words[i]
		switch {
		case w.text == "none" || w.text == "nil":
			if i > 0 && !words[i].first { // "wear none"
				spans = append(spans, words[i-1].span)
			}
		case w.text == "free" && i > 0 && !w.first && (i+1 == len(words) || words[i+1].text != "of"): // "rust free", but not "turns free"
			if words[i-1].text != "turns" && words[i-1].text != "is" && words[i-1].text != "not" && words[i-1].text != "inlet" {
				spans = append(spans, words[i-1].span)
			}
		case denies[w.text] && (w.text != "free" || i+1 < len(words) && words[i+1].text == "of"):
			i += deny(words[i+1:], &spans)
		}
	}
	return spans
}

// deny takes what a denial covers, and returns how many words those are.
func deny(words []word, spans *[]span) int {
	left := deniedWords
	for i, w := range words {
		if w.first || left == 0 || i == 0 && starts[w.text] || denies[w.text] && w.text != "nor" {
			return i
		}
		if passes[w.text] {
			continue
		}
		if ends[w.text] {
			return i
		}
		*spans = append(*spans, w.span)
		left--
	}
	return len(words)
}

// asides are names in which a word of trouble is none: the word behind the tilde.
var asides = func() (out []aside) {
	for _, text := range []string{
		"~wear ring", "~wear rings", "~wear sleeve", "~wear plate", "~lock washer", "~lock washers", "~lock nut", "~lock nuts", "~lock wire", "~lock tab", "~locking tab",
		"~locked out", "~locked off", "~locked with", "settling ~pit", "inspection ~pit", "end ~play", "end ~float", "~short base", "base ~short", "~slack side", "~loose leaf",
		"~sanded", "~scratch that", "~heat shrink", "~break out", "~split pin", "~split pins", "~score sheet", "tea ~break", "lunch ~break", "~thin film", "~open end", "~blue ink",
	} {
		a := aside{}
		for i, w := range strings.Fields(text) {
			w, found := strings.CutPrefix(w, "~")
			if found {
				a.at = i
			}
			a.words = append(a.words, w)
		}
		out = append(out, a)
	}
	return out
}()

type aside struct {
	words []string
	at    int // of the word that is no trouble
}

// asideSpans finds words of trouble that are none where they stand.
func asideSpans(words []word) (spans []span) {
	for i := range words {
		for _, a := range asides {
			if i+len(a.words) > len(words) {
				continue
			}
			same := true
			for k, w := range a.words {
				same = same && words[i+k].text == w
			}
			if same {
				spans = append(spans, words[i+a.at].span)
			}
		}
	}
	return spans
}

// word is a word of a text in lower case, and where it stands.
type word struct {
	text string
	span
	first bool // a comma, a stop or the like stands before it
}

// split parts a text into words.
func split(text string) (words []word) {
	from, first := -1, false
	end := func(to int) {
		if from >= 0 {
			words = append(words, word{strings.ToLower(strings.ReplaceAll(text[from:to], "’", "'")), span{from, to}, first})
			from, first = -1, false
		}
	}
	for i, r := range text {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || r == '\'' || r == '’' {
			if from < 0 {
				from = i
			}
			continue
		}
		end(i)
		first = first || strings.ContainsRune(",.;:!?()", r)
	}
	end(len(text))
	return words
}
