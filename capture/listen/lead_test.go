package listen_test

import (
	"encoding/json"
	"testing"
	"time"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/listen"
)

// leading is a bench whose open microphone has a lead-in; clock moves its time on.
func leading(t *testing.T) (r *rig, clock func(time.Duration)) {
	t.Helper()
	r = newRig(t)
	r.l.LeadIn("bench seven")
	r.l.Open(true)
	return r, r.l.Clock()
}

// unsure is a note whose decodes differ.
func unsure(text, plain string) hear.Heard {
	h := heard(text)
	h.Plain = heard(plain).Words
	return h
}

// talk is what fits badly, and is heard alike by both decodes.
func talk() hear.Heard {
	h := heard("collar nut")
	h.Gate = -50
	return h
}

// want speaks a note and holds what comes of it against a verdict.
func (r *rig) want(h hear.Heard, verdict judge.Verdict, kept int) listen.Outcome {
	r.t.Helper()
	out := r.note(h, 2*hear.Rate)
	if out.Verdict != verdict || len(r.seat.said) != kept {
		r.t.Fatalf("%+v, kept %+v; want %s and %d notes", out, r.seat.said, verdict, kept)
	}
	return out
}

const ledSpacer, ledOther = "bench seven " + spacer, "bench seven build spacer sixty five millimetres"

// Talk is asked to say it again for as long as a question may be answered without the lead-in, and no longer.
func TestTalkHoldsNothingOpen(t *testing.T) {
	r, clock := leading(t)
	r.want(unsure(ledSpacer, ledOther), judge.Asked, 0)
	clock(15 * time.Second)
	r.want(talk(), judge.Refused, 0)
	for range 10 {
		clock(15 * time.Second)
		r.want(talk(), judge.Silent, 0)
	}
	r.want(heard(spacer), judge.Silent, 0)
	r.want(heard("bench seven yes"), judge.Taken, 1)
	for name, h := range map[string]hear.Heard{"that fits badly as a no": func() hear.Heard { h := heard("no"); h.Gate = -50; return h }(), "that is forced into a remark": forced("note the pass nine", "note the pass nine")} {
		t.Run(name, func(t *testing.T) {
			r, clock := leading(t)
			r.l.Guess(&guesser{text: "know what he said"})
			r.want(unsure(ledSpacer, ledOther), judge.Asked, 0)
			clock(15 * time.Second)
			r.want(h, judge.Refused, 0)
			clock(6 * time.Second)
			r.want(heard("yes"), judge.Silent, 0)
		})
	}
}

// After a question a note without the lead-in is asked about, whatever it records, and makes the time no longer.
func TestANoteInsteadOfAnAnswer(t *testing.T) {
	for name, h := range map[string]hear.Heard{
		"a reading": heard(spacer), "a mark": heard("seat clean"), "what takes something back": heard("scratch that last one seat clean"),
		"a photo": heard("take a photo"), "a remark": forced("note the pass seven", "note the pass two"),
	} {
		t.Run(name, func(t *testing.T) {
			r, clock := leading(t)
			r.l.Guess(&guesser{text: rattles})
			r.want(unsure(ledOther, ledSpacer), judge.Asked, 0)
			clock(15 * time.Second)
			if out := r.want(h, judge.Asked, 0); out.Do != "" {
				t.Errorf("%+v", out)
			}
			clock(6 * time.Second)
			r.want(heard("yes"), judge.Silent, 0)
		})
	}
	r, clock := leading(t)
	r.want(unsure(ledOther, ledSpacer), judge.Asked, 0)
	clock(5 * time.Second)
	r.want(heard(spacer), judge.Asked, 0)
	clock(5 * time.Second)
	r.want(heard("yes"), judge.Taken, 1)
	if r.seat.said[0].Text != spacer {
		t.Errorf("kept %+v", r.seat.said)
	}
}

// Nothing but the lead-in steers the listening at an open microphone.
func TestACommandInsteadOfAnAnswer(t *testing.T) {
	r, _ := leading(t)
	r.want(unsure(ledSpacer, ledOther), judge.Asked, 0)
	if out := r.want(heard("stand by"), judge.Refused, 0); r.l.StandsBy() {
		t.Errorf("%+v", out)
	}
	if out := r.want(heard("bench seven stand by"), judge.Taken, 0); !r.l.StandsBy() {
		t.Errorf("%+v", out)
	}
}

// A note that is to be said again needs no lead-in, once: neither what was said with it, nor what is said after a no.
func TestANoteIsSaidAgain(t *testing.T) {
	for _, tt := range []struct {
		name   string
		before []hear.Heard
		last   judge.Verdict
	}{
		{"it meant nothing", []hear.Heard{heard("bench seven build")}, judge.Refused},
		{"it fitted badly", []hear.Heard{func() hear.Heard { h := heard(ledSpacer); h.Gate = -50; return h }()}, judge.Refused},
		{"a no", []hear.Heard{unsure(ledOther, ledSpacer), heard("no")}, judge.Refused},
		{"the lead-in alone", []hear.Heard{heard("bench seven")}, judge.Taken},
	} {
		for _, late := range []time.Duration{19 * time.Second, 21 * time.Second} {
			r, clock := leading(t)
			var out listen.Outcome
			for _, h := range tt.before {
				out = r.note(h, 8000)
			}
			if out.Verdict != tt.last {
				t.Fatalf("%s: %+v", tt.name, out)
			}
			clock(late)
			if late > listen.AnswerWithin {
				r.want(heard(spacer), judge.Silent, 0)
				continue
			}
			r.want(talk(), judge.Refused, 0) // of that it gets no longer
			r.want(heard(spacer), judge.Taken, 1)
			r.want(heard(spacer), judge.Silent, 1)
		}
	}
}

// The note that is said again may be asked about as any: then a yes needs no lead-in either, and another note is asked.
func TestANoteThatIsSaidAgainIsAsked(t *testing.T) {
	r, clock := leading(t)
	r.want(heard("bench seven"), judge.Taken, 0)
	clock(15 * time.Second)
	r.want(unsure(spacer, "build spacer sixty five millimetres"), judge.Asked, 0)
	clock(15 * time.Second)
	r.want(heard("seat clean"), judge.Asked, 0)
	r.want(heard("yes"), judge.Taken, 1)
}

// What the floor has asked is answered without the lead-in; what is more than an answer is asked about.
func TestAnswersToTheFloorNeedNoLeadIn(t *testing.T) {
	ask := func(t *testing.T) (*rig, func(time.Duration)) {
		t.Helper()
		r, clock := leading(t)
		body, err := json.Marshal(map[string]any{"findings": []map[string]string{{"rule": "ask"}}})
		if err != nil {
			t.Fatal(err)
		}
		r.seat.body = string(body)
		r.want(heard("bench seven build spacer"), judge.Taken, 1)
		r.seat.asked("build spacer")
		return r, clock
	}
	for _, tt := range []struct {
		text    string
		verdict judge.Verdict
	}{
		{"sixty four millimetres", judge.Taken},
		{"seat clean", judge.Asked},
		{"build spacer sixty five millimetres", judge.Asked},
		{"scratch that", judge.Taken},
	} {
		t.Run(tt.text, func(t *testing.T) {
			r, clock := ask(t)
			kept := 1
			if tt.verdict == judge.Taken {
				kept++
			}
			clock(15 * time.Second)
			r.want(heard(tt.text), tt.verdict, kept)
			clock(10 * time.Second)
			if tt.verdict == judge.Taken { // it is asked again
				r.want(heard("sixty four millimetres"), judge.Taken, kept+1)
			}
		})
	}
}
