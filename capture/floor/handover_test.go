package floor_test

import (
	"encoding/json"
	"strings"
	"testing"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/wire"
	"readback/rules"
)

// spokenOf returns the sentence of an answer.
func spokenOf(t *testing.T, a wire.Answer) string {
	t.Helper()
	var body struct{ Say string }
	if err := json.Unmarshal(a.Body, &body); err != nil {
		t.Fatal(err)
	}
	return body.Say
}

// shown returns the job as a page shows it.
func shown(t *testing.T, f *floor.Floor) wire.State {
	t.Helper()
	s, err := f.State(t.Context(), "MW-1041")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The state says who handed the job over and how it stood then, also when it was folded
// from the journal; what is done later changes nothing of it.
func TestStateSaysWhoHandedOver(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	defer s.Leave()
	say(t, s, 1, "collar nut stage one fifty one newton metres")
	if over := shown(t, f).Over; over != nil {
		t.Fatalf("before the hand-over the state says %+v", over)
	}
	before := shown(t, f)
	dispose(t, f, decision(t, f, 4, rules.UseAsIs))
	if text := spokenOf(t, say(t, s, 2, "handed over")); strings.Contains(text, "name") {
		t.Errorf("a hand-over with a name is answered %q", text)
	}
	say(t, s, 3, "seat is clean")
	for name, f := range map[string]*floor.Floor{"live": f, "after a start": floorOn(t, d)} {
		over := shown(t, f).Over
		if over == nil || over.Person != "Ines" || over.Seq != 4 || !over.At.Equal(journaltest.Start) {
			t.Fatalf("%s: handed over is %+v", name, over)
		}
		if over.Left != before.Left || len(over.Findings) < 10 || over.Findings[0].Rule != "missing" {
			t.Errorf("%s: %d were left and %d findings open, want %d and those of what was left", name, over.Left, len(over.Findings), before.Left)
		}
	}
	say(t, s, 5, "not handed over")
	if over := shown(t, f).Over; over != nil {
		t.Errorf("taken back, the state says %+v", over)
	}
}

// A hand-over with nobody's name asks for one, and the next with a name stands for it.
func TestHandOverAsksForAName(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	nobody := sit(t, f, "MW-1041", "bench 1", "")
	defer nobody.Leave()
	want := "Nobody's name stands with this hand-over: say who you are on the sheet, then hand over again."
	if text := spokenOf(t, say(t, nobody, 1, "handed over")); !strings.HasPrefix(text, "Handed over. ") || !strings.HasSuffix(text, " "+want) {
		t.Errorf("it is answered %q, want %q at its end", text, want)
	}
	if over := shown(t, f).Over; over == nil || over.Person != journal.NotStated {
		t.Errorf("handed over is %+v", over)
	}
	if text := spokenOf(t, say(t, nobody, 2, "handing over to Tom")); strings.Contains(text, want) {
		t.Errorf("in mid-work nobody signs, and the answer is %q", text)
	}
	tom := sit(t, f, "MW-1041", "bench 1", "Tom")
	defer tom.Leave()
	say(t, tom, 3, "handed over")
	if over := shown(t, f).Over; over == nil || over.Person != "Tom" || over.Seq != 4 {
		t.Errorf("handed over is %+v", over)
	}
}

// What is found after the hand-over comes before it on the wall: trouble first. What was left is no trouble.
func TestTroubleAfterTheHandOver(t *testing.T) {
	f := floorOn(t, newDisk())
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	defer s.Leave()
	for n, x := range []struct{ note, stands string }{
		{"handed over", wire.StandFinished},
		{"seat clean", wire.StandFinished},
		{"shaft runout 0.08 mm", wire.StandWrong},
		{"handed over", wire.StandWrong},
		{"shaft runout 0.03 mm", wire.StandFinished},
		{"end play down 85 up 82 mm", wire.StandWrong},
		{"not handed over", wire.StandWrong},
	} {
		text := spokenOf(t, say(t, s, n+1, x.note))
		b, err := f.Bench(t.Context(), "MW-1041")
		if err != nil || b.Stands != x.stands {
			t.Errorf("after %q, answered %q, the bench stands %s, want %s; error %v", x.note, text, b.Stands, x.stands, err)
		}
		if b.Over == nil && x.note != "not handed over" {
			t.Errorf("after %q it is not handed over any more", x.note)
		}
	}
}
