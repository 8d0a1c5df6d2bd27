package lexicon_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/parse/lexicon"
	"readback/parse/number"
	"readback/parse/token"
)

// found is a phrase: its words in the note, and its IDs.
type found struct {
	Said string
	IDs  []int32
}

// at looks up what starts at token i of a note, by sort.
func at(l *lexicon.Lexicon, note string, i int) map[lexicon.Sort]found {
	tokens := token.Split(note, nil)
	words := make([]lexicon.Word, len(tokens))
	for k, t := range tokens {
		words[k] = l.Lookup(t)
	}
	var m lexicon.Matches
	l.At(tokens, words, i, &m)
	out := map[lexicon.Sort]found{}
	for s, match := range m {
		if match.End > 0 {
			out[lexicon.Sort(s)] = found{note[tokens[i].Start:tokens[match.End-1].End], match.IDs}
		}
	}
	return out
}

func build() *lexicon.Lexicon {
	b := lexicon.NewBuilder()
	b.Small("to")
	b.Inner("is", "the", "a")
	b.Add("foot", lexicon.Unit, 1)
	b.Add("foot pounds", lexicon.Unit, 2)
	b.Add("foot pounds", lexicon.Unit, 3)
	b.Add("foot valve", lexicon.Name, 4)
	b.Add("foot pounds of work", lexicon.Cue, 5)
	b.Add("ft-lb", lexicon.Unit, 6)
	b.Add("N·m", lexicon.Unit, 7)
	b.Add("m", lexicon.Unit, 8)
	b.Add("m3", lexicon.Unit, 9)
	b.Add("newton", lexicon.Unit, 12)
	b.Add("scratch that", lexicon.Cue, 13)
	b.AddLoose("seat clean", lexicon.Name, 10)
	b.AddLoose("worn through", lexicon.Wrong, 11)
	b.Add("stage", lexicon.Slot, 14)
	return b.Build()
}

func TestAt(t *testing.T) {
	l := build()
	tests := []struct {
		name, note string
		i          int
		want       map[lexicon.Sort]found
	}{
		{
			"the longest of every sort", "foot pounds of work", 0,
			map[lexicon.Sort]found{lexicon.Unit: {"foot pounds", []int32{2, 3}}, lexicon.Cue: {"foot pounds of work", []int32{5}}},
		},
		{"the shorter where the longer breaks off", "foot pounds of water", 0, map[lexicon.Sort]found{lexicon.Unit: {"foot pounds", []int32{2, 3}}}},
		{"two sorts of one beginning", "foot valve", 0, map[lexicon.Sort]found{lexicon.Unit: {"foot", []int32{1}}, lexicon.Name: {"foot valve", []int32{4}}}},
		{"a phrase in the middle", "48 foot pounds", 1, map[lexicon.Sort]found{lexicon.Unit: {"foot pounds", []int32{2, 3}}}},
		{"no phrase", "of work", 0, map[lexicon.Sort]found{}},
		{"not from its middle", "valve foot", 0, map[lexicon.Sort]found{}},
		{"case does not matter", "FOOT Pounds", 0, map[lexicon.Sort]found{lexicon.Unit: {"FOOT Pounds", []int32{2, 3}}}},
		{"a hyphen joins", "foot-pounds", 0, map[lexicon.Sort]found{lexicon.Unit: {"foot-pounds", []int32{2, 3}}}},
		{"a hyphen that the phrase has may be left out", "ft lb", 0, map[lexicon.Sort]found{lexicon.Unit: {"ft lb", []int32{6}}}},
		{"any joining sign will do", "N-m", 0, map[lexicon.Sort]found{lexicon.Unit: {"N-m", []int32{7}}}},
		{"a hyphen that stands apart does not join", "foot - pounds", 0, map[lexicon.Sort]found{lexicon.Unit: {"foot", []int32{1}}}},
		{"another sign does not join", "foot/pounds", 0, map[lexicon.Sort]found{lexicon.Unit: {"foot", []int32{1}}}},
		{"digits glued on", "m3", 0, map[lexicon.Sort]found{lexicon.Unit: {"m3", []int32{9}}}},
		{"digits apart are a number", "m 3", 0, map[lexicon.Sort]found{lexicon.Unit: {"m", []int32{8}}}},
		{"a loose phrase without more", "seat clean", 0, map[lexicon.Sort]found{lexicon.Name: {"seat clean", []int32{10}}}},
		{"a loose phrase with small words", "seat is the clean", 0, map[lexicon.Sort]found{lexicon.Name: {"seat is the clean", []int32{10}}}},
		{"not with a word of a plan", "seat to clean", 0, map[lexicon.Sort]found{}},
		{"not with more than three", "seat is the a is clean", 0, map[lexicon.Sort]found{}},
		{"not with a word that counts", "seat one clean", 0, map[lexicon.Sort]found{}},
		{"not with any other word", "seat now clean", 0, map[lexicon.Sort]found{}},
		{"names alone are loose", "worn is through", 0, map[lexicon.Sort]found{}},
		{"a strict phrase stays strict", "scratch the that", 0, map[lexicon.Sort]found{}},
		{"plurals that nobody listed", "stages newtons", 0, map[lexicon.Sort]found{lexicon.Slot: {"stages", []int32{14}}}},
		{"and possessives", "newton's", 0, map[lexicon.Sort]found{lexicon.Unit: {"newton's", []int32{12}}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, at(l, tt.note, tt.i)); diff != "" {
				t.Errorf("%q at %d (-want +got):\n%s", tt.note, tt.i, diff)
			}
		})
	}
}

func TestEmptyPhraseIsNone(t *testing.T) {
	b := lexicon.NewBuilder()
	b.Add("", lexicon.Name, 1)
	b.Add(" - ", lexicon.Name, 2)
	if got := at(b.Build(), "- anything", 0); len(got) > 0 {
		t.Errorf("an empty phrase was found: %v", got)
	}
}

func TestLookup(t *testing.T) {
	l := build()
	look := func(note string) lexicon.Word { return l.Lookup(token.Split(note, nil)[0]) }
	tests := []struct {
		note  string
		class number.Class
		known bool
	}{
		{"one", number.Digit, true},
		{"48.5", number.Numeric, false},
		{"½", number.Vulgar, false},
		{"foot", number.None, true},
		{"gasket", number.None, false},
		{"ones", number.None, true}, // a stem's number does not pass on
		{"-", number.None, false},
	}
	for _, tt := range tests {
		if w := look(tt.note); w.Number.Class != tt.class || (w.ID != 0) != tt.known {
			t.Errorf("%q is %+v, want class %d, known %v", tt.note, w, tt.class, tt.known)
		}
	}
	if !look("to").Filler || !look("the").Inner || look("foot").Filler {
		t.Error("small words are not told apart")
	}
	if !l.Known("seat") || l.Known("gasket") {
		t.Error("Known does not tell the words of phrases")
	}
}

func TestJoins(t *testing.T) {
	for note, want := range map[string]bool{"-": true, "·": true, "⋅": true, "*": true, "–": true, "/": false, ",": false, "a": false} {
		if got := lexicon.Joins(token.Split(note, nil)[0]); got != want {
			t.Errorf("Joins(%q) = %v, want %v", note, got, want)
		}
	}
}

func TestExtend(t *testing.T) {
	b := lexicon.NewBuilder()
	b.Add("newton metres", lexicon.Unit, 7)
	b.Add("collar", lexicon.Thing, 8)
	base := b.Build()
	b = base.Extend()
	b.Add("collar nut", lexicon.Name, 9)
	own := b.Build()

	at := func(l *lexicon.Lexicon, note string, sort lexicon.Sort) lexicon.Match {
		tokens := token.Split(note, nil)
		var words []lexicon.Word
		for _, tok := range tokens {
			words = append(words, l.Lookup(tok))
		}
		var m lexicon.Matches
		l.At(tokens, words, 0, &m)
		return m[sort]
	}
	if m := at(own, "newton metres", lexicon.Unit); m.End != 2 || m.IDs[0] != 7 {
		t.Errorf("a phrase of the base is found as %v, want [7] up to 2", m)
	}
	if m := at(own, "collar nut", lexicon.Name); m.End != 2 || m.IDs[0] != 9 {
		t.Errorf("a phrase of its own is found as %v, want [9] up to 2", m)
	}
	if m := at(own, "collar nut", lexicon.Thing); m.End != 1 || m.IDs[0] != 8 {
		t.Errorf("a shorter phrase of the base is found as %v, want [8] up to 1", m)
	}
	if m := at(base, "collar nut", lexicon.Name); m.End != 0 {
		t.Errorf("the base finds a phrase of what extends it: %v", m)
	}
	if !own.Known("newton") || own.Known("spacer") {
		t.Error("Known does not look into the base, or knows too much")
	}
}
