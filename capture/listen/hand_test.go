package listen_test

import (
	"strings"
	"testing"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/listen"
	"readback/capture/wire"
)

const toHale = "hand the bench to martin hale"

func handing(t *testing.T) *rig {
	t.Helper()
	r := newRig(t)
	r.l.People([]string{"Martin Hale", "Ruth Carter"})
	return r
}

// The bench is handed over after a yes alone, however sure the words are, and nothing of it is kept here.
func TestTheBenchIsHandedOverAfterAYes(t *testing.T) {
	r := handing(t)
	out := r.note(heard(toHale), 8000)
	if out.Verdict != judge.Asked || out.Say != "Hand the bench to Martin Hale? Yes or no." || out.Do != "" || out.Person != "" {
		t.Fatalf("%+v", out)
	}
	if out := r.note(heard("say again"), 4000); out.Say != "Hand the bench to Martin Hale? Yes or no." || out.Do != "" {
		t.Errorf("asked again: %+v", out)
	}
	unsure := heard("yes")
	unsure.Plain = heard("no").Words
	if out := r.note(unsure, 4000); out.Do != "" || out.Say != "Hand the bench to Martin Hale? Yes or no." {
		t.Errorf("a yes that is not sure: %+v", out)
	}
	noise := heard("yes")
	noise.Gate = -50
	if out := r.note(noise, 4000); out.Do != "" {
		t.Errorf("a noise that is heard as a yes: %+v", out)
	}
	if out := r.note(heard("yes"), 4000); out.Verdict != judge.Taken || out.Do != wire.DoHand || out.Person != "Martin Hale" || out.Answer != nil {
		t.Errorf("yes: %+v", out)
	}
	if out := r.note(heard("yes"), 4000); out.Do != "" {
		t.Errorf("a yes to nothing: %+v", out)
	}
	for _, n := range r.seat.said {
		if n.Text != "yes" {
			t.Errorf("kept: %+v", n)
		}
	}
}

func TestTheBenchIsNotHandedOver(t *testing.T) {
	plain := heard(toHale)
	plain.Plain = heard("hand the bench to ruth carter").Words
	far := heard(toHale)
	far.Gate, far.Plain = -50, heard("collar nut").Words
	for _, tt := range []struct {
		name    string
		heard   []hear.Heard
		verdict judge.Verdict // of the last
		say     string        // of the last
	}{
		{"a no", []hear.Heard{heard(toHale), heard("no")}, judge.Refused, "Say again."},
		{"never mind", []hear.Heard{heard(toHale), heard("never mind")}, judge.Refused, "Say again."},
		{"another note instead", []hear.Heard{heard(toHale), heard("seat clean")}, judge.Taken, ""},
		{"the plain sound has another name", []hear.Heard{plain}, judge.Asked, "Hand the bench to Martin Hale? Yes or no."},
		{"another's talk", []hear.Heard{far}, judge.Refused, "Say again."},
		{"another's talk behind the question", []hear.Heard{heard(toHale), far}, judge.Refused, "Say again."},
		{"nobody of that name", []hear.Heard{heard("hand the bench to tomas okafor")}, judge.Refused, "That name cannot be spoken here. Pick it on the sheet, under hand over."},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := handing(t)
			var out listen.Outcome
			for _, h := range tt.heard {
				if out = r.note(h, 8000); out.Do != "" || out.Person != "" {
					t.Errorf("%+v", out)
				}
			}
			if out.Verdict != tt.verdict || out.Say != tt.say {
				t.Errorf("%+v, want %s %q", out, tt.verdict, tt.say)
			}
			if out := r.note(heard("yes"), 4000); out.Do != "" && tt.verdict == judge.Taken {
				t.Errorf("a yes when the question is over: %+v", out)
			}
		})
	}
}

// With a lead-in, talk in an open microphone is not even asked about.
func TestTalkHandsNothingOver(t *testing.T) {
	r := handing(t)
	r.l.LeadIn("bench seven")
	r.l.Open(true)
	if out := r.note(heard(toHale), 8000); out.Verdict != judge.Silent {
		t.Errorf("without the lead-in: %+v", out)
	}
	if out := r.note(heard("bench seven "+toHale), 8000); out.Verdict != judge.Asked || !strings.HasPrefix(out.Say, "Hand the bench to Martin Hale?") {
		t.Errorf("with it: %+v", out)
	}
	r.l.StandBy(true)
	if out := r.note(heard("bench seven yes"), 8000); out.Do != "" {
		t.Errorf("while it stands by: %+v", out)
	}
}

// Where a second engine has heard another name, that is asked after a no; the two never hand over by themselves.
func TestTwoEnginesHandOver(t *testing.T) {
	r := handing(t)
	if out := r.note(second(toHale, toHale), 8000); out.Verdict != judge.Asked {
		t.Errorf("both the same: %+v", out)
	}
	r.l.Typed()
	if out := r.note(second(toHale, "hand the bench to Ruth Carter"), 8000); out.Say != "Hand the bench to Martin Hale? Yes or no." {
		t.Errorf("the first: %+v", out)
	}
	if out := r.note(heard("no"), 4000); out.Say != "Hand the bench to Ruth Carter? Yes or no." {
		t.Errorf("the other: %+v", out)
	}
	if out := r.note(heard("yes"), 4000); out.Do != wire.DoHand || out.Person != "Ruth Carter" {
		t.Errorf("yes to the other: %+v", out)
	}
}

// What a browser has heard hands over after a yes as well, to whom is known.
func TestWordsOfABrowserHandOver(t *testing.T) {
	s := newSeat()
	l := listen.Reader(s)
	l.People([]string{"Martin Hale", "Li Wu"})
	words := func(text string) listen.Outcome {
		t.Helper()
		return inBrowser(t, l, text)
	}
	for text, name := range map[string]string{"Hand the bench to Martin Hale.": "Martin Hale", "hand the bench to Li Wu": "Li Wu"} {
		if out := words(text); out.Say != "Hand the bench to "+name+"? Yes or no." || out.Do != "" {
			t.Errorf("%s: %+v", text, out)
		}
		if out := words("Yes."); out.Do != wire.DoHand || out.Person != name || len(s.said) != 0 {
			t.Errorf("yes to %s: %+v, kept %+v", text, out, s.said)
		}
	}
	if out := words("Hand the bench to Martin Hail."); out.Verdict != judge.Refused || !strings.HasPrefix(out.Say, "That name") {
		t.Errorf("a name as a browser spells it: %+v", out)
	}
}
