package ws_test

import (
	"testing"

	"github.com/gorilla/websocket"

	hearing "readback/capture/hear"
	"readback/capture/hear/grammar"
	"readback/capture/hear/heartest"
	"readback/capture/hear/judge"
	"readback/capture/journal/journaltest"
	"readback/capture/listen"
	"readback/capture/ws"
	"readback/rules"
)

// naming lets benches speak, and hand over to whom grammar.Names tells apart.
func naming(e hearing.Engine) func(*ws.Handler) {
	d := grammar.Parse("ines IH N IH S\nmartin M AA R T AH N\nhale HH EY L\njon JH AA N\njohn JH AA N\n")
	return func(h *ws.Handler) {
		h.Hear(&listen.Hearing{
			Engine: e, Policy: judge.Usual(),
			Grammar: func(*rules.Job, []string) (hearing.Words, error) { return hearing.Words{}, nil },
			Names:   func(_ *rules.Job, people []string) ([]string, []grammar.Unsaid) { return grammar.Names(people, d) },
		})
	}
}

// noted makes the shop know somebody.
func noted(t *testing.T, s *shop, n int, person string) {
	t.Helper()
	c := s.connect(t, "bench 9", "person", person)
	defer c.Close()
	speak(t, c, n, "seat clean", "")
	if m, _ := outcome(t, c, n); m.Type != "answer" {
		t.Fatalf("%+v", m)
	}
}

func TestTheBenchIsHandedOverByVoice(t *testing.T) {
	s := openShop(t, naming(&heartest.Engine{Ears: 4}))
	c := s.connect(t, "bench 1", "person", "Ines")
	speak(t, c, 1, "hand the bench to martin hale", "")
	if m, _ := outcome(t, c, 1); m.Verdict != "refused" || m.Say != "That name cannot be spoken here. Pick it on the sheet, under hand over." {
		t.Errorf("before anybody of that name has said a note: %+v", m)
	}
	for i, person := range []string{"Martin Hale", "Jon Hale", "John Hale"} {
		noted(t, s, 10+i, person)
	}
	ask := func(n int, text string) spokenReply {
		t.Helper()
		speak(t, c, n, text, "")
		m, _ := outcome(t, c, n)
		return m
	}
	if m := ask(20, "~hand the bench to martin hale"); m.Do != "" || m.Verdict == "asked" {
		t.Errorf("another's talk: %+v", m)
	}
	if m := ask(21, "hand the bench to jon hale"); m.Verdict != "refused" || m.Do != "" {
		t.Errorf("a name that sounds like another: %+v", m)
	}
	asked := func(n int) {
		t.Helper()
		if m := ask(n, "hand the bench to martin hale"); m.Type != "heard" || m.Verdict != "asked" || m.Say != "Hand the bench to Martin Hale? Yes or no." || m.Do != "" || m.Person != "" {
			t.Fatalf("%+v", m)
		}
	}
	asked(22)
	if m := ask(23, "no"); m.Verdict != "refused" || m.Do != "" {
		t.Errorf("no: %+v", m)
	}
	asked(24)
	if m := ask(25, "~yes"); m.Do != "" {
		t.Errorf("a noise: %+v", m)
	}
	if m := ask(26, "yes"); m.Type != "heard" || m.Verdict != "taken" || m.Do != "hand" || m.Person != "Martin Hale" {
		t.Errorf("yes: %+v", m)
	}
	asked(27)
	typed(t, c, 28)
	if m := ask(29, "yes"); m.Do != "" {
		t.Errorf("a yes after another note was typed: %+v", m)
	}
	entries, err := s.store.Entries(t.Context(), "MW-1041", 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.Person == "Martin Hale" && e.Text != "seat clean" || e.Text == "hand the bench to martin hale" {
			t.Errorf("the record has %q of %s", e.Text, e.Person)
		}
	}
}

// typed types a note that is a question, and reads its answer.
func typed(t *testing.T, c *websocket.Conn, n int) {
	t.Helper()
	if err := c.WriteJSON(map[string]any{"type": "note", "id": journaltest.ID(n), "text": "what is left"}); err != nil {
		t.Fatal(err)
	}
	if m, _ := outcome(t, c, n); m.Type != "answer" {
		t.Fatalf("%+v", m)
	}
}
