package parse_test

import (
	"strings"
	"testing"

	"readback/parse"
	"readback/parse/symptom"
)

func ownWords(t *testing.T, text string) *symptom.Own {
	t.Helper()
	own, err := symptom.Extend("words.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return own
}

// A note is read by the words of the shop as by those that are built in, and by what is only searched
// it is not.
func TestNotesAreReadByTheShopsOwnWords(t *testing.T) {
	trade, err := parse.NewTrade(ownWords(t, `
words:
  - means: seized
    say: [gone off song]
  - means: squawk
    like: noisy
    say: [squawks, squawking]
  - means: spider
    is: part
    say: [coupling spider]
  - means: burnt
    only: search
    say: [toasty]
`))
	if err != nil {
		t.Fatal(err)
	}
	v, plain := trade.Vocabulary(parse.Words{}), parse.NewVocabulary(parse.Words{})
	for _, tt := range []struct{ note, part, condition, degree string }{
		{"coupling spider badly squawking on the drive side", "spider", "squawk", "badly"},
		{"the sleeve has gone off song", "shaft sleeve", "seized", ""},
		{"spider slightly worn", "spider", "worn", "slightly"},
		{"sleeve is squaking", "shaft sleeve", "squawk", ""}, // one slip
		{"thrust washer badly scored", "thrust washer", "scored", "badly"},
	} {
		u := parse.Text(tt.note, v, parse.Context{})
		if u.Kind != parse.Symptom || len(u.Symptoms) != 1 || u.Symptoms[0].Part != tt.part || u.Symptoms[0].Condition != tt.condition || u.Symptoms[0].Degree != tt.degree {
			t.Errorf("%q is %s %+v", tt.note, u.Kind, u.Symptoms)
		}
	}
	if u := parse.Text("no squawk from the spider", v, parse.Context{}); len(u.Symptoms) != 1 || !u.Symptoms[0].Absent {
		t.Errorf("what is denied is %+v", u.Symptoms)
	}
	if u := parse.Text("sleeve is toasty", v, parse.Context{}); len(u.Symptoms) > 0 {
		t.Errorf("what is only searched by is read: %+v", u.Symptoms)
	}
	if u := parse.Text("sleeve is squawking", plain, parse.Context{}); len(u.Symptoms) > 0 {
		t.Errorf("the words of one shop are read in another: %+v", u.Symptoms)
	}
	if trade.Part("coupling spider") != "spider" || trade.Part("sleeve") != "shaft sleeve" || (*parse.Trade)(nil).Part("sleeve") != "shaft sleeve" || trade.Part("teapot") != "" {
		t.Error("parts have other names than those in the file")
	}
}

// What already means something to whoever reads a note is no symptom, or readings would be lost.
func TestTheShopsWordsMustNotHideOthers(t *testing.T) {
	for say, want := range map[string]string{
		"mils": "a unit", "newton metres": "a unit", "scratch that": "a word of discourse", "yes": "a small word", "play up": "a small word", "forty eight": "a number",
		"badly": "a small word", "the": "a small word", "stage": "what takes a number", "what's left": "a question", "not yet": "a",
		"photo": "the command to take a photo", "take a picture": "the command to take a photo", "handing over": "a word of handing over", "handing": "a word of handing over",
	} {
		own := ownWords(t, "words:\n  - means: squawk\n    say: [squawks, \""+say+"\"]\n")
		_, err := parse.NewTrade(own)
		if err == nil || !strings.Contains(err.Error(), "words.yaml:3:20: ") || !strings.Contains(err.Error(), "is read as "+want) || !strings.Contains(err.Error(), "only: search") {
			t.Errorf("%q: %v", say, err)
		}
	}
	for _, say := range []string{"gone off song", "half seized", "down at heel", "tired", "one armed"} {
		if _, err := parse.NewTrade(ownWords(t, "words:\n  - means: squawk\n    say: [\""+say+"\"]\n")); err != nil {
			t.Errorf("%q: %v", say, err)
		}
	}
}
