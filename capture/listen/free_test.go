package listen_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/listen"
)

// guesser guesses what it is told to.
type guesser struct {
	text  string
	err   error
	asked int
}

func (g *guesser) Guess(context.Context, []int16) (hear.Guess, error) {
	g.asked++
	return hear.Guess{Text: g.text, By: "offline"}, g.err
}

// forced is how a grammar hears what is in free words: as words of its own that do not fit.
func forced(clean, plain string) hear.Heard {
	h := heard(clean)
	h.Plain, h.Gate = heard(plain).Words, -38
	return h
}

// amid is what was heard in noise.
func amid(h hear.Heard) hear.Heard {
	h.Level, h.Noise = -20, -38
	return h
}

const rattles = "note the customer says it rattles when cold"

func TestARemarkIsKeptAsSound(t *testing.T) {
	for _, tt := range []struct {
		name    string
		heard   hear.Heard
		guess   guesser
		verdict judge.Verdict
		text    string
	}{
		{"all decodes begin as one", forced("note the pass seven", "note the pass two"), guesser{text: rattles}, judge.Taken, rattles},
		{"the words behind fit no grammar", forced("note the pass seven", "note the pass two"), guesser{text: "no the customer says"}, judge.Taken, "no the customer says"},
		{"they fit none, and the guess is far off", forced("note nut staked", "note nut staked"), guesser{text: "throw in upstate"}, judge.Asked, "throw in upstate"},
		{"the guess is a number", forced("note nut staked", "note nut staked"), guesser{text: "forty eight newton metres"}, judge.Asked, "forty eight newton metres"},
		{"the guess has a number in front", forced("note nut staked", "note nut staked"), guesser{text: "for eight newton metres"}, judge.Asked, "for eight newton metres"},
		{"the guess is a reading", forced("note nut staked", "note nut staked"), guesser{text: "nut staked"}, judge.Asked, "nut staked"},
		{"nobody can guess in noise", amid(forced("note the pass seven", "note the pass two")), guesser{err: hear.ErrLost}, judge.Asked, "note (sound alone)"},
		{"a no among talk", amid(forced("note aye", "note aye")), guesser{text: "no i"}, judge.Asked, "no i"},
		{"all decodes in noise", amid(forced("note the pass seven", "note the pass two")), guesser{text: rattles}, judge.Taken, rattles},
		{"a reading told in it", heard("note build spacer sixty four millimetres"), guesser{text: "note build space her"}, judge.Taken, "note build space her"},
		{"it may be a no", heard("note build spacer sixty four millimetres"), guesser{text: "no build space her"}, judge.Asked, "no build space her"},
		{"one decode alone", forced("note the pass seven", "no the pass"), guesser{text: rattles}, judge.Asked, rattles},
		{"the plain decode alone", forced("no the pass seven", "note the pass"), guesser{text: "no the past"}, judge.Asked, "no the past"},
		{"no path at all", hear.Heard{Words: []hear.Word{}, Plain: []hear.Word{}, Gate: math.Inf(-1), Level: -20}, guesser{text: rattles}, judge.Asked, rattles},
		{"no path and other talk", hear.Heard{Words: []hear.Word{}, Plain: []hear.Word{}, Gate: math.Inf(-1), Level: -20}, guesser{text: "pass me the rag"}, judge.Refused, ""},
		{"nobody can guess", forced("note the pass seven", "note the pass two"), guesser{err: hear.ErrLost}, judge.Taken, "note (sound alone)"},
		{"no word is guessed", forced("for the record the pass seven", "for the record the pass"), guesser{text: "note"}, judge.Taken, "note (sound alone)"},
		{"a note that is none", heard("build spacer sixty four millimetres"), guesser{text: rattles}, judge.Taken, "build spacer sixty four millimetres"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := newRig(t)
			r.l.Guess(&tt.guess)
			out := r.note(tt.heard, 2*hear.Rate)
			if out.Verdict != tt.verdict || out.Text != tt.text {
				t.Fatalf("%+v; want %s %q", out, tt.verdict, tt.text)
			}
			if kept := len(r.seat.said); kept != len(r.sounds.put) || (kept == 1) != (tt.verdict == judge.Taken) {
				t.Fatalf("%d notes and %d sounds are kept", kept, len(r.sounds.put))
			}
			if tt.verdict == judge.Taken && r.seat.kept[0].Guess != (tt.name != "a note that is none") {
				t.Errorf("kept as a guess: %t", r.seat.kept[0].Guess)
			}
			if tt.verdict != judge.Asked {
				return
			}
			if out := r.note(forced("yes", "yes"), 8000); out.Verdict != judge.Refused || len(r.seat.said) != 0 {
				t.Errorf("a yes that does not fit the sound: %+v", out)
			}
			unsure := heard("yes")
			unsure.Plain = heard("no").Words
			if out := r.note(unsure, 8000); out.Verdict != judge.Asked || len(r.seat.said) != 0 {
				t.Errorf("a yes that is not sure: %+v", out)
			}
			out = r.note(heard("yes"), 8000)
			if out.Verdict != judge.Taken || out.Text != tt.text || !r.seat.kept[0].Guess || r.sounds.lengths[0] != 2*hear.Rate {
				t.Errorf("after a yes: %+v, kept %+v, sounds %v", out, r.seat.kept, r.sounds.lengths)
			}
			var record listen.Record
			if err := json.Unmarshal(r.seat.kept[0].Heard, &record); err != nil || record.Reply != "yes" || (record.Guess == "offline") != (tt.guess.err == nil) {
				t.Errorf("the record is %s, error %v", r.seat.kept[0].Heard, err)
			}
		})
	}
}

// Nobody is asked to guess at a bang: it would be busy with it, and the answer late.
func TestABangIsNoRemark(t *testing.T) {
	for _, unvoiced := range []bool{false, true} {
		g := &guesser{text: "pass me the rag"}
		r := newRig(t)
		r.l.Guess(g)
		h := hear.Heard{Words: []hear.Word{}, Plain: []hear.Word{}, Gate: math.Inf(-1), Level: -20, Unvoiced: unvoiced}
		if out := r.note(h, 2*hear.Rate); out.Say != "Say again." || (g.asked == 0) != unvoiced {
			t.Errorf("without a voice %t: %+v, guessed %d times", unvoiced, out, g.asked)
		}
	}
}

func TestARemarkThatIsNone(t *testing.T) {
	r := newRig(t)
	r.l.Guess(&guesser{text: "no build space her"})
	r.note(heard("note build spacer sixty four millimetres"), 2*hear.Rate)
	if out := r.note(heard("no"), 8000); out.Verdict != judge.Refused || out.Say != "Say again." || len(r.seat.said) != 0 {
		t.Errorf("after a no: %+v", out)
	}
	r.note(heard("note build spacer sixty four millimetres"), 2*hear.Rate)
	if out := r.note(heard("build spacer sixty four millimetres"), 8000); out.Verdict != judge.Taken || r.seat.kept[0].Guess {
		t.Errorf("a note instead of an answer: %+v", out)
	}
	if out := r.note(heard("yes"), 8000); out.Text != "yes" {
		t.Errorf("a yes when the question is over: %+v", out)
	}
}

// Whether it was a remark is answered in the words in which any question is, and a wish to hear it again
// has it asked again.
func TestTheWordsThatAnswerAboutARemark(t *testing.T) {
	for _, tt := range []struct {
		words []string
		want  judge.Verdict
		kept  int
	}{
		{judge.Yes, judge.Taken, 1},
		{judge.No, judge.Refused, 0},
		{judge.Scratch, judge.Refused, 0},
		{judge.Repeat, judge.Asked, 0},
	} {
		for _, word := range tt.words {
			r := newRig(t)
			r.l.Guess(&guesser{text: "no build space her"})
			r.note(heard("note build spacer sixty four millimetres"), 2*hear.Rate)
			if out := r.note(heard(word), 8000); out.Verdict != tt.want || len(r.seat.said) != tt.kept {
				t.Errorf("%s: %+v, kept %+v", word, out, r.seat.said)
			}
		}
	}
}

// In an open microphone without a lead-in, talk is not decoded a third time, and is no remark by its
// forced words alone.
func TestTalkIsNoRemark(t *testing.T) {
	r := newRig(t)
	g := &guesser{text: "know what he said"}
	r.l.Guess(g)
	r.l.Open(true)
	if out := r.note(forced("and the pass nine", "and the pass"), 2*hear.Rate); out.Verdict != judge.Silent || g.asked != 0 {
		t.Errorf("%+v, guessed %d times", out, g.asked)
	}
	if out := r.note(forced("note the pass nine", "note the pass nine"), 2*hear.Rate); out.Verdict == judge.Taken || len(r.sounds.put) != 0 {
		t.Errorf("%+v, sounds %v", out, r.sounds.put)
	}
	g.text = rattles
	if out := r.note(forced("note the pass nine", "note the pass"), 2*hear.Rate); out.Verdict != judge.Taken {
		t.Errorf("a remark: %+v", out)
	}
}

// While it is spoken no words of the grammar are shown for a remark, and it does not end early.
func TestARemarkIsNotCut(t *testing.T) {
	r := newRig(t)
	if err := r.l.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	r.ear.live = hear.Live{State: hear.MayEnd, Words: strings.Fields("note build spacer sixty four millimetres")}
	live, ended, err := r.l.Write(t.Context(), make([]int16, 160))
	if err != nil || ended || strings.Join(live.Words, " ") != "note …" {
		t.Errorf("%q, ended %t, error %v", live.Words, ended, err)
	}
}

// second is a note of which a service has heard something.
func second(first, other string) hear.Heard {
	h := heard(first)
	h.Other = &hear.Other{Engine: "service", Text: other}
	return h
}

const spacer = "build spacer sixty four millimetres"

func TestASecondOpinion(t *testing.T) {
	differs := second(spacer, "build spacer 64 mm")
	differs.Plain = heard("build spacer sixty five millimetres").Words
	noise := second("build spacer sixty five", "build spacer 64 mm")
	noise.Gate = -50
	nothing := second("", "build spacer 64 mm")
	nothing.Gate = math.Inf(-1)
	talk := second("build spacer", "what a day")
	talk.Gate = -50
	for _, tt := range []struct {
		name    string
		heard   hear.Heard
		verdict judge.Verdict
		text    string // of what is taken or asked about
	}{
		{"the same in figures", second(spacer, "build spacer 64 mm"), judge.Taken, spacer},
		{"the same, and the plain decode differs", differs, judge.Taken, spacer},
		{"a gauge in other words", second("gauge on build spacer", "put the gauge on the build spacer"), judge.Taken, "gauge on build spacer"},
		{"another number", second(spacer, "build spacer 65 mm"), judge.Asked, spacer},
		{"another resolution", second(spacer, "build spacer 64.0 mm"), judge.Asked, spacer},
		{"another unit", second(spacer, "build spacer 64 inches"), judge.Asked, spacer},
		{"less", second(spacer, "64 mm"), judge.Asked, spacer},
		{"more", second("seat clean", "seat not clean"), judge.Asked, "seat clean"},
		{"talk", second(spacer, "what a lovely day it is"), judge.Asked, spacer},
		{"nothing", second(spacer, ""), judge.Asked, spacer},
		{"what does not fit the sound", noise, judge.Asked, "build spacer 64 mm"},
		{"what the first did not hear", nothing, judge.Asked, "build spacer 64 mm"},
		{"talk to both", talk, judge.Refused, ""},
		{"no opinion", heard(spacer), judge.Taken, spacer},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := newRig(t)
			out := r.note(tt.heard, 8000)
			if out.Verdict != tt.verdict || tt.text != "" && out.Text != tt.text {
				t.Fatalf("%+v; want %s %q", out, tt.verdict, tt.text)
			}
			if (len(r.seat.said) == 1) != (tt.verdict == judge.Taken) {
				t.Errorf("said %v", r.seat.said)
			}
		})
	}
}

// A service that lies makes every note a question, and never a reading.
func TestAServiceThatLies(t *testing.T) {
	r := newRig(t)
	for range 3 {
		if out := r.note(second(spacer, "build spacer 88.5 mm"), 8000); out.Verdict != judge.Asked {
			t.Errorf("%+v", out)
		}
		r.l.Typed()
	}
	// To the yes as well: it is asked again.
	r.note(second(spacer, "build spacer 88.5 mm"), 8000)
	if out := r.note(second("yes", "no"), 3000); out.Verdict != judge.Refused || len(r.seat.said) != 0 {
		t.Errorf("a yes that the other heard as a no: %+v", out)
	}
	if out := r.note(second("yes", "Yes"), 3000); out.Verdict == judge.Taken {
		t.Errorf("words that were not made plain count as the same: %+v", out)
	}
	if out := r.note(second("yes", "yes"), 3000); out.Verdict != judge.Taken || r.seat.said[0].Text != spacer {
		t.Errorf("a yes to what was asked: %+v, said %v", out, r.seat.said)
	}
}

// After a no to the words of the first, those of the second are asked about, with the note's own sound.
func TestTheOtherWordsAreAskedAfterANo(t *testing.T) {
	r := newRig(t)
	r.note(second(spacer, "build spacer 65 mm"), 8000)
	out := r.note(second("no", "no"), 3000)
	if out.Verdict != judge.Asked || out.Text != "build spacer 65 mm" {
		t.Fatalf("after a no: %+v", out)
	}
	out = r.note(second("yes", "yes"), 3000)
	if out.Verdict != judge.Taken || out.Text != "build spacer 65 mm" || r.sounds.lengths[0] != 8000 {
		t.Fatalf("after a yes: %+v, sounds %v", out, r.sounds.lengths)
	}
	var record listen.Record
	if err := json.Unmarshal(r.seat.kept[0].Heard, &record); err != nil || record.Other != "build spacer 65 mm" || record.Plain != spacer {
		t.Errorf("the record is %s, error %v", r.seat.kept[0].Heard, err)
	}
	r.note(second(spacer, "build spacer 65 mm"), 8000)
	r.note(second("no", "no"), 3000)
	if out := r.note(second("no", "no"), 3000); out.Verdict != judge.Refused || out.Say != "Say again." {
		t.Errorf("after two noes: %+v", out)
	}
}

// A service that works alone has everything asked back that records.
func TestAServiceAlone(t *testing.T) {
	alone := func(text string) hear.Heard {
		h := heard(text)
		h.Plain, h.Gate = nil, math.NaN()
		return h
	}
	r := newRig(t)
	if out := r.note(alone("build spacer 64 mm"), 8000); out.Verdict != judge.Asked || len(r.seat.said) != 0 {
		t.Fatalf("%+v", out)
	}
	if out := r.note(alone("yes"), 8000); out.Verdict != judge.Taken || r.seat.said[0].Text != "build spacer 64 mm" {
		t.Errorf("after a yes: %+v", out)
	}
	if out := r.note(alone(rattles), 8000); out.Verdict != judge.Asked || len(r.seat.said) != 1 {
		t.Errorf("a remark: %+v", out)
	}
	if out := r.note(alone("yes"), 8000); out.Verdict != judge.Taken || !r.seat.kept[1].Guess {
		t.Errorf("a remark after a yes: %+v, kept %+v", out, r.seat.kept)
	}
	if out := r.note(alone("well the weather"), 8000); out.Verdict != judge.Refused {
		t.Errorf("talk: %+v", out)
	}
}

func TestTheLeadIn(t *testing.T) {
	newLed := func(open bool) *rig {
		r := newRig(t)
		r.l.LeadIn("bench seven")
		r.l.Open(open)
		return r
	}
	half := heard("bench seven " + spacer)
	half.Plain = heard(spacer).Words
	for _, tt := range []struct {
		name    string
		open    bool
		heard   hear.Heard
		verdict judge.Verdict
		text    string
	}{
		{"with it", true, heard("bench seven " + spacer), judge.Taken, spacer},
		{"without it", true, heard(spacer), judge.Silent, ""},
		{"a part of it", true, heard("seven " + spacer), judge.Silent, ""},
		{"behind the note", true, heard(spacer + " bench seven"), judge.Silent, ""},
		{"another's", true, heard("bench eight " + spacer), judge.Silent, ""},
		{"in one decode", true, half, judge.Asked, spacer},
		{"a question", true, heard("what is left"), judge.Silent, ""},
		{"a command", true, heard("stand by"), judge.Silent, ""},
		{"a remark", true, forced("note the pass seven", "note the pass"), judge.Silent, ""},
		{"a remark with it", true, forced("bench seven note the pass seven", "bench seven note the pass"), judge.Taken, rattles},
		{"a service writes it in figures", true, second("bench seven "+spacer, "bench 7 build spacer 64 mm"), judge.Taken, spacer},
		{"it alone", true, heard("bench seven"), judge.Taken, "bench seven"},
		{"a key is held", false, heard(spacer), judge.Taken, spacer},
		{"a key is held, and it is said", false, heard("bench seven " + spacer), judge.Taken, spacer},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := newLed(tt.open)
			r.l.Guess(&guesser{text: "bench seven " + rattles})
			out := r.note(tt.heard, 2*hear.Rate)
			if out.Verdict != tt.verdict || out.Text != tt.text {
				t.Errorf("%+v; want %s %q", out, tt.verdict, tt.text)
			}
			if tt.verdict == judge.Silent && (len(r.seat.said) != 0 || len(r.sounds.put) != 0) {
				t.Errorf("said %v, sounds %v", r.seat.said, r.sounds.put)
			}
		})
	}
}

// How to go on after "stand by" is told as it has to be said.
func TestHowToResumeWithALeadIn(t *testing.T) {
	for _, tt := range []struct {
		lead string
		open bool
		say  string
	}{
		{"bench seven", true, "Standing by. Say bench seven resume to go on."},
		{"bench seven", false, "Standing by. Say resume to go on."},
		{"", true, "Standing by. Say resume to go on."},
	} {
		r := newRig(t)
		r.l.LeadIn(tt.lead)
		r.l.Open(tt.open)
		if out := r.note(heard(strings.TrimSpace(tt.lead+" stand by")), 4000); out.Say != tt.say {
			t.Errorf("lead-in %q, open %t: %+v; want %q", tt.lead, tt.open, out, tt.say)
		}
	}
}

// For a while after a question the answer needs no lead-in.
func TestAnswersNeedNoLeadIn(t *testing.T) {
	r := newRig(t)
	r.l.LeadIn("bench seven")
	r.l.Open(true)
	clock := r.l.Clock()
	ask := func() {
		t.Helper()
		h := heard("bench seven " + spacer)
		h.Plain = heard("bench seven build spacer sixty five millimetres").Words
		if out := r.note(h, 8000); out.Verdict != judge.Asked {
			t.Fatalf("%+v", out)
		}
	}
	ask()
	if out := r.note(heard("yes"), 3000); out.Verdict != judge.Taken || out.Text != spacer {
		t.Errorf("an answer: %+v", out)
	}
	if out := r.note(heard(spacer), 8000); out.Verdict != judge.Silent {
		t.Errorf("a note behind the answer: %+v", out)
	}
	ask()
	clock(listen.AnswerWithin + 1)
	if out := r.note(heard("yes"), 3000); out.Verdict != judge.Silent || len(r.seat.said) != 1 {
		t.Errorf("an answer that comes late: %+v", out)
	}
	if out := r.note(heard("bench seven yes"), 3000); out.Verdict != judge.Taken {
		t.Errorf("a late one with the lead-in: %+v", out)
	}
	r.note(heard("bench seven"), 3000)
	if out := r.note(heard(spacer), 8000); out.Verdict != judge.Taken {
		t.Errorf("a note behind the lead-in alone: %+v", out)
	}
	r.seat.err = errors.New("the disk")
	if out := r.note(heard("bench seven "+spacer), 8000); out.Verdict != judge.Refused {
		t.Fatalf("%+v", out)
	}
	r.seat.err = nil
	if out := r.note(heard(spacer), 8000); out.Verdict != judge.Taken {
		t.Errorf("again, after it was refused: %+v", out)
	}
}
