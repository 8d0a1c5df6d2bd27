package ws_test

import (
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"readback/capture/hear/heartest"
	"readback/capture/journal/journaltest"
	"readback/capture/ws"
)

// Two benches and one recogniser: the second is told that it waits, and its note is heard when its turn comes,
// with all that was said meanwhile.
func TestANoteWaitsForARecogniser(t *testing.T) {
	for _, until := range []string{"", "silence"} {
		prepare, _ := speaking(t, &heartest.Engine{Ears: 1})
		s := openShop(t, prepare)
		one, two := s.connect(t, "bench 1"), s.connect(t, "bench 2")
		hold(t, one, 1)
		speak(t, two, 2, "valve fitted", until)
		if m := next(t, two); m.Type != "hearing" || m.State != "queued" || m.ID != journaltest.ID(2) {
			t.Errorf("while it waits: %+v", m)
		}
		letters(t, one, "seat clean")
		end(t, one, 1)
		if m, _ := outcome(t, one, 1); m.Type != "answer" || !strings.Contains(m.Text, "seat clean") {
			t.Errorf("the note before: %+v", m)
		}
		if until != "" {
			letters(t, two, "") // a page sends what its microphone hears
		}
		if m, _ := outcome(t, two, 2); m.Type != "answer" || m.Text != "valve fitted" {
			t.Errorf("until %q, in its turn: %+v", until, m)
		}
	}
}

// No recogniser comes: the bench is told so, and none of its note is kept. One that leaves the queue is heard later.
func TestEveryEarInUse(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{Ears: 1})
	s := openShop(t, prepare, func(h *ws.Handler) { h.SetEarWithin(300 * time.Millisecond) })
	one, two := s.connect(t, "bench 1"), s.connect(t, "bench 2")
	hold(t, one, 1)
	speak(t, two, 2, "seat clean", "")
	if m, _ := outcome(t, two, 2); m.Type != "refused" || !strings.Contains(m.Reason, "every recogniser is in use") {
		t.Errorf("%+v", m)
	}
	if err := two.WriteJSON(map[string]any{"type": "sound", "id": journaltest.ID(3), "rate": 16000, "encoding": "s16le"}); err != nil {
		t.Fatal(err)
	}
	end(t, one, 1)
	outcome(t, one, 1) // its recogniser is free
	speak(t, two, 4, "seat clean", "")
	if m, _ := outcome(t, two, 4); m.Type != "answer" {
		t.Errorf("once it is free: %+v", m)
	}
}

// A note that waits keeps nothing else waiting: what is typed meanwhile is answered, and the bench is told again
// and again that it waits.
func TestTypingBesideANoteThatWaits(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{Ears: 1})
	s := openShop(t, prepare, func(h *ws.Handler) { h.SetTellAgain(20 * time.Millisecond) })
	one, two := s.connect(t, "bench 1"), s.connect(t, "bench 2")
	hold(t, one, 1)
	speak(t, two, 2, "valve fitted", "")
	queued(t, two, 2)
	if err := two.WriteJSON(map[string]any{"type": "note", "id": journaltest.ID(3), "text": "seat clean"}); err != nil {
		t.Fatal(err)
	}
	if m, _ := outcome(t, two, 3); m.Type != "answer" {
		t.Errorf("typed meanwhile: %+v", m)
	}
	for range 3 {
		queued(t, two, 2)
	}
	end(t, one, 1)
	if m, _ := outcome(t, two, 2); m.Type != "answer" || m.Text != "valve fitted" {
		t.Errorf("in its turn: %+v", m)
	}
}

// A bench that goes away leaves the queue: nothing of its note is kept.
func TestWhoGoesLeavesTheQueue(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{Ears: 1})
	var handler *ws.Handler
	s := openShop(t, prepare, func(h *ws.Handler) { handler = h })
	one, two := s.connect(t, "bench 1"), s.connect(t, "bench 2")
	hold(t, one, 1)
	speak(t, two, 2, "valve fitted", "")
	queued(t, two, 2)
	if err := two.Close(); err != nil {
		t.Fatal(err)
	}
	for late := time.Now().Add(10 * time.Second); handler.Connections() > 1; time.Sleep(time.Millisecond) {
		if time.Now().After(late) {
			t.Fatal("the bench that went is still there, though nobody has ended the note before")
		}
	}
	end(t, one, 1)
	outcome(t, one, 1)
	speak(t, one, 3, "seat clean", "")
	if m, _ := outcome(t, one, 3); m.Type != "answer" {
		t.Errorf("the next note: %+v", m)
	}
	if e, err := s.store.ByID(t.Context(), "MW-1041", journaltest.ID(2)); err == nil {
		t.Errorf("kept: %+v", e)
	}
}

// A note whose turn comes is heard at once, though its bench sends nothing more.
func TestAFreeRecogniserIsTakenAtOnce(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{Ears: 1})
	s := openShop(t, prepare)
	one, two := s.connect(t, "bench 1"), s.connect(t, "bench 2")
	hold(t, one, 1)
	begin(t, two, 2, "")
	queued(t, two, 2)
	letters(t, two, "valve fitted")
	typed(t, two, 3) // all that was said is there
	end(t, one, 1)
	heardNow(t, two)
	end(t, two, 2)
	if m, _ := outcome(t, two, 2); m.Type != "answer" || m.Text != "valve fitted" {
		t.Errorf("%+v", m)
	}
}

// What was said in pauses while a note waited is heard as one: none of it is dropped behind the first.
func TestPausesInANoteThatWaits(t *testing.T) {
	for _, ends := range []bool{true, false} {
		prepare, _ := speaking(t, &heartest.Engine{Ears: 1})
		s := openShop(t, prepare)
		one, two := s.connect(t, "bench 1"), s.connect(t, "bench 2")
		hold(t, one, 1)
		begin(t, two, 2, "silence")
		queued(t, two, 2)
		letters(t, two, "valve fitted")
		letters(t, two, " seat clean")
		if ends {
			end(t, two, 2)
		}
		typed(t, two, 3) // all that was said is there
		end(t, one, 1)
		if m, _ := outcome(t, two, 2); m.Type != "answer" || m.Text != "valve fitted seat clean" {
			t.Errorf("ended by the bench %t: %+v", ends, m)
		}
	}
}

// Another note takes the place of one that waits. One that was over is refused, in words.
func TestANoteBehindOneThatWaits(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{Ears: 1})
	s := openShop(t, prepare)
	one, two := s.connect(t, "bench 1"), s.connect(t, "bench 2")
	hold(t, one, 1)
	speak(t, two, 2, "valve fitted", "")
	queued(t, two, 2)
	speak(t, two, 3, "seat clean", "")
	if m, _ := outcome(t, two, 2); m.Type != "refused" || !strings.Contains(m.Reason, "another note was begun") {
		t.Errorf("the note that waited: %+v", m)
	}
	end(t, one, 1)
	if m, _ := outcome(t, two, 3); m.Type != "answer" || m.Text != "seat clean" {
		t.Errorf("the note behind it: %+v", m)
	}
}

// Only so many notes wait: who comes then is told at once, and has a place when one is free.
func TestTheQueueIsBounded(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{Ears: 1})
	s := openShop(t, prepare, func(h *ws.Handler) { h.SetWaiting(1) })
	one, two, three := s.connect(t, "bench 1"), s.connect(t, "bench 2"), s.connect(t, "bench 3")
	hold(t, one, 1)
	begin(t, two, 2, "")
	queued(t, two, 2)
	begin(t, three, 3, "")
	if m, _ := outcome(t, three, 3); m.Type != "refused" || !strings.Contains(m.Reason, "every recogniser is in use") || !strings.Contains(m.Reason, "type the note") {
		t.Errorf("a note too many: %+v", m)
	}
	end(t, one, 1)
	outcome(t, one, 1)
	letters(t, two, "valve fitted") // shown once it is heard
	heardNow(t, two)
	begin(t, three, 4, "")
	queued(t, three, 4)
	end(t, two, 2)
	if m, _ := outcome(t, two, 2); m.Type != "answer" {
		t.Errorf("the note that waited: %+v", m)
	}
}

// queued reads that a note waits, past what is shown of others.
func queued(t *testing.T, c *websocket.Conn, n int) {
	t.Helper()
	m := next(t, c)
	for m.Type == "entry" {
		m = next(t, c)
	}
	if m.Type != "hearing" || m.State != "queued" || m.ID != journaltest.ID(n) {
		t.Fatalf("of a note that waits: %+v", m)
	}
}

// heardNow reads until a note that waited is heard.
func heardNow(t *testing.T, c *websocket.Conn) {
	t.Helper()
	for range 10 {
		if m := next(t, c); m.Type == "hearing" && m.State != "queued" {
			return
		}
	}
	t.Fatal("the note that waits is not heard")
}
