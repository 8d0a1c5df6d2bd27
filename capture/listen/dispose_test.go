package listen_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/journal"
	"readback/capture/listen"
	"readback/capture/wire"
	"readback/rules"
)

const (
	toUse    = "use the part as is"
	wantUse  = "Collar nut three, fifty-one newton metres, out. Use it as is? Yes or no."
	wantWhy  = "Say note, and then why."
	accepted = "note the customer accepts it"
)

// decider has one finding at most.
type decider struct {
	of     *wire.Decidable
	err    error // of ToDecide
	fails  error // of Dispose
	is     rules.Disposition
	reason string
}

func (d *decider) ToDecide(_ context.Context, is rules.Disposition) (wire.Decidable, string, bool, error) {
	if d.err != nil || d.of == nil || is == rules.Scrap {
		return wire.Decidable{}, "", false, d.err
	}
	return *d.of, "Collar nut three, fifty-one newton metres, out.", true, nil
}

func (d *decider) Dispose(_ context.Context, of wire.Decidable, is rules.Disposition, reason string) error {
	if diff := cmp.Diff(of.ID(), d.of.ID()); diff != "" || of.Reading != d.of.Reading {
		return errors.New("another finding: " + diff)
	}
	if d.fails == nil {
		d.is, d.reason = is, reason
	}
	return d.fails
}

// deciding is a bench with a finding that is out, and somebody who guesses at remarks.
func deciding(t *testing.T) (*rig, *decider) {
	t.Helper()
	r, d := newRig(t), &decider{of: &wire.Decidable{Finding: rules.Finding{Rule: rules.RuleLimit, Callout: "collar_nut", Text: "51 is above 50"}, Reading: 7}}
	r.l.Decide(d)
	r.l.Guess(&guesser{text: accepted})
	return r, d
}

// remark is a note in free words as the grammar hears it.
func remark() hear.Heard { return forced("note the pass seven", "note the pass two") }

func TestADispositionByVoice(t *testing.T) {
	r, d := deciding(t)
	if out := r.note(heard(toUse), 8000); out.Verdict != judge.Asked || out.Say != wantUse {
		t.Fatalf("%+v", out)
	}
	if out := r.note(heard("yes"), 4000); out.Verdict != judge.Asked || out.Say != wantWhy || d.is != "" {
		t.Fatalf("yes: %+v, decided %q", out, d.is)
	}
	if out := r.note(heard("say again"), 4000); out.Say != wantWhy {
		t.Errorf("asked again: %+v", out)
	}
	out := r.note(remark(), 2*hear.Rate)
	if out.Verdict != judge.Taken || out.Answer == nil || out.Then == nil || out.Then.Say != "Decided: use as is. Collar nut three, fifty-one newton metres, out." || out.Then.Verdict != "taken" {
		t.Fatalf("the reason: %+v, then %+v", out, out.Then)
	}
	if d.is != rules.UseAsIs || d.reason != "as said in number 2 (a guess at the words): the customer accepts it" {
		t.Errorf("decided %q: %q", d.is, d.reason)
	}
	if len(r.seat.said) != 1 || r.seat.said[0].Text != accepted || !r.seat.kept[0].Guess || len(r.sounds.put) != 1 {
		t.Errorf("kept %+v", r.seat.said)
	}
	d.is = ""
	if out := r.note(remark(), 2*hear.Rate); out.Then != nil || d.is != "" {
		t.Errorf("one more remark: %+v, decided %q", out, d.is)
	}
}

// Nothing is decided where anything but a yes and a reason is said.
func TestNothingIsDecided(t *testing.T) {
	unsure := heard("yes")
	unsure.Plain = heard("no").Words
	noise := heard("yes")
	noise.Gate = -50
	twoWays := heard("seat clean")
	twoWays.Plain = heard("cable clear").Words
	for _, tt := range []struct {
		name    string
		heard   []hear.Heard
		verdict judge.Verdict // of the last
		say     string        // of the last
	}{
		{"a no", []hear.Heard{heard(toUse), heard("no")}, judge.Refused, "Say again."},
		{"a yes that is not sure", []hear.Heard{heard(toUse), unsure}, judge.Refused, wantUse},
		{"a noise as a yes", []hear.Heard{heard(toUse), noise}, judge.Refused, "Say again."},
		{"no reason", []hear.Heard{heard(toUse), heard("yes"), heard("scratch that")}, judge.Refused, "Nothing was decided."},
		{"never mind the reason", []hear.Heard{heard(toUse), heard("yes"), heard("never mind"), remark()}, judge.Taken, ""},
		{"a reading instead of it", []hear.Heard{heard(toUse), heard("yes"), heard("build spacer sixty four millimetres"), remark()}, judge.Taken, ""},
		{"a question instead of it", []hear.Heard{heard(toUse), heard("yes"), heard("what is left"), remark()}, judge.Taken, ""},
		{"another disposition, and no yes to that", []hear.Heard{heard(toUse), heard("yes"), heard("rework the part"), remark()}, judge.Taken, ""},
		{"a no to another disposition", []hear.Heard{heard(toUse), heard("yes"), heard("rework the part"), heard("no"), remark()}, judge.Taken, ""},
		{"a reading that is asked about instead of it", []hear.Heard{heard(toUse), heard("yes"), twoWays, remark()}, judge.Taken, ""},
		{"a disposition that nothing takes instead of it", []hear.Heard{heard(toUse), heard("yes"), heard("scrap the part"), remark()}, judge.Taken, ""},
		{"stand by behind a remark that is asked about", []hear.Heard{heard(toUse), heard("yes"), forced("no the pass seven", "note the pass"), heard("stand by"), heard("resume"), heard("yes")}, judge.Taken, ""},
		{"stand by instead of it", []hear.Heard{heard(toUse), heard("yes"), heard("stand by"), heard("resume"), remark()}, judge.Taken, ""},
		{"it takes another", []hear.Heard{heard("scrap the part")}, judge.Refused, "Nothing is out that takes that."},
		{"a yes to nothing", []hear.Heard{heard("yes"), remark()}, judge.Taken, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r, d := deciding(t)
			var out listen.Outcome
			for _, h := range tt.heard {
				if out = r.note(h, 2*hear.Rate); out.Then != nil && out.Then.Verdict != "refused" {
					t.Errorf("%+v", out.Then)
				}
			}
			if d.is != "" || out.Verdict != tt.verdict || out.Say != tt.say {
				t.Errorf("%+v, decided %q; want %s %q", out, d.is, tt.verdict, tt.say)
			}
			for _, n := range r.seat.said {
				if n.Text == toUse || n.Text == "scratch that" {
					t.Errorf("kept: %+v", n)
				}
			}
		})
	}
}

// Whoever says something else than the reason is told that nothing was decided, once.
func TestWhatDropsADisposition(t *testing.T) {
	const nothing = "Nothing was decided."
	for _, tt := range []struct {
		name      string
		heard     string
		say, then string
	}{
		{"a reading", "build spacer sixty four millimetres", "", nothing},
		{"a photo", "take a photo", "", nothing},
		{"another disposition", "rework the part", nothing + " Collar nut three, fifty-one newton metres, out. Rework it? Yes or no.", ""},
		{"stand by", "stand by", nothing + " Standing by. Say resume to go on.", ""},
		{"one more yes", "yes", wantWhy, ""},
		{"the jobs", "back to the jobs", nothing, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r, _ := deciding(t)
			r.note(heard(toUse), 8000)
			r.note(heard("yes"), 4000)
			out := r.note(heard(tt.heard), 8000)
			then := ""
			if out.Then != nil {
				then = out.Then.Say
			}
			if out.Say != tt.say || then != tt.then {
				t.Errorf("it says %q, then %q; want %q, %q", out.Say, then, tt.say, tt.then)
			}
			for _, n := range r.seat.said {
				if n.Text == "yes" {
					t.Errorf("kept: %+v", n)
				}
			}
			r.l.StandBy(false)
			if out := r.note(heard("seat clean"), 8000); out.Then != nil && tt.name != "one more yes" {
				t.Errorf("once more: %+v", out.Then)
			}
		})
	}
	r, _ := deciding(t)
	r.note(heard(toUse), 8000)
	r.note(heard("yes"), 4000)
	r.l.Typed()
	if out := r.note(heard("seat clean"), 8000); out.Then == nil || out.Then.Say != nothing {
		t.Errorf("behind a typed note: %+v", out)
	}
}

// After a no to "was that a remark" the reason is still awaited; after a yes it is the reason.
func TestAReasonThatIsNotSure(t *testing.T) {
	r, d := deciding(t)
	r.note(heard(toUse), 8000)
	r.note(heard("yes"), 4000)
	for range 2 {
		if out := r.note(forced("no the pass seven", "note the pass"), 2*hear.Rate); out.Verdict != judge.Asked || out.Say != "Was that a remark, to be kept as sound? Yes or no." {
			t.Fatalf("%+v", out)
		}
		if out := r.note(heard("no"), 4000); out.Say != "Say again." {
			t.Fatalf("no: %+v", out)
		}
	}
	r.note(forced("no the pass seven", "note the pass"), 2*hear.Rate)
	if out := r.note(heard("yes"), 4000); out.Then == nil || d.is != rules.UseAsIs {
		t.Errorf("yes: %+v, decided %q", out, d.is)
	}
}

func TestAReasonComesTooLate(t *testing.T) {
	r, d := deciding(t)
	later := r.l.Clock()
	r.note(heard(toUse), 8000)
	r.note(heard("yes"), 4000)
	later(2*time.Minute + time.Second)
	if out := r.note(remark(), 2*hear.Rate); out.Answer == nil || out.Then == nil || out.Then.Say != "Nothing was decided." || d.is != "" {
		t.Errorf("%+v, decided %q", out, d.is)
	}
	if out := r.note(remark(), 2*hear.Rate); out.Then != nil || d.is != "" {
		t.Errorf("one more: %+v, decided %q", out, d.is)
	}
}

func TestItIsAnotherFindingByNow(t *testing.T) {
	r, d := deciding(t)
	r.note(heard(toUse), 8000)
	d.of.Reading++
	if out := r.note(heard("yes"), 4000); out.Verdict != judge.Refused || out.Say != "It is not as it was when you were asked. Nothing was decided." {
		t.Errorf("%+v", out)
	}
	r.note(heard(toUse), 8000)
	d.of.Decided = 9
	if out := r.note(heard("yes"), 4000); out.Verdict != judge.Refused || out.Say != "It is not as it was when you were asked. Nothing was decided." {
		t.Errorf("somebody else has decided: %+v", out)
	}
	d.of.Due = "to be reworked and taken again"
	if out := r.note(heard(toUse), 8000); out.Say != "Collar nut three, fifty-one newton metres, out. To be reworked and taken again. Use it as is? Yes or no." {
		t.Errorf("what was decided already: %+v", out)
	}
	r.note(heard("yes"), 4000)
	d.fails = &floor.RefusalError{Wrong: "it was taken anew meanwhile", Do: "look at it", Why: floor.ErrAnew}
	if out := r.note(remark(), 2*hear.Rate); out.Answer == nil || out.Then == nil || out.Then.Verdict != "refused" || out.Then.Say != "Not decided: it was taken anew meanwhile; look at it." || out.Fault != nil {
		t.Errorf("%+v, then %+v", out, out.Then)
	}
	r.note(heard(toUse), 8000)
	r.note(heard("yes"), 4000)
	d.fails = journal.ErrFull
	if out := r.note(remark(), 2*hear.Rate); out.Answer == nil || out.Then == nil || !strings.HasPrefix(out.Then.Say, "Not decided: that failed on the server") || !errors.Is(out.Fault, journal.ErrFull) {
		t.Errorf("a full disk: %+v, then %+v", out, out.Then)
	}
}

func TestWhoMayNotDecide(t *testing.T) {
	r, d := deciding(t)
	d.err = &floor.RefusalError{Wrong: "nobody's name stands at this bench", Do: "say who you are on the sheet, then decide again", Why: floor.ErrUnnamed}
	if out := r.note(heard(toUse), 8000); out.Verdict != judge.Refused || out.Say != "Nobody's name stands at this bench: say who you are on the sheet, then decide again." {
		t.Errorf("nobody's name: %+v", out)
	}
	r.l.Decide(nil)
	if out := r.note(heard(toUse), 8000); out.Verdict == judge.Taken || len(r.seat.said) != 0 {
		t.Errorf("nobody decides here: %+v", out)
	}
}

// What no words are known of is no reason, be it that nobody can guess or that nothing was said behind "note".
func TestAReasonWithoutWords(t *testing.T) {
	for _, g := range []guesser{{err: hear.ErrLost}, {text: "note"}, {text: "make a note"}} {
		r, d := deciding(t)
		r.l.Guess(&g)
		r.note(heard(toUse), 8000)
		r.note(heard("yes"), 4000)
		if out := r.note(remark(), 2*hear.Rate); out.Answer == nil || out.Then == nil || out.Then.Say != "No words of the reason were made out. Nothing was decided." || d.is != "" {
			t.Errorf("%+v, then %+v, decided for %q", out, out.Then, d.reason)
		}
	}
}

// What was said while the line was down was said to what was known then: it is no disposition, no yes to one, and no reason.
func TestWhatIsLateDecidesNothing(t *testing.T) {
	for from := range 3 {
		r, d := deciding(t)
		for i, h := range []hear.Heard{heard(toUse), heard("yes"), remark()} {
			r.l.Late(i >= from)
			out := r.note(h, 2*hear.Rate)
			if i == from && from < 2 && (out.Verdict != judge.Refused || out.Say != "That was said a while ago, and was not done. Say it again.") {
				t.Errorf("late from %d: %+v", from, out)
			}
			if out.Why && i >= from {
				t.Errorf("late from %d: a reason is awaited", from)
			}
		}
		if d.is != "" {
			t.Errorf("late from %d: decided %q", from, d.is)
		}
	}
}

// With a lead-in, talk in an open microphone decides nothing; what a browser has heard does, after a yes.
func TestWhoseWordsDecide(t *testing.T) {
	r, d := deciding(t)
	r.l.LeadIn("bench seven")
	r.l.Open(true)
	if out := r.note(heard(toUse), 8000); out.Verdict != judge.Silent {
		t.Errorf("without the lead-in: %+v", out)
	}
	if out := r.note(heard("bench seven "+toUse), 8000); out.Say != wantUse {
		t.Errorf("with it: %+v", out)
	}
	if out := r.note(heard("yes"), 4000); out.Say != wantWhy || !out.Why {
		t.Errorf("yes: %+v", out)
	}
	if out := r.note(remark(), 2*hear.Rate); out.Verdict != judge.Asked || !out.Why { // who says it may not speak to us
		t.Errorf("the reason: %+v", out)
	}
	if out := r.note(heard("yes"), 4000); out.Then == nil || d.is != rules.UseAsIs {
		t.Errorf("yes to that: %+v", out)
	}
	l := listen.Reader(newSeat())
	l.Decide(d)
	var out listen.Outcome
	for _, text := range []string{"Use the part as is.", "Yes.", "Note the customer accepts it.", "Yes."} {
		out = inBrowser(t, l, text)
	}
	if out.Then == nil || d.reason != "as said in number 2 (a guess at the words): the customer accepts it" {
		t.Errorf("a browser's words: %+v, decided for %q", out, d.reason)
	}
}
