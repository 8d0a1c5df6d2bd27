package listen_test

import (
	"math"
	"strings"
	"testing"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/parse"
)

// A yes that completes a reading is held to the bar of one, whoever has heard it.
func TestAYesThatRecords(t *testing.T) {
	twice := heard("yes")
	twice.Plain = heard("no").Words
	alone := heard("yes")
	alone.Plain, alone.Gate = nil, math.NaN()
	for name, h := range map[string]hear.Heard{"one decode heard a no": twice, "a service alone": alone, "a service heard a no": second("yes", "no")} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t)
			r.seat.asked(spacer)
			if out := r.note(h, 4000); out.Verdict == judge.Taken || len(r.seat.said) != 0 {
				t.Errorf("%+v, said %v", out, r.seat.said)
			}
		})
	}
	r := newRig(t)
	r.seat.asked(spacer)
	if out := r.note(heard("yes"), 4000); out.Verdict != judge.Taken || len(r.seat.said) != 1 {
		t.Errorf("a sure one: %+v", out)
	}
}

// Rivals are held against all that was said, the lead-in included.
func TestRivalsBehindTheLeadIn(t *testing.T) {
	r := newRig(t)
	r.l.LeadIn("bench seven")
	r.l.Open(true)
	r.note(heard("bench seven "+spacer), 8000)
	if len(r.ear.scored) == 0 {
		t.Fatal("nothing was scored")
	}
	for _, scored := range r.ear.scored {
		for _, s := range hear.Alternatives(scored) {
			s, _ := hear.Handicapped(s)
			if !strings.HasPrefix(s, "bench seven build spacer ") {
				t.Errorf("scored %q against sound that begins with the lead-in", s)
			}
		}
	}
}

// A reply of which only one decode has the lead-in confirms nothing.
func TestAReplyWithHalfALeadIn(t *testing.T) {
	r := newRig(t)
	r.l.LeadIn("bench seven")
	r.l.Open(true)
	clock := r.l.Clock()
	h := heard("bench seven " + spacer)
	h.Plain = heard("bench seven build spacer sixty five millimetres").Words
	r.note(h, 8000)
	clock(30e9)
	half := heard("bench seven yes")
	half.Plain = heard("bench eleven no").Words
	if out := r.note(half, 4000); out.Verdict == judge.Taken || len(r.seat.said) != 0 {
		t.Errorf("%+v, said %v", out, r.seat.said)
	}
}

// Who holds a key to be heard gets an answer to whatever was said, even if no words were made of it; an open microphone hears much that is not meant for it.
func TestWhoHoldsAKeyIsAnswered(t *testing.T) {
	far := heard(spacer)
	far.Gate, far.Plain = -50, heard("collar nut").Words
	long := far // a long note that was heard as a few words
	long.Gate = math.Inf(-1)
	nothing := heard("")
	still := nothing
	still.Level = -100
	for _, tt := range []struct {
		name    string
		heard   hear.Heard
		open    bool
		samples int
		verdict judge.Verdict
		say     string
	}{
		{"words that fit badly", far, false, 8000, judge.Refused, "Say again."},
		{"the same at an open microphone", far, true, 8000, judge.Silent, ""},
		{"words that nothing speaks for", long, false, 8000, judge.Refused, "Say again."},
		{"the same at an open microphone", long, true, 8000, judge.Silent, ""},
		{"a bang", long, false, 7999, judge.Silent, ""},
		{"no words were found", nothing, false, 8000, judge.Refused, "Say again."},
		{"the same at an open microphone", nothing, true, 8000, judge.Silent, ""},
		{"a key that is let go at once", nothing, false, 7999, judge.Silent, ""},
		{"a key that is held without a word", still, false, 8000, judge.Silent, ""},
	} {
		r := newRig(t)
		r.l.Open(tt.open)
		if out := r.note(tt.heard, tt.samples); out.Verdict != tt.verdict || out.Say != tt.say || len(r.seat.said) != 0 {
			t.Errorf("%s: %+v, want %s %q", tt.name, out, tt.verdict, tt.say)
		}
	}
}

// A cough does not end the time in which an answer needs no lead-in.
func TestACoughBeforeTheAnswer(t *testing.T) {
	r := newRig(t)
	r.l.LeadIn("bench seven")
	r.l.Open(true)
	h := heard("bench seven " + spacer)
	h.Plain = heard("bench seven build spacer sixty five millimetres").Words
	r.note(h, 8000)
	cough := heard("")
	cough.Gate = math.Inf(-1)
	if out := r.note(cough, 2000); out.Verdict != judge.Silent {
		t.Fatalf("a cough: %+v", out)
	}
	if out := r.note(heard("yes"), 4000); out.Verdict != judge.Taken || out.Text != spacer {
		t.Errorf("the answer: %+v", out)
	}
}

// Two units that differ by a capital are two.
func TestAMegohmIsNoMilliohm(t *testing.T) {
	if r := newRig(t); r.note(second("build spacer two megohms", "build spacer 2 mOhm"), 8000).Verdict == judge.Taken {
		t.Errorf("taken: %v", r.seat.said)
	}
}

// What steers the listening is said, and fits the sound.
func TestNoiseSteersNothing(t *testing.T) {
	noise := func(text string) hear.Heard {
		h := heard(text)
		h.Gate = math.Inf(-1)
		return h
	}
	r := newRig(t)
	if out := r.note(noise("stand by"), 4000); out.Verdict == judge.Taken {
		t.Fatalf("stand by: %+v", out)
	}
	if out := r.note(heard("stop listening"), 4000); out.Verdict != judge.Taken {
		t.Fatalf("stop listening: %+v", out)
	}
	differs := heard("resume")
	differs.Plain = heard("the pass").Words
	for _, h := range []hear.Heard{noise("resume"), differs} {
		if out := r.note(h, 4000); out.Verdict != judge.Silent {
			t.Errorf("while it stands by: %+v", out)
		}
	}
	if out := r.note(heard("carry on"), 4000); out.Say != "Listening." {
		t.Errorf("carry on: %+v", out)
	}
}

// What is measured stands as taken with the instrument that was named last: in noise one that the shop does not have is
// asked about.
func TestAnInstrumentThatTheShopLacks(t *testing.T) {
	for text, lacks := range map[string]bool{
		"on wrench forty": true,
		"on wrench four":  false,
		"build spacer sixty four millimetres with wrench forty": true,
		"build spacer sixty four millimetres with wrench four":  false,
	} {
		for _, noisy := range []bool{false, true} {
			r := newRig(t)
			r.seat.lacks = "wrench 40"
			h, want := heard(text), judge.Taken
			if noisy {
				h = amid(h)
			}
			if noisy && lacks {
				want = judge.Asked
			}
			if out := r.note(h, 2*hear.Rate); out.Verdict != want {
				t.Errorf("%q, in noise %t: %+v, want it %s", text, noisy, out, want)
			}
		}
	}
}

// What stands behind the number of a place without its own whole part may have lost it: in noise it is asked about.
func TestAValueWithoutItsWholePart(t *testing.T) {
	for text, lost := range map[string]bool{
		"shim stage one point three millimetres":           true,
		"shim stage two one point three millimetres":       false,
		"shim stage twenty one point three millimetres":    false,
		"shim stage one zero point three millimetres":      false,
		"build spacer point three millimetres":             false,
		"build spacer sixty four point three millimetres":  false,
		"shim stage one thirteen millimetres":              false,
		"shim stage three point oh five millimetres again": true,
	} {
		for _, noisy := range []bool{false, true} {
			r := newRig(t)
			r.seat.words = parse.NewVocabulary(parse.Words{
				Axes: []parse.Axis{{ID: "stage", Say: []string{"stage"}, Values: []parse.AxisValue{{Value: "1"}, {Value: "2"}, {Value: "3"}, {Value: "21"}}}},
				Names: []parse.Name{
					{Callout: "spacer", Kind: parse.Reading, Say: []string{"build spacer"}, Unit: "mm"},
					{Callout: "shim", Kind: parse.Reading, Say: []string{"shim"}, Unit: "mm", Axes: []string{"stage"}},
				},
			})
			h := heard(text)
			if noisy {
				h = amid(h)
			}
			want := judge.Taken
			if noisy && lost {
				want = judge.Asked
			}
			if out := r.note(h, 2*hear.Rate); out.Verdict != want {
				t.Errorf("%q, in noise %t: %+v, want it %s", text, noisy, out, want)
			}
		}
	}
}
