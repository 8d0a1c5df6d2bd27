package grammar_test

import (
	"errors"
	"strings"
	"testing"

	"readback/capture/hear"
	"readback/capture/hear/grammar"
)

func TestFreeSpeech(t *testing.T) {
	d := words(t)
	w := listen(t, job(t, "mr5", map[string]string{"base": "long", "stages": "8"}))
	for _, lead := range []string{"", "bench seven"} {
		free, err := grammar.Free(w, lead, d)
		if err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(free.Grammar, "public <"); n != 1 || !strings.HasPrefix(free.Grammar, "#JSGF") {
			t.Errorf("%d public rules", n)
		}
		for _, word := range []string{"note", "record", "collar", "newton"} {
			if free.Sounds[word] == "" {
				t.Errorf("with lead-in %q nobody knows how %q sounds", lead, word)
			}
		}
		n := readJSGF(t, free.Grammar).net()
		for said, want := range map[string]bool{
			"collar nut stage three forty eight newton metres":                  true,
			"note collar nut stage three forty eight newton metres":             true,
			"for the record what's left":                                        true,
			"bench seven collar nut stage three forty eight newton metres":      lead != "",
			"bench seven make a note what's left":                               lead != "",
			"bench seven":                                                       lead != "",
			"note":                                                              false,
			"collar nut stage three bench seven forty eight newton metres":      false,
			"note note collar nut stage three forty eight newton metres":        false,
			"collar nut stage three forty eight newton metres for the record":   false,
			"bench seven bench seven collar nut stage three forty eight newton": false,
		} {
			if got, _ := n.accepts(said); got != want {
				t.Errorf("lead-in %q: %q can be heard: %t", lead, said, got)
			}
		}
	}
}

// Where jobs are opened the lead-in stands before what opens them, and no remark does.
func TestLedAtTheDesk(t *testing.T) {
	d := words(t)
	w, _ := grammar.Opening(grammar.Desk{Phrases: []string{"open job", "yes"}}, d)
	led, err := grammar.Led(w, "bench seven", d)
	if err != nil || led.Sounds["bench"] == "" {
		t.Fatalf("%v, %v", led.Sounds, err)
	}
	n := readJSGF(t, led.Grammar).net()
	for said, want := range map[string]bool{"yes": true, "bench seven open job": true, "bench seven": true, "note yes": false, "yes bench seven": false} {
		if got, _ := n.accepts(said); got != want {
			t.Errorf("%q can be heard: %t", said, got)
		}
	}
	if same, err := grammar.Led(w, "", d); err != nil || same.Grammar != w.Grammar {
		t.Errorf("without one it is another grammar: %v", err)
	}
}

// The commands of a gauge, of the camera, and back to the jobs can be heard in what is free as well.
func TestFreeHoldsEveryCommand(t *testing.T) {
	d := words(t)
	free, err := grammar.Free(listen(t, job(t, "mr5", map[string]string{"base": "long", "stages": "8"})), "bench seven", d)
	if err != nil {
		t.Fatal(err)
	}
	n := readJSGF(t, free.Grammar).net()
	for _, said := range []string{"gauge on end play down", "gauge next", "photo", "take a picture", "back to the jobs", "bench seven gauge off", "bench seven photo"} {
		if ok, _ := n.accepts(said); !ok {
			t.Errorf("%q cannot be heard", said)
		}
	}
}

func TestLeadIns(t *testing.T) {
	d := words(t)
	for lead, good := range map[string]bool{
		"bench seven": true, "hello bench": true, "attention": true, "read back bench one now": false, "": false, " bench seven": false, "Bench seven": false,
		"bench 7": false, "oh": false, "bench zzyzzx": false, "a b | c": false, "bench;": false,
	} {
		err := grammar.CheckLead(lead, d)
		if (err == nil) != good || err != nil && !errors.Is(err, hear.ErrGrammar) {
			t.Errorf("%q: error %v", lead, err)
		}
	}
	if _, err := grammar.Free(hear.Words{Grammar: "#JSGF V1.0;\ngrammar x;\npublic <x> = a;\n"}, "", d); !errors.Is(err, hear.ErrGrammar) {
		t.Errorf("a grammar of another kind: error %v", err)
	}
}
