package listen_test

import (
	"encoding/json"
	"strings"
	"testing"

	"readback/capture/hear/judge"
	"readback/capture/listen"
	"readback/capture/wire"
)

// What a browser has heard is asked about before it is kept, with its own words, but for what records
// nothing.
func TestWordsOfABrowser(t *testing.T) {
	for _, tt := range []struct {
		name    string
		words   []string
		verdict judge.Verdict // of the last
		text    string        // of the last
		kept    []string
	}{
		{"a reading is asked", []string{"Build spacer 64.00 mm."}, judge.Asked, "build spacer 64.00 mm", nil},
		{"a yes keeps it", []string{"Build spacer 64.00 mm.", "Yes."}, judge.Taken, "build spacer 64.00 mm", []string{"build spacer 64.00 mm"}},
		{"a no drops it", []string{"Build spacer 64.00 mm.", "No."}, judge.Refused, "", nil},
		{"another note instead", []string{"Build spacer 64 mm", "build spacer 65 mm"}, judge.Asked, "build spacer 65 mm", nil},
		{"a mark is asked", []string{"Seat clean"}, judge.Asked, "seat clean", nil},
		{"a question is not", []string{"What’s left?"}, judge.Taken, "what's left", []string{"what's left"}},
		{"what takes something back is asked", []string{"Scratch that."}, judge.Asked, "scratch that", nil},
		{"the gauge is put on after a yes", []string{"Gauge on build spacer."}, judge.Asked, "gauge on build spacer", nil},
		{"and off at once", []string{"Gauge off."}, judge.Taken, "gauge off", []string{"gauge off"}},
		{"talk", []string{"Nice weather today"}, judge.Refused, "nice weather today", nil},
		{"a yes to nothing", []string{"Aye."}, judge.Taken, "aye", []string{"aye"}},
		{"nothing", []string{"..."}, judge.Silent, "", nil},
		{"stand by", []string{"Stand by.", "Seat clean"}, judge.Silent, "", nil},
		{"and resume", []string{"Stand by.", "Resume", "Seat clean"}, judge.Asked, "seat clean", nil},
		{"a remark is asked, and not as a reading", []string{"Note build spacer was 64 mm."}, judge.Asked, "note build spacer was 64 mm", nil},
		{"a no drops it too", []string{"Note build spacer was 64 mm.", "No."}, judge.Refused, "no", nil},
		{"a photo is asked", []string{"Photo."}, judge.Asked, "photo", nil},
		{"the sheet is left at once", []string{"Back to the jobs."}, judge.Taken, "back to the jobs", nil},
		{"but not while it stands by", []string{"Stand by", "Back to the jobs."}, judge.Silent, "", nil},
		{"capitals of units stay", []string{"Build spacer 2 Mm"}, judge.Asked, "build spacer 2 Mm", nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newSeat()
			l := listen.Reader(s)
			var out listen.Outcome
			for _, w := range tt.words {
				var err error
				if out, err = l.Words(t.Context(), wire.Note{ID: "id", Text: w, From: wire.FromBrowser}); err != nil {
					t.Fatal(err)
				}
			}
			if out.Verdict != tt.verdict || out.Text != tt.text {
				t.Errorf("%+v, want %s %q", out, tt.verdict, tt.text)
			}
			if len(s.said) != len(tt.kept) {
				t.Fatalf("kept %+v, want %q", s.said, tt.kept)
			}
			for i, n := range s.said {
				var record listen.Record
				if err := json.Unmarshal(s.kept[i].Heard, &record); err != nil || record.Engine != wire.FromBrowser || record.Gate != nil || s.kept[i].Sound != "" || n.Text != tt.kept[i] {
					t.Errorf("kept %+v as %s with the sound %q, error %v", n, s.kept[i].Heard, s.kept[i].Sound, err)
				}
			}
		})
	}
}

// A yes that answers what the floor has asked records something, and is asked about.
func TestAYesOfABrowserThatRecords(t *testing.T) {
	s := newSeat()
	s.asked("build spacer 64 mm wobbly")
	l := listen.Reader(s)
	for _, yes := range []string{"Yes", "Yeah.", "That's correct."} {
		out, err := l.Words(t.Context(), wire.Note{ID: "id", Text: yes, From: wire.FromBrowser})
		if err != nil || out.Verdict != judge.Asked || len(s.said) != 0 {
			t.Errorf("%s: %+v, error %v, kept %+v", yes, out, err, s.said)
		}
		l.Typed()
	}
	out, err := l.Words(t.Context(), wire.Note{ID: "id", Text: "No, it isn't.", From: wire.FromBrowser})
	if err != nil || out.Verdict != judge.Taken || len(s.said) != 1 {
		t.Errorf("a no drops the question and records nothing: %+v, error %v, kept %+v", out, err, s.said)
	}
}

// inBrowser is what becomes of a text that a browser has heard.
func inBrowser(t *testing.T, l *listen.Listener, text string) listen.Outcome {
	t.Helper()
	out, err := l.Words(t.Context(), wire.Note{ID: "id", Text: text, From: wire.FromBrowser})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// What a browser has heard takes a photo after a yes, leaves the sheet, and is kept as a remark that is a
// guess in words.
func TestWhatABrowserHasThePageDo(t *testing.T) {
	s := newSeat()
	l := listen.Reader(s)
	words := func(text string) listen.Outcome {
		t.Helper()
		return inBrowser(t, l, text)
	}
	if out := words("Take a photo."); out.Do != "" {
		t.Errorf("nobody has said yes: %+v", out)
	}
	if out := words("Yes."); out.Do != wire.DoPhoto || out.Answer != nil || len(s.said) != 0 {
		t.Errorf("a photo: %+v, kept %+v", out, s.said)
	}
	if out := words("Back to the jobs"); !out.Leave || len(s.said) != 0 {
		t.Errorf("the jobs: %+v, kept %+v", out, s.said)
	}
	if out := words("Make a note build spacer was 64 mm"); !strings.Contains(out.Say, "make a note build spacer was 64 mm") {
		t.Errorf("a remark: %+v", out)
	}
	if out := words("Yes."); out.Verdict != judge.Taken || len(s.said) != 1 || !s.kept[0].Guess || s.said[0].Text != "make a note build spacer was 64 mm" {
		t.Errorf("a remark: %+v, kept %+v as %+v", out, s.said, s.kept)
	}
}
