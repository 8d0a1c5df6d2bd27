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
	"readback/rules"
)

// atDesk connects to where jobs are opened.
func atDesk(t *testing.T, s *shop, query string) *websocket.Conn {
	t.Helper()
	c, status, text := s.dial(t, "/open"+query, nil)
	if c == nil {
		t.Fatalf("connect: %d %s", status, text)
	}
	t.Cleanup(func() { c.Close() })
	return c
}

// openings reads up to how it stands behind a note.
func openings(t *testing.T, c *websocket.Conn, n int) wire.Opening {
	t.Helper()
	if err := c.SetReadDeadline(time.Now().Add(10 * time.Second)); err != nil {
		t.Fatal(err)
	}
	for {
		_, text, err := c.ReadMessage()
		if err != nil {
			t.Fatal(err)
		}
		var m struct {
			Type string
			wire.Opening
		}
		if err := json.Unmarshal(text, &m); err != nil {
			t.Fatal(err)
		}
		if m.ID == journaltest.ID(n) && m.Type != "hearing" {
			if m.Type != "opening" {
				t.Fatalf("%s", text)
			}
			return m.Opening
		}
	}
}

func TestAJobIsOpenedByWordOfMouth(t *testing.T) {
	s := openShop(t, func(h *ws.Handler) {
		h.Hear(&listen.Hearing{
			Engine: &heartest.Engine{}, Policy: judge.Usual(),
			Grammar: func(*rules.Job, []string) (hearing.Words, error) { return hearing.Words{}, nil },
			Opening: func([]string) (hearing.Words, error) { return hearing.Words{}, nil },
		})
	})
	jobs := func() int {
		all, err := s.store.Jobs(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return len(all)
	}
	c := atDesk(t, s, "?person=Ines")
	speak(t, c, 1, "open job mike whiskey one zero four three m r five long base", "")
	if m := openings(t, c, 1); !m.Ready || m.Job != "MW-1043" || m.Spec != "mr5" || m.Options["base"] != "long" || m.Usual["stages"] != "5" || m.Person != "Ines" {
		t.Fatalf("%+v", m)
	}
	speak(t, c, 2, "yes|no", "") // half heard: nothing is opened by it
	if m, _ := outcome(t, c, 2); m.Verdict != "asked" || jobs() != 2 {
		t.Fatalf("%+v, %d jobs", m, jobs())
	}
	speak(t, c, 3, "no", "")
	if m, _ := outcome(t, c, 3); m.Verdict != "refused" || jobs() != 2 {
		t.Fatalf("%+v, %d jobs", m, jobs())
	}
	if err := c.WriteJSON(map[string]any{"type": "note", "id": journaltest.ID(4), "text": "8 stages"}); err != nil {
		t.Fatal(err)
	}
	if m := openings(t, c, 4); m.Options["stages"] != "8" || m.Text != "8 stages" {
		t.Fatalf("typed beside it: %+v", m)
	}
	speak(t, c, 5, "yes", "silence")
	if m := openings(t, c, 5); m.Go != "MW-1043" {
		t.Fatalf("%+v", m)
	}
	first, err := s.store.Entries(t.Context(), "MW-1043", 0, 1)
	if err != nil || len(first) != 1 || first[0].Person != "Ines" || first[0].Options["stages"] != "8" || first[0].Options["base"] != "long" {
		t.Errorf("%+v, error %v", first, err)
	}
	speak(t, c, 6, "job mike whiskey one zero four one", "")
	if m := openings(t, c, 6); m.Go != "MW-1041" || jobs() != 3 {
		t.Errorf("%+v, %d jobs", m, jobs())
	}
	speak(t, c, 7, "what a fine day", "")
	if m, _ := outcome(t, c, 7); m.Verdict != "refused" {
		t.Errorf("%+v", m)
	}
}

// Where the server cannot hear, jobs are opened by typed words.
func TestADeskWithoutHearing(t *testing.T) {
	s := openShop(t)
	c := atDesk(t, s, "")
	if err := c.WriteJSON(map[string]any{"type": "sound", "id": journaltest.ID(1), "rate": 16000, "encoding": "s16le"}); err != nil {
		t.Fatal(err)
	}
	if m, _ := outcome(t, c, 1); m.Type != "refused" || !strings.Contains(m.Reason, "cannot hear") {
		t.Errorf("%+v", m)
	}
	if err := c.WriteJSON(map[string]any{"type": "note", "id": journaltest.ID(2), "text": "open job MW-1050"}); err != nil {
		t.Fatal(err)
	}
	if m := openings(t, c, 2); m.Job != "MW-1050" || m.Ready {
		t.Errorf("%+v", m)
	}
}

// A sheet is left by a word that both decodes heard, and only while somebody is listened to.
func TestASheetIsLeftByVoice(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{})
	s := openShop(t, prepare)
	c := s.connect(t, "bench 1")
	for n, tt := range []struct {
		text  string
		leave bool
	}{
		{"back to the jobs|collar nut", false},
		{"~back to the jobs", false},
		{"stand by", false},
		{"back to the jobs", false},
		{"resume", false},
		{"back to the jobs", true},
	} {
		speak(t, c, n+1, tt.text, "")
		if m, _ := outcome(t, c, n+1); m.Leave != tt.leave || m.Type == "answer" {
			t.Errorf("%d, %q: %+v", n, tt.text, m)
		}
	}
}

// With a lead-in an open microphone at the desk hears what begins with it, and what answers it.
func TestAnOpenMicrophoneAtTheDesk(t *testing.T) {
	s := openShop(t, func(h *ws.Handler) {
		h.Hear(&listen.Hearing{
			Engine: &heartest.Engine{}, Policy: judge.Usual(), LeadIn: "bench seven",
			Grammar: func(*rules.Job, []string) (hearing.Words, error) { return hearing.Words{}, nil },
			Opening: func([]string) (hearing.Words, error) { return hearing.Words{}, nil },
		})
	})
	c := atDesk(t, s, "")
	for n, tt := range []struct {
		text string
		kind string
	}{
		{"open job mike whiskey one zero four three", "heard"},
		{"bench seven open job mike whiskey one zero four three", "opening"},
		{"m r five", "opening"}, // an answer
		{"bench seven note the customer says it rattles", "heard"}, // a remark is none here
	} {
		begin := map[string]any{"type": "sound", "id": journaltest.ID(n + 1), "rate": hearing.Rate, "encoding": "s16le", "open": true}
		if err := c.WriteJSON(begin); err != nil {
			t.Fatal(err)
		}
		letters(t, c, tt.text)
		end(t, c, n+1)
		if m, _ := outcome(t, c, n+1); m.Type != tt.kind {
			t.Errorf("%q: %+v", tt.text, m)
		}
	}
}

// No job is opened by what a browser has heard or a gauge sent.
func TestADeskTakesHandsAndSound(t *testing.T) {
	s := openShop(t)
	c := atDesk(t, s, "")
	for n, from := range []string{wire.FromBrowser, wire.FromGauge} {
		if err := c.WriteJSON(map[string]any{"type": "note", "id": journaltest.ID(n + 1), "text": "job MW-1041", "from": from}); err != nil {
			t.Fatal(err)
		}
		if m, _ := outcome(t, c, n+1); m.Type != "refused" || !strings.Contains(m.Reason, "type it") {
			t.Errorf("%s: %+v", from, m)
		}
	}
}
