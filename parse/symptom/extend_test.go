package symptom_test

import (
	"slices"
	"strings"
	"testing"

	"readback/parse/symptom"
)

func extend(t *testing.T, text string) ([]symptom.Group, error) {
	t.Helper()
	return symptom.Extend(symptom.Groups(), "words.yaml", []byte(text))
}

func TestShopExtendsTheWords(t *testing.T) {
	groups, err := extend(t, `
words:
  - means: seized
    say: [Nipped  Up, gone off song]
  - means: squawk
    like: noisy
    say: squawks
`)
	if err != nil {
		t.Fatal(err)
	}
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
		{"a key that is none", "words:\n  - means: aaa\n    sya: [x]", `words.yaml:3:5: "sya" is no key of an entry; use means, like and say`},
		{"no means", "words:\n  - say: [x]", "words.yaml:2:8: an entry needs means and say"},
		{"no words", "words:\n  - means: aaa\n    say: [[x]]", "words.yaml:3:11: that is no word"},
		{"empty", " \n", "words.yaml: the file is empty; begin with words:"},
		{"another file", "spec: mr5", "words.yaml:1:5: the file does not hold words: alone"},
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
	for _, s := range []string{"words:\n  - means: a\n    like: b\n    say: [c]", "words: &a [*a]", "{", "words:\n- ? x", "words:\n  - <<: *x"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		groups, err := symptom.Extend(symptom.Groups(), "words.yaml", []byte(text))
		if (groups == nil) == (err == nil) {
			t.Errorf("groups %v, error %v", groups, err)
		}
	})
}
