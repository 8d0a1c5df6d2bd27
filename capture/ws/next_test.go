package ws_test

import (
	"context"
	"slices"
	"strings"
	"sync"
	"testing"

	hearing "readback/capture/hear"
	"readback/capture/hear/heartest"
	"readback/capture/hear/judge"
	"readback/capture/listen"
	"readback/capture/ws"
	"readback/rules"
)

// listener keeps for what each note was listened for.
type listener struct {
	heartest.Engine

	mu   sync.Mutex
	made int
	of   []string
}

func (e *listener) Open(ctx context.Context, w hearing.Words) (hearing.Ear, error) {
	e.mu.Lock()
	e.of = append(e.of, w.Grammar)
	e.mu.Unlock()
	return e.Engine.Open(ctx, w)
}

// What comes next is listened for with the rest as the job goes on; while it is among what was expected before, nothing
// is made anew.
func TestWhatComesNextIsListenedFor(t *testing.T) {
	e := &listener{Engine: heartest.Engine{Ears: 1}}
	s := openShop(t, func(h *ws.Handler) {
		h.Hear(&listen.Hearing{
			Engine: e, Policy: judge.Usual(),
			Grammar: func(j *rules.Job, _ []string) (hearing.Words, error) {
				e.made++
				return hearing.Words{Grammar: strings.Join(j.Expected(), " ")}, nil
			},
		})
	})
	c := s.connect(t, "bench 1", "person", "Ines")
	notes := []string{"what is left", "build spacer 64 mm", "narrow adapter", "seat clean", "new o rings", "letters up", "shaft held", "what is left", "full impeller stage one", "what is left"}
	var next []string
	for n, text := range notes {
		if err := s.floor.Job(t.Context(), "MW-1041", func(j *rules.Job) error {
			next = append(next, j.Expected()[0])
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		speak(t, c, n+1, text, "")
		if m, _ := outcome(t, c, n+1); m.Type != "answer" {
			t.Fatalf("%q: %+v", text, m)
		}
	}
	for n, words := range e.of {
		if !slices.Contains(strings.Fields(words), next[n]) {
			t.Errorf("at %q comes %s, and listened for was %s", notes[n], next[n], words)
		}
	}
	if len(e.of) != len(notes) || slices.Contains(strings.Fields(e.of[0]), next[7]) || e.made != 2 {
		t.Errorf("made %d times, want twice: %q; next came %q", e.made, e.of, next)
	}
}
