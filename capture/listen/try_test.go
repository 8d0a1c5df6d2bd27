package listen_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/listen"
)

// try reads a sentence, which is heard as h.
func (r *rig) try(sentence string, h hear.Heard) (listen.Trial, error) {
	r.t.Helper()
	r.ear.next = h
	if err := r.l.Begin(r.t.Context()); err != nil {
		r.t.Fatal(err)
	}
	if _, _, err := r.l.Write(r.t.Context(), make([]int16, 16000)); err != nil {
		r.t.Fatal(err)
	}
	return r.l.Try(r.t.Context(), sentence)
}

// misfit is what was heard of talk.
func misfit(text string) hear.Heard {
	h := heard(text)
	h.Gate = -50
	return h
}

// TestTry: each sentence is told what would have come of it, and nothing comes of it.
func TestTry(t *testing.T) {
	const sentence = "build spacer sixty-four millimetres"
	silent, alone, guessed := heard(""), heard("build spacer 64 mm"), heard(sentence)
	silent.Level = -100
	alone.Plain, alone.Gate, alone.Level, alone.Noise = nil, math.NaN(), math.NaN(), math.NaN()
	guessed.Other = &hear.Other{Engine: "service", Text: "build spacer 64 mm"}
	for _, tt := range []struct {
		name, sentence string
		h              hear.Heard
		verdict        judge.Verdict
		text           string
		right          bool
	}{
		{"as it stands", sentence, heard(spacer), judge.Taken, spacer, true},
		{"in other words for the same", sentence, alone, judge.Asked, "build spacer 64 mm", true},
		{"two engines of one mind", sentence, guessed, judge.Taken, sentence, true},
		{"the decodes differ", sentence, unsure(spacer, "build spacer sixty five millimetres"), judge.Asked, spacer, true},
		{"another value", sentence, heard("build spacer sixty five millimetres"), judge.Taken, "build spacer sixty five millimetres", false},
		{"another note", sentence, heard("seat clean"), judge.Taken, "seat clean", false},
		{"a command", sentence, heard("stand by"), judge.Taken, "stand by", false},
		{"a question", "read that back", heard("read that back"), judge.Taken, "read that back", true},
		{"a mark", "seat clean", heard("seat clean"), judge.Taken, "seat clean", true},
		{"nothing that means anything", sentence, heard("build"), judge.Refused, "build", false},
		{"it fits badly", sentence, misfit(spacer), judge.Refused, spacer, false},
		{"a sound without words", sentence, heard(""), judge.Refused, "", false},
		{"nobody speaks", sentence, silent, judge.Silent, "", false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := newRig(t)
			got, err := r.try(tt.sentence, tt.h)
			if err != nil || got.Verdict != tt.verdict || got.Text != tt.text || got.Right != tt.right {
				t.Errorf("%+v, error %v", got, err)
			}
			if math.IsNaN(got.Level) || math.IsInf(got.Noise, 0) {
				t.Errorf("levels that cannot be told: %+v", got)
			}
			if len(r.seat.said)+len(r.sounds.put) > 0 || r.l.StandsBy() || !r.ear.closed {
				t.Errorf("said %+v, sounds %v, stands by %t, ear closed %t", r.seat.said, r.sounds.put, r.l.StandsBy(), r.ear.closed)
			}
			if out := r.note(heard("yes"), 8000); out.Answer != nil && len(r.seat.said) == 1 && r.seat.said[0].Text != "yes" {
				t.Errorf("a yes has recorded %+v", r.seat.said)
			}
		})
	}
}

// TestTryLeavesTheBenchAsItIs: what was asked before still waits, with its own sound; who stands by still does.
func TestTryLeavesTheBenchAsItIs(t *testing.T) {
	r := newRig(t)
	r.want(unsure(spacer, "build spacer sixty five millimetres"), judge.Asked, 0)
	for _, text := range []string{"yes", "no", "seat clean", "stand by"} {
		if _, err := r.try("seat clean", heard(text)); err != nil {
			t.Fatal(err)
		}
	}
	r.want(heard("yes"), judge.Taken, 1)
	if r.seat.said[0].Text != spacer || r.sounds.lengths[0] != 32000 {
		t.Errorf("kept %+v with sounds of %v samples", r.seat.said, r.sounds.lengths)
	}
	r.want(heard("stand by"), judge.Taken, 1)
	if got, err := r.try("seat clean", heard("seat clean")); err != nil || !got.Right || got.Verdict != judge.Taken {
		t.Errorf("while the bench stands by: %+v, error %v", got, err)
	}
	if _, err := r.try("seat clean", heard("resume")); err != nil || !r.l.StandsBy() {
		t.Errorf("it no longer stands by; error %v", err)
	}
	r.want(heard("seat clean"), judge.Silent, 1)
}

// TestTryAndTheLeadIn: a sentence needs none, and it does no harm; whether the next note needs one stays as it was.
func TestTryAndTheLeadIn(t *testing.T) {
	r, clock := leading(t)
	for _, text := range []string{"seat clean", "bench seven seat clean"} {
		if got, err := r.try("seat clean", heard(text)); err != nil || !got.Right || got.Text != "seat clean" {
			t.Errorf("%q: %+v, error %v", text, got, err)
		}
	}
	r.want(heard("seat clean"), judge.Silent, 0)
	r.want(unsure(ledSpacer, ledOther), judge.Asked, 0)
	clock(15 * time.Second)
	if _, err := r.try("seat clean", unsure("bench seven seat clean", ledOther)); err != nil {
		t.Fatal(err)
	}
	clock(6 * time.Second)
	r.want(heard("yes"), judge.Silent, 0)
}

func TestTryThatFails(t *testing.T) {
	r := newRig(t)
	if _, err := r.l.Try(t.Context(), "seat clean"); err == nil {
		t.Error("a sentence that was not begun is judged")
	}
	if err := r.l.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	r.ear.err = hear.ErrLost
	if got, err := r.l.Try(t.Context(), "seat clean"); !errors.Is(err, hear.ErrLost) || got.Right || !r.ear.closed {
		t.Errorf("%+v, error %v, ear closed %t", got, err, r.ear.closed)
	}
}
