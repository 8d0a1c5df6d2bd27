package grammar_test

import (
	"strings"
	"testing"

	"readback/capture/hear/grammar"
	"readback/parse/symptom"
)

func TestTheShopsOwnWordsAreHeard(t *testing.T) {
	own, err := symptom.Extend("words.yaml", []byte(`
words:
  - means: squork
    say: [squorking]
  - means: spider
    is: part
    say: [coupling spider]
  - means: replaced
    say: [zzyzzxed]
  - means: burnt
    only: search
    say: [zzyzzx]
pronounce:
  squork: S K W AO R K
  squorking: S K W AO R K IH NG
`))
	if err != nil {
		t.Fatal(err)
	}
	if err := grammar.LintOwn(own, words(t)); err != nil {
		t.Errorf("words that are only searched by, and deeds, are listened for: %v", err)
	}
	j := job(t, "mr5", nil)
	w, err := grammar.OfBench(j, nil, own, nil, words(t))
	if err != nil {
		t.Fatal(err)
	}
	n := readJSGF(t, w.Grammar).net()
	for _, note := range []string{"coupling spider badly squorking on the inlet side", "spider worn", "squork", "thrust washer scored"} {
		if ok, _ := n.accepts(note); !ok {
			t.Errorf("%q cannot be said", note)
		}
	}
	if w.Sounds["squorking"] != "S K W AO R K IH NG" {
		t.Errorf("squorking sounds %q", w.Sounds["squorking"])
	}
	if strings.Contains(listen(t, j).Grammar, "spider") {
		t.Error("the words of one shop are heard in another")
	}

	mute, err := symptom.Extend("words.yaml", []byte("words:\n  - means: squork\n    say: [squorking, squork of doom]\n"))
	if err != nil {
		t.Fatal(err)
	}
	err = grammar.LintOwn(mute, words(t))
	if err == nil || strings.Count(err.Error(), "nobody says how") != 2 || !strings.Contains(err.Error(), `words.yaml:3:11: nobody says how "squorking" sounds, in "squorking"; add its phones under pronounce:`) {
		t.Errorf("got %v", err)
	}
}
