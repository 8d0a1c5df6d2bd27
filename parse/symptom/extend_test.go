package symptom_test

import (
	"slices"
	"strings"
	"testing"

	"readback/parse/symptom"
)

func extend(t *testing.T, text string) (*symptom.Own, error) {
	t.Helper()
	return symptom.Extend("words.yaml", []byte(text))
}

func TestShopExtendsTheWords(t *testing.T) {
	own, err := extend(t, `
words:
  - means: seized
    say: [Nipped  Up, gone off song]
  - means: squawk
    like: noisy
    say: squawks
  - means: spider
    is: part
    say: [coupling spider]
  - means: sand trap
    like: spider
    say: [trap]
  - means: burnt
    only: search
    say: toasty
  - means: burnt
    say: [hot, blued]
  - means: replaced
    say: put another in
pronounce:
  squawk: S K W AO K
  squawks: [S K W AO K S, S K W AA K S]
`)
	if err != nil {
		t.Fatal(err)
	}
	var forms []string
	for _, f := range own.Forms {
		forms = append(forms, string(f.Sort)+" "+f.Means+": "+f.Say)
	}
	if want := []string{
		"condition seized: nipped up", "condition seized: gone off song", "condition squawk: squawk", "condition squawk: squawks", "part spider: spider",
		"part spider: coupling spider", "part sand trap: sand trap", "part sand trap: trap", "condition burnt: hot",
	}; !slices.Equal(forms, want) {
		t.Errorf("notes are read by %q\nand not by %q", forms, want)
	}
	if !slices.Equal(own.Sounds["squawks"], []string{"S K W AO K S", "S K W AA K S"}) || len(own.Sounds) != 2 {
		t.Errorf("the sounds are %q", own.Sounds)
	}
	if f := own.Forms[0].Fault("it is wrong", "mend it").Error(); f != "words.yaml:4:11: it is wrong; mend it" {
		t.Error(f)
	}
	groups := own.Groups
	of := func(id string) symptom.Group {
		i := slices.IndexFunc(groups, func(g symptom.Group) bool { return g.ID == id })
		if i < 0 {
			t.Fatalf("there is no group %s", id)
		}
		return groups[i]
	}
	if g := of("seized"); !slices.Contains(g.Say, "gone off song") || !slices.Contains(g.Say, "jammed") {
		t.Errorf("seized is %q", g.Say)
	}
	if g := of("squawk"); !slices.Equal(g.Say, []string{"squawk", "squawks"}) || !slices.Equal(g.Like, []string{"noisy"}) {
		t.Errorf("squawk is %+v", g)
	}
	for _, g := range symptom.Groups() {
		if slices.Contains(g.Say, "gone off song") {
			t.Error("extending has changed what is built in")
		}
	}
}

func TestFileOfWordsIsRefusedByLine(t *testing.T) {
	for _, tt := range []struct{ name, text, want string }{
		{"a clash with what is built in", "words:\n  - means: worn\n    say: [tired, jammed]", `words.yaml:3:18: "jammed" already means seized, which is built in; take it out, or put these words under means: seized`},
		{"a clash within", "words:\n  - means: worn\n    say: [tired]\n  - means: loose\n    say: [tired]", `words.yaml:5:11: "tired" already means worn, by line 3;`},
		{"a name that is taken", "words:\n  - means: jammed\n    say: [tired]", `words.yaml:2:12: "jammed" already means seized`},
		{"a circle", "words:\n  - means: aaa\n    like: bbb\n    say: [x]\n  - means: bbb\n    like: ccc\n    say: [y]\n  - means: ccc\n    like: aaa\n    say: [z]", "words.yaml:9:11: likes go round in a circle: aaa, bbb, ccc, aaa; take one of these likes out"},
		{"like itself", "words:\n  - means: aaa\n    like: aaa\n    say: [x]", "words.yaml:3:11: likes go round in a circle: aaa, aaa"},
		{"like nothing", "words:\n  - means: aaa\n    like: zzz\n    say: [x]", `words.yaml:3:11: nothing means "zzz"; name a group`},
		{"a key that is none", "words:\n  - means: aaa\n    sya: [x]", `words.yaml:3:5: "sya" is no key of an entry; use means, like, is, only and say`},
		{"no means", "words:\n  - say: [x]", "words.yaml:2:8: an entry needs means and say"},
		{"no words", "words:\n  - means: aaa\n    say: [[x]]", "words.yaml:3:11: that is no word"},
		{"only what", "words:\n  - means: aaa\n    only: reading\n    say: [x]", "words.yaml:3:11: notes are read by these words, or they are only searched by; write only: search"},
		{"is of no sort", "words:\n  - means: aaa\n    is: thing\n    say: [x]", "words.yaml:3:9: thing is none of what words are for; write condition, part or deed"},
		{"is of two sorts", "words:\n  - means: worn\n    is: part\n    say: [x]", "words.yaml:3:9: worn is a condition already; take is out"},
		{"words twice", "words:\n  - means: aaa\n    say: [x]\nwords:\n  - means: bbb\n    say: [y]", "words.yaml:4:1: the YAML cannot be read"},
		{"a sound that is no phone", "words:\n  - means: aaa\n    say: [x]\npronounce:\n  x: EH KS", `words.yaml:5:6: the word "x" is pronounced with "KS", which is no phone`},
		{"a word without its sound", "words:\n  - means: aaa\n    say: [x]\npronounce: {x: }", `words.yaml:4:13: pronounce says nothing of "x"; write its phones`},
		{"the sound of two words", "words:\n  - means: aaa\n    say: [x]\npronounce: {x y: EH K S}", `words.yaml:4:13: pronounce has "x y", which is no single word`},
		{"no words, but sounds", "pronounce: {x: EH K S}", "words.yaml:1:10: the file does not hold words:; begin with words:"},
		{"empty", " \n", "words.yaml: the file is empty; begin with words:"},
		{"another file", "spec: mr5", "words.yaml:1:1: the file holds spec, and not words: and pronounce: alone"},
		{"no YAML", "words: [", "words.yaml:1:8: the YAML cannot be read"},
		{"long", "words:\n  - means: a\n    say: [" + strings.Repeat("b", 61) + "]", "words.yaml:3:11: the words are longer than 60 characters"},
		{"signs", "words:\n  - means: a\n    say: ['*']", `words.yaml:3:11: "*" holds no letter`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := extend(t, tt.text)
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got  %v\nwant %s", err, tt.want)
			}
		})
	}
}

// Nothing that a shop may put in its file ends the program.
func FuzzExtend(f *testing.F) {
	for _, s := range []string{"words:\n  - means: a\n    like: b\n    say: [c]", "words: &a [*a]", "words:\n  - means: a\n    is: part\n    only: search\n    say: b\npronounce: {b: B IY}", "{", "words:\n- ? x", "words:\n  - <<: *x"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		own, err := symptom.Extend("words.yaml", []byte(text))
		if (own == nil) == (err == nil) {
			t.Errorf("words %v, error %v", own, err)
		}
	})
}
