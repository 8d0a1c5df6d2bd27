package parse

import (
	"strings"

	"readback/parse/lexicon"
	"readback/parse/number"
	"readback/parse/token"
)

// tooFar is the cost of words that are not nearly a name.
const tooFar = 100

// nearName takes a name of several words of which some were misheard or misspelt:
// "caller nut", "collar not", "end plate down", "call a nut". At least one word must be
// right, and no other name may be as near.
func (s *scan) nearName(i int) (item, bool) {
	best, cost, end, tie := -1, tooFar, i, false
	for at := i; at < min(i+4, len(s.toks)); at++ {
		for _, a := range s.v.anchors[s.toks[at].Text] {
			if d := at - i - a.at; d < 0 || d > 1 {
				continue
			}
			f := &s.v.forms[a.form]
			c, to := s.near(i, f.words)
			if c >= tooFar || s.v.names[f.name].Kind != Reading && !s.surely(i, to, f.words) {
				continue
			}
			switch {
			case best >= 0 && f.name != s.v.forms[best].name && c == cost && len(f.words) == len(s.v.forms[best].words):
				tie = true
			case c < cost || len(f.words) > len(s.v.forms[best].words):
				best, cost, end, tie = a.form, c, to, false
			}
		}
	}
	if best < 0 || tie {
		return item{}, false
	}
	return item{kind: isName, id: best, to: end, guess: true}, true
}

// near returns how far the tokens from i are from the words, and where they end; tooFar
// where they are no such name.
func (s *scan) near(i int, words []string) (cost, end int) {
	total, exact, plural, telling, at := 0, 0, false, false, i
	for w, want := range words {
		if at >= len(s.toks) {
			return tooFar, i
		}
		got := s.toks[at].Text
		if at > i && s.toks[at].Text == "." && s.toks[at].Glued && at+1 < len(s.toks) {
			at++
			got = s.toks[at].Text
		}
		if got == want || got == want+"s" {
			exact++
			plural = plural || got != want
			telling = telling || got != "in" && got != "on" && got != "off" && got != "out" && got != "at"
			at++
			continue
		}
		apart := w+1 < len(words) && at+2 < len(s.toks) && s.toks[at+2].Text == words[w+1] && s.joins(at, want)
		if c := s.nearWord(at, want, len(words)); c < tooFar && !apart {
			total, at = total+c, at+1
			continue
		}
		if !s.joins(at, want) {
			return tooFar, i
		}
		total, at = total+2, at+2
	}
	if exact == 0 || !telling || total > 3 || total == 0 && !plural {
		return tooFar, i
	}
	return total, at
}

// surely reports whether the tokens of i to end are the words of a confirmation, part or event but
// for a slip of the tongue or the keyboard. Nothing is read again of those, so that what may be
// another word ("unclear", "isolate", "soiled") is none of them.
func (s *scan) surely(i, end int, words []string) bool {
	if end-i == len(words)+1 { // "in let turns freely"
		var said strings.Builder
		for _, t := range s.toks[i:end] {
			said.WriteString(t.Text)
		}
		return said.String() == strings.Join(words, "")
	}
	if end-i != len(words) {
		return false
	}
	for k, want := range words {
		got := strings.ReplaceAll(s.toks[i+k].Text, "'", "")
		if got == want || got == want+"s" {
			continue
		}
		if s.words[i+k].ID != 0 || got[0] != want[0] || lexicon.Slip(got, want, 2) > 2 || strings.HasSuffix(want, "ed") != strings.HasSuffix(got, "ed") || lexicon.Sound(got) != lexicon.Sound(want) && (len(want) < 6 || lexicon.Slip(got, want, 1) > 1) {
			return false
		}
	}
	return true
}

// nearWord returns how far token i is from a word of a name of so many words.
func (s *scan) nearWord(i int, want string, words int) int {
	got := s.toks[i].Text
	switch {
	case s.isPlainNumber(i), got == "and", got == "the":
		return tooFar
	case len(want) > 2 && lexicon.Alike(got, want):
		return 1
	case s.abbreviates(i, want):
		return 1
	case len(want) > 3 && len(got) > 3 && lexicon.Slip(got, want, 2) <= min(2, len(want)/4) && !s.words[i].Filler:
		return 2
	case words > 2 && len(want) > 3 && lexicon.Slip(got, want, 2) <= 2 && s.words[i].Number.Class == number.None:
		return 3
	}
	return tooFar
}

// abbreviates reports whether token i, with a full stop behind it, is the word cut short: "insul.",
// "temp.", "wdg.".
func (s *scan) abbreviates(i int, want string) bool {
	got := s.toks[i].Text
	if len(got) < 3 || len(got) >= len(want) || i+1 >= len(s.toks) || s.toks[i+1].Text != "." || !s.toks[i+1].Glued || got[0] != want[0] {
		return false
	}
	at := 0
	for k := range len(want) {
		if at < len(got) && want[k] == got[at] {
			at++
		}
	}
	return at == len(got)
}

// joins reports whether tokens i and i+1 are one word of a name that was heard apart:
// "call a" for "collar".
func (s *scan) joins(i int, want string) bool {
	if len(want) < 5 || i+1 >= len(s.toks) || s.isPlainNumber(i) || s.isPlainNumber(i+1) || s.toks[i].Kind != token.Word || s.toks[i+1].Kind != token.Word {
		return false
	}
	got := s.toks[i].Text + s.toks[i+1].Text
	return got == want || lexicon.Alike(got, want) && lexicon.Slip(got, want, 2) <= 2
}

// joinedName takes a name that was heard in other pieces than it has: "in sulation",
// "callernut". A word that nothing knows must be among them, so that nothing else is taken
// apart.
func (s *scan) joinedName(i int) (item, bool) {
	if s.toks[i].Kind != token.Word || s.isPlainNumber(i) {
		return item{}, false
	}
	text, end := s.toks[i].Text, i+1
	if s.words[i].ID != 0 || len(text) < 7 {
		if end >= len(s.toks) || s.toks[end].Kind != token.Word || s.words[i].ID != 0 && s.words[end].ID != 0 || s.isPlainNumber(end) {
			return item{}, false
		}
		text += s.toks[end].Text
		end++
	}
	if len(text) < 7 {
		return item{}, false
	}
	if f, ok := s.v.solid[text]; ok {
		return item{kind: isName, id: f, to: end, guess: true}, true
	}
	for _, f := range s.v.sounds[lexicon.Sound(text)] {
		if n := &s.v.names[s.v.forms[f].name]; n.Kind != Reading && n.Kind != Part {
			continue
		}
		if lexicon.Slip(text, s.v.forms[f].solid(), 2) <= 2 {
			return item{kind: isName, id: f, to: end, guess: true}, true
		}
	}
	return item{}, false
}
