package ws_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	hearing "readback/capture/hear"
	"readback/capture/hear/heartest"
	"readback/capture/hear/judge"
	"readback/capture/journal/journaltest"
	"readback/capture/listen"
	"readback/capture/sound"
	"readback/capture/wire"
	"readback/capture/ws"
	"readback/rules"
)

// guesser is an engine of the tests that guesses at free speech, and hears it again.
type guesser struct {
	*heartest.Engine

	text string
	err  error
	long int // samples that it was given last
}

func (g *guesser) Guess(context.Context, []int16) (hearing.Guess, error) {
	return hearing.Guess{Text: "note it rattles when gold", By: "test"}, nil
}

func (g *guesser) Again(_ context.Context, pcm []int16) (hearing.Guess, error) {
	g.long = len(pcm)
	return hearing.Guess{Text: g.text, By: "service"}, g.err
}

// remarking is a shop whose engine guesses at remarks.
func remarking(t *testing.T, engine hearing.Engine) (*shop, *sound.Store) {
	t.Helper()
	sounds, err := sound.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	return openShop(t, func(h *ws.Handler) {
		h.Hear(&listen.Hearing{
			Engine: engine, Policy: judge.Usual(), Sounds: sounds, LeadIn: "bench seven",
			Grammar: func(*rules.Job, []string) (hearing.Words, error) { return hearing.Words{}, nil },
		})
	}), sounds
}

// A remark goes over the line as sound, is heard again from the sound that was kept, and is put right by
// typing; each is an entry of its own, and none is read.
func TestARemark(t *testing.T) {
	engine := &guesser{Engine: &heartest.Engine{Ears: 2}, text: "note it rattles when cold"}
	s, sounds := remarking(t, engine)
	c := s.connect(t, "bench 1", "person", "Ines")
	speak(t, c, 1, "~note build spacer sixty four millimetres", "")
	if m, _ := outcome(t, c, 1); m.Type != "answer" || m.Text != "note it rattles when gold" || len(m.Readings) != 0 {
		t.Fatalf("%+v", m)
	}
	again := &listen.Again{Floor: s.floor, Sounds: sounds, Engine: engine}
	a, err := again.Hear(t.Context(), "MW-1041", 2, wire.HearAgain{ID: journaltest.ID(2), Person: "Ravi"})
	if err != nil || a.Seq != 3 || engine.long == 0 {
		t.Fatalf("%+v of %d samples, error %v", a, engine.long, err)
	}
	if m, _ := outcome(t, c, 2); m.Type != "entry" || m.Text != engine.text || len(m.Readings) != 0 {
		t.Errorf("the bench is told %+v", m)
	}
	if a, err := again.Hear(t.Context(), "MW-1041", 2, wire.HearAgain{ID: journaltest.ID(2)}); err != nil || a.Seq != 3 {
		t.Errorf("the same once more: %+v, error %v", a, err)
	}
	if err := c.WriteJSON(map[string]any{"type": "note", "id": journaltest.ID(3), "text": "build spacer 64 mm, it rattles", "of": 2}); err != nil {
		t.Fatal(err)
	}
	if m, _ := outcome(t, c, 3); m.Type != "answer" || m.Seq != 4 || len(m.Readings) != 0 {
		t.Errorf("put right: %+v", m)
	}
	if err := c.WriteJSON(map[string]any{"type": "note", "id": journaltest.ID(4), "text": "it rattles", "of": 1}); err != nil {
		t.Fatal(err)
	}
	if m, _ := outcome(t, c, 4); m.Type != "refused" {
		t.Errorf("the opening put right: %+v", m)
	}
	engine.err = errors.New("away")
	if _, err := again.Hear(t.Context(), "MW-1041", 2, wire.HearAgain{ID: journaltest.ID(5)}); !errors.Is(err, hearing.ErrAway) {
		t.Errorf("a service that is away: %v", err)
	}
	if _, err := again.Hear(t.Context(), "MW-1041", 4, wire.HearAgain{ID: journaltest.ID(6)}); err == nil {
		t.Error("what a person has put right is heard again")
	}
	engine.err = nil
	e, err := s.store.ByID(t.Context(), "MW-1041", journaltest.ID(1))
	if err != nil {
		t.Fatal(err)
	}
	if err := sounds.Drop(e.Sound); err != nil {
		t.Fatal(err)
	}
	if _, err := again.Hear(t.Context(), "MW-1041", 2, wire.HearAgain{ID: journaltest.ID(7)}); !errors.Is(err, listen.ErrNoSound) {
		t.Errorf("a sound that was purged: %v", err)
	}
}

// A remark that is the reason of a disposition has its answer first, and behind it what was decided; the disposition is told to all.
func TestAReason(t *testing.T) {
	s, _ := remarking(t, &guesser{Engine: &heartest.Engine{Ears: 2}})
	c := s.connect(t, "bench 1", "person", "Ines")
	other := s.connect(t, "bench 2", "person", "Tom")
	heard := func(n int, text string) spokenReply {
		t.Helper()
		speak(t, c, n, text, "")
		m, _ := outcome(t, c, n)
		return m
	}
	if m := heard(1, "build spacer seventy millimetres"); m.Type != "answer" || m.Readings[0].Verdict != "out" {
		t.Fatalf("%+v", m)
	}
	if m := heard(2, "use the part as is"); m.Verdict != "asked" || !strings.HasSuffix(m.Say, " Use it as is? Yes or no.") || m.Why {
		t.Fatalf("%+v", m)
	}
	if m := heard(3, "yes"); m.Verdict != "asked" || m.Say != "Say note, and then why." || !m.Why {
		t.Fatalf("%+v", m)
	}
	if m := heard(4, "~note build spacer sixty four millimetres"); m.Type != "answer" || m.Seq != 3 {
		t.Fatalf("%+v", m)
	}
	if m, _ := outcome(t, c, 4); m.Type != "heard" || m.Verdict != "taken" || !strings.HasPrefix(m.Say, "Decided: use as is. Build spacer, seventy millimetres, out. ") || !m.Then {
		t.Errorf("behind the answer: %+v", m)
	}
	given, err := s.floor.State(t.Context(), "MW-1041")
	if err != nil || len(given.Dispositions) != 1 || given.Dispositions[0].Person != "Ines" || given.Dispositions[0].Bench != "bench 1" ||
		given.Dispositions[0].Reason != "as said in number 3 (a guess at the words): it rattles when gold" {
		t.Errorf("%+v, error %v", given.Dispositions, err)
	}
	for {
		_, text, err := other.ReadMessage()
		if err != nil {
			t.Fatalf("the other bench was told of no disposition: %v", err)
		}
		if strings.Contains(string(text), `"entry":"disposition"`) {
			break
		}
	}
}

// A typed note drops a disposition that waits for its reason, and the bench is told.
func TestATypedNoteDropsADisposition(t *testing.T) {
	s, _ := remarking(t, &guesser{Engine: &heartest.Engine{Ears: 2}})
	c := s.connect(t, "bench 1", "person", "Ines")
	for n, text := range []string{"build spacer seventy millimetres", "use the part as is", "yes"} {
		speak(t, c, n+1, text, "")
		outcome(t, c, n+1)
	}
	if err := c.WriteJSON(map[string]any{"type": "note", "id": journaltest.ID(9), "text": "seat clean"}); err != nil {
		t.Fatal(err)
	}
	if m, _ := outcome(t, c, 9); m.Type != "answer" {
		t.Errorf("%+v", m)
	}
	if m, _ := outcome(t, c, 9); m.Type != "heard" || m.Say != "Nothing was decided." || !m.Then || m.Verdict != "refused" {
		t.Errorf("behind it: %+v", m)
	}
}

// A bench says of each note whether its microphone is open: then the lead-in is needed.
func TestAnOpenMicrophone(t *testing.T) {
	sounds, err := sound.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	s := openShop(t, func(h *ws.Handler) {
		h.Hear(&listen.Hearing{
			Engine: &heartest.Engine{}, Policy: judge.Usual(), Sounds: sounds, LeadIn: "bench seven",
			Grammar: func(*rules.Job, []string) (hearing.Words, error) { return hearing.Words{}, nil },
		})
	})
	c := s.connect(t, "bench 1")
	for n, tt := range []struct {
		text string
		open bool
		kind string
	}{
		{"seat clean", true, "heard"}, {"bench seven seat clean", true, "answer"}, {"valve fitted", false, "answer"}, {"shaft held", true, "heard"},
	} {
		begin := map[string]any{"type": "sound", "id": journaltest.ID(n + 1), "rate": hearing.Rate, "encoding": "s16le", "open": tt.open}
		if err := c.WriteJSON(begin); err != nil {
			t.Fatal(err)
		}
		letters(t, c, tt.text)
		end(t, c, n+1)
		if m, _ := outcome(t, c, n+1); m.Type != tt.kind || tt.kind == "heard" && m.Verdict != "silent" {
			t.Errorf("%q with an open microphone %t: %+v", tt.text, tt.open, m)
		}
	}
}
