package ws_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	hearing "readback/capture/hear"
	"readback/capture/hear/heartest"
	"readback/capture/hear/judge"
	"readback/capture/journal/journaltest"
	"readback/capture/listen"
	"readback/capture/wire"
	"readback/capture/ws"
)

// read reads a sentence to try the microphone, of which text is said, and returns what came of it.
func read(t *testing.T, c *websocket.Conn, n int, sentence, text string) wire.Checked {
	t.Helper()
	if err := c.WriteJSON(map[string]any{"type": "sound", "id": journaltest.ID(n), "rate": 16000, "encoding": "s16le", "until": "silence", "check": sentence}); err != nil {
		t.Fatal(err)
	}
	letters(t, c, text)
	if text == "" {
		end(t, c, n)
	}
	return checked(t, c, n)
}

// checked reads up to the answer to a sentence.
func checked(t *testing.T, c *websocket.Conn, n int) (out wire.Checked) {
	t.Helper()
	if err := c.SetReadDeadline(time.Now().Add(10 * time.Second)); err != nil {
		t.Fatal(err)
	}
	for {
		_, text, err := c.ReadMessage()
		if err != nil {
			t.Fatal(err)
		}
		var m struct{ Type, ID string }
		if err := json.Unmarshal(text, &m); err != nil {
			t.Fatal(err)
		}
		if m.ID != journaltest.ID(n) || m.Type == "hearing" {
			continue
		}
		if err := json.Unmarshal(text, &out); m.Type != "checked" || err != nil {
			t.Fatalf("%s, error %v", text, err)
		}
		return out
	}
}

// A sentence of the check is told what would have come of it. Nothing comes of it: no entry, no sound, no answer to what
// was asked before, and a bench that stands by goes on doing so.
func TestTheMicrophoneIsTried(t *testing.T) {
	prepare, sounds := speaking(t, &heartest.Engine{Ears: 1})
	s := openShop(t, prepare)
	c, other := s.connect(t, "bench 1", "person", "Ines"), s.connect(t, "bench 2")
	const twoWays = "build spacer sixty four millimetres|build spacer sixty five millimetres"
	speak(t, c, 1, twoWays, "")
	if m, _ := outcome(t, c, 1); m.Verdict != "asked" {
		t.Fatalf("%+v", m)
	}
	const sentence = "build spacer sixty-four millimetres"
	for n, tt := range []struct{ text, verdict, heard string }{
		{"build spacer sixty four millimetres", "taken", "build spacer sixty four millimetres"},
		{twoWays, "asked", "build spacer sixty four millimetres"},
		{"~build spacer sixty four millimetres", "refused", "build spacer sixty four millimetres"},
		{"seat clean", "taken", "seat clean"},
		{"yes", "taken", "yes"},
		{"stand by", "taken", "stand by"},
		{"", "silent", ""},
	} {
		want := wire.Checked{ID: journaltest.ID(10 + n), Verdict: tt.verdict, Text: tt.heard, Right: n < 2, Level: -20, Noise: -60}
		if tt.text == "" {
			want.Level = -100
		}
		if got := read(t, c, 10+n, sentence, tt.text); got != want {
			t.Errorf("%q: %+v, want %+v", tt.text, got, want)
		}
	}
	jobs, err := s.store.Jobs(t.Context())
	if err != nil || jobs[0].Entries != 1 {
		t.Fatalf("kept: %+v, error %v", jobs, err)
	}
	if kept, err := sounds.Before(time.Now().Add(time.Hour)); err != nil || len(kept) > 0 {
		t.Errorf("sounds that are kept: %q, error %v", kept, err)
	}
	speak(t, c, 30, "yes", "")
	if m, _ := outcome(t, c, 30); m.Type != "answer" || m.Text != "build spacer sixty four millimetres" {
		t.Errorf("a yes to what was asked before the check: %+v", m)
	}
	if m := hear(t, other); m.Type != "entry" || m.Seq != 2 {
		t.Errorf("the other bench is told first of %+v", m)
	}
	speak(t, c, 31, "stand by", "")
	outcome(t, c, 31)
	if got := read(t, c, 32, sentence, "resume"); got.Right {
		t.Errorf("%+v", got)
	}
	if got := read(t, c, 33, sentence, sentence); !got.Right {
		t.Errorf("a bench that stands by: %+v", got)
	}
	speak(t, c, 34, "seat clean", "")
	if m, _ := outcome(t, c, 34); m.Verdict != "silent" || !m.StandBy {
		t.Errorf("after the check it hears again: %+v", m)
	}
}

// Words that a browser has heard and that are asked about wait as well.
func TestACheckEndsNoQuestionAboutABrowsersWords(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{})
	s := openShop(t, prepare)
	c := s.connect(t, "bench 1", "person", "Ines")
	sendFrom(t, c, 1, "Build spacer 64.0 mm.", "browser")
	if m, _ := outcome(t, c, 1); m.Verdict != "asked" {
		t.Fatalf("%+v", m)
	}
	read(t, c, 2, "seat clean", "seat clean")
	sendFrom(t, c, 3, "Yes.", "browser")
	if m, _ := outcome(t, c, 3); m.Type != "answer" || m.Text != "build spacer 64.0 mm" {
		t.Errorf("%+v", m)
	}
}

// Where jobs are opened a sentence changes nothing of what was said of one.
func TestTheMicrophoneIsTriedAtTheDesk(t *testing.T) {
	s := openShop(t, func(h *ws.Handler) {
		h.Hear(&listen.Hearing{
			Engine: &heartest.Engine{}, Policy: judge.Usual(),
			Opening: func([]string) (hearing.Words, error) { return hearing.Words{}, nil },
		})
	})
	c := atDesk(t, s, "?person=Ines")
	speak(t, c, 1, "open job mike whiskey nine nine", "")
	before := openings(t, c, 1)
	if got := read(t, c, 2, "start over", "start over"); !got.Right || got.Verdict != "taken" {
		t.Errorf("%+v", got)
	}
	speak(t, c, 3, "m r five long base", "")
	if after := openings(t, c, 3); before.Job == "" || after.Job != before.Job {
		t.Errorf("before %+v, after %+v", before, after)
	}
}

// Where every recogniser is in use the check is told so soon, and its place is free again.
func TestNoRecogniserForTheCheck(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{Ears: 1})
	s := openShop(t, prepare, func(h *ws.Handler) { h.SetEarWithin(300 * time.Millisecond) })
	one, two := s.connect(t, "bench 1"), s.connect(t, "bench 2")
	hold(t, one, 1)
	if err := two.WriteJSON(map[string]any{"type": "sound", "id": journaltest.ID(2), "rate": 16000, "encoding": "s16le", "check": "seat clean"}); err != nil {
		t.Fatal(err)
	}
	if m, _ := outcome(t, two, 2); m.Type != "refused" || !strings.HasPrefix(m.Reason, "every recogniser is in use; ") {
		t.Errorf("%+v", m)
	}
	end(t, one, 1)
	outcome(t, one, 1)
	if got := read(t, two, 3, "seat clean", "seat clean"); !got.Right {
		t.Errorf("once it is free: %+v", got)
	}
}

// A recogniser that is lost, or a sentence that is none, is told in words.
func TestACheckThatFails(t *testing.T) {
	engine := &heartest.Engine{Lost: true}
	prepare, _ := speaking(t, engine)
	s := openShop(t, prepare)
	c := s.connect(t, "bench 1")
	for n, sentence := range []string{"seat clean", strings.Repeat("x", 201)} {
		if err := c.WriteJSON(map[string]any{"type": "sound", "id": journaltest.ID(n + 1), "rate": 16000, "encoding": "s16le", "check": sentence}); err != nil {
			t.Fatal(err)
		}
		if n == 0 {
			letters(t, c, "seat clean")
		}
		if m, _ := outcome(t, c, n+1); m.Type != "refused" || m.Reason == "" {
			t.Errorf("%+v", m)
		}
	}
	if n := engine.InUse(); n != 0 {
		t.Errorf("%d recognisers are in use", n)
	}
}
