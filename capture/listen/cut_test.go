package listen_test

import (
	"encoding/json"
	"math"
	"testing"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/listen"
	"readback/capture/wire"
)

// cutOff speaks a note that is ended in the middle.
func (r *rig) cutOff(h hear.Heard, samples int) listen.Outcome {
	r.t.Helper()
	r.begin(h)
	if _, _, err := r.l.Write(r.t.Context(), make([]int16, samples)); err != nil {
		r.t.Fatal(err)
	}
	r.l.Cut()
	return r.end()
}

func (r *rig) begin(h hear.Heard) {
	r.t.Helper()
	r.ear.next = h
	if err := r.l.Begin(r.t.Context()); err != nil {
		r.t.Fatal(err)
	}
}

func (r *rig) end() listen.Outcome {
	r.t.Helper()
	out, err := r.l.End(r.t.Context(), wire.Note{ID: "id"})
	if err != nil {
		r.t.Fatal(err)
	}
	return out
}

// What would record anything is asked about where its end may be missing, however sure its words are.
func TestANoteThatIsCutOffIsAsked(t *testing.T) {
	for _, tt := range []struct {
		name    string
		heard   hear.Heard
		verdict judge.Verdict
		text    string
	}{
		{"a reading", heard("build spacer sixty"), judge.Asked, "build spacer sixty"},
		{"of two engines that are of one mind", second(spacer, "build spacer 64 mm"), judge.Asked, spacer},
		{"a mark", heard("seat clean"), judge.Asked, "seat clean"},
		{"a photo", heard("take a photo"), judge.Asked, "take a photo"},
		{"a remark", forced("note the pass seven", "note the pass two"), judge.Asked, rattles},
		{"a question", heard("what is left"), judge.Taken, "what is left"},
		{"no words of ours", heard("build"), judge.Refused, "build"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := newRig(t)
			r.l.Guess(&guesser{text: rattles})
			out := r.cutOff(tt.heard, 8000)
			if out.Verdict != tt.verdict || out.Text != tt.text || out.Do != "" {
				t.Fatalf("%+v; want %s %q", out, tt.verdict, tt.text)
			}
			if tt.verdict == judge.Asked && len(r.seat.said)+len(r.sounds.put) != 0 {
				t.Errorf("kept unasked: %v", r.seat.said)
			}
		})
	}
}

// After a yes it is kept with its own sound, and the record says that it was cut off; the yes itself is whole.
func TestANoteThatIsCutOffAfterAYes(t *testing.T) {
	r := newRig(t)
	r.cutOff(heard("build spacer sixty four millimetres"), 8000)
	if out := r.cutOff(heard("yes"), 4000); out.Verdict == judge.Taken || len(r.seat.said) != 0 {
		t.Fatalf("what may be the begin of another word answers: %+v", out)
	}
	if out := r.note(heard("yes"), 4000); out.Verdict != judge.Taken || out.Text != spacer || r.sounds.lengths[0] != 8000 {
		t.Fatalf("after a yes: %+v, sounds %v", out, r.sounds.lengths)
	}
	var record listen.Record
	if err := json.Unmarshal(r.seat.kept[0].Heard, &record); err != nil || !record.Cut {
		t.Errorf("the record is %s, error %v", r.seat.kept[0].Heard, err)
	}
	if out := r.note(heard(spacer), 8000); out.Verdict != judge.Taken {
		t.Errorf("the next note: %+v", out)
	}
	r.l.Guess(&guesser{text: rattles})
	r.cutOff(forced("note the pass seven", "note the pass two"), 2*hear.Rate)
	if out := r.cutOff(heard("yes"), 4000); out.Verdict != judge.Asked || len(r.seat.said) != 2 {
		t.Errorf("a yes about a remark that is cut off: %+v", out)
	}
}

// A note that has grown too long is cut off, unless it was over before.
func TestTheLongestNoteIsCutOff(t *testing.T) {
	for _, tt := range []struct {
		name    string
		states  [2]hear.State // in the last frame but one, and in the last
		verdict judge.Verdict
	}{
		{"somebody speaks", [2]hear.State{hear.Speaking, hear.Speaking}, judge.Asked},
		{"the ear has a bound of its own", [2]hear.State{hear.Speaking, hear.Ended}, judge.Asked},
		{"a breath is drawn", [2]hear.State{hear.Speaking, hear.MayEnd}, judge.Asked},
		{"a key is held behind it", [2]hear.State{hear.Ended, hear.Ended}, judge.Taken},
	} {
		r := newRig(t)
		r.begin(heard("build spacer sixty"))
		for i, state := range tt.states {
			r.ear.live.State = state
			if _, _, err := r.l.Write(t.Context(), make([]int16, listen.MaxNote/2)); err != nil {
				t.Fatal(err)
			}
			if r.l.Full() != (i == 1) {
				t.Fatalf("%s: full %t after part %d", tt.name, r.l.Full(), i)
			}
		}
		if out := r.end(); out.Verdict != tt.verdict || (len(r.seat.said) == 1) != (tt.verdict == judge.Taken) {
			t.Errorf("%s: %+v; want %s", tt.name, out, tt.verdict)
		}
	}
}

// An open microphone in which nothing was said until its note was too long, or had been silent for long, gets no answer; nothing
// is kept, and a question that was asked stays.
func TestANoteInWhichNothingWasSaid(t *testing.T) {
	nothing := hear.Heard{Words: []hear.Word{}, Plain: []hear.Word{}, Gate: math.Inf(-1), Level: -20}
	for _, tt := range []struct {
		name  string
		lead  string
		state hear.State
		heard hear.Heard
	}{
		{"a bang", "", hear.Waiting, nothing},
		{"a bang, with a lead-in", "bench seven", hear.Waiting, nothing},
		{"an ear that is silent", "", hear.Ended, hear.Heard{Level: -100}},
	} {
		for _, asked := range []bool{false, true} {
			r := newRig(t)
			r.l.Guess(&guesser{text: "pass me the rag"})
			r.l.LeadIn(tt.lead)
			if asked {
				r.cutOff(heard(spacer), 8000)
			}
			r.l.Open(true)
			r.begin(tt.heard)
			r.ear.live.State = tt.state
			if _, ended, err := r.l.Write(t.Context(), make([]int16, listen.MaxNote)); err != nil || !ended || r.l.Samples() != listen.MaxNote {
				t.Fatalf("%s: ended %t at %d samples, error %v", tt.name, ended, r.l.Samples(), err)
			}
			if out := r.end(); out.Verdict != judge.Silent || len(r.seat.said)+len(r.sounds.put) != 0 {
				t.Errorf("%s, asked %t: %+v, kept %+v", tt.name, asked, out, r.seat.said)
			}
			r.l.Open(false)
			if out := r.note(heard("yes"), 4000); asked && (out.Verdict != judge.Taken || out.Text != spacer) {
				t.Errorf("%s: a yes to what was asked before: %+v", tt.name, out)
			}
		}
	}
}
