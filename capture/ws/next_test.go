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

// What comes next is listened for with the rest as the job goes on; while it is the same nothing is made anew.
func TestWhatComesNextIsListenedFor(t *testing.T) {
	e := &listener{Engine: heartest.Engine{Ears: 1}}
	s := openShop(t, func(h *ws.Handler) {
		h.Hear(&listen.Hearing{
			Engine: e, Policy: judge.Usual(),
			Grammar: func(j *rules.Job, _ []string) (hearing.Words, error) {
				e.made++
				return hearing.Words{Grammar: expected(j)}, nil
			},
		})
	})
	at := func() (next string) {
		t.Helper()
		if err := s.floor.Job(t.Context(), "MW-1041", func(j *rules.Job) error {
			next = expected(j)
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		return next
	}
	c := s.connect(t, "bench 1", "person", "Ines")
	want := []string{at()}
	for n, text := range []string{"what is left", "shaft runout 0.02 mm", "seat clean", "what is left"} {
		speak(t, c, n+1, text, "")
		if m, _ := outcome(t, c, n+1); m.Type != "answer" {
			t.Fatalf("%q: %+v", text, m)
		}
		want = append(want, at())
	}
	want = want[:len(want)-1]
	if !slices.Equal(e.of, want) || want[0] == want[len(want)-1] {
		t.Errorf("listened for\n%q, want\n%q", e.of, want)
	}
	if different := len(slices.Compact(want)); e.made != different {
		t.Errorf("made %d times for %d", e.made, different)
	}
}

// expected is what comes next on a job, sorted, each callout once.
func expected(j *rules.Job) string {
	var out []string
	for _, next := range j.Expected() {
		out = append(out, next.Callout)
	}
	slices.Sort(out)
	return strings.Join(slices.Compact(out), " ")
}
