package offline_test

import (
	"errors"
	"strings"
	"syscall"
	"testing"
	"time"

	"readback/capture/hear"
	"readback/capture/hear/offline"
	"readback/capture/hear/speechtest"
)

// Words that no grammar holds are guessed at by a worker that is there only while it is needed.
func TestGuess(t *testing.T) {
	e := newEngine(t, offline.Config{Idle: 300 * time.Millisecond})
	right, words := 0, 0
	for _, voice := range speechtest.Voices {
		const said = "note the customer says it rattles when cold"
		g, err := e.Guess(t.Context(), speechtest.Say(t, voice, said))
		if err != nil || g.By != "offline" {
			t.Fatalf("%+v, error %v", g, err)
		}
		t.Logf("%s: %q", voice, g.Text)
		for w := range strings.FieldsSeq(said) {
			words++
			if strings.Contains(" "+g.Text+" ", " "+w+" ") {
				right++
			}
		}
	}
	if right < words/2 {
		t.Errorf("%d of %d words of clean speech are right", right, words)
	}
	pid := e.Guesser()
	t.Logf("its worker takes %d MiB", resident(t, pid))
	for deadline := time.Now().Add(10 * time.Second); e.Guesser() != 0; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("the worker that guesses stays where nobody needs it")
		}
	}
	if g, err := e.Guess(t.Context(), make([]int16, hear.Rate)); err != nil || g.Text != "" {
		t.Errorf("of silence %q is guessed, error %v", g.Text, err)
	}
	if g, err := e.Guess(t.Context(), nil); err != nil || g.Text != "" {
		t.Errorf("of nothing %q is guessed, error %v", g.Text, err)
	}
}

// A worker that is killed costs one guess.
func TestALostGuess(t *testing.T) {
	e := newEngine(t, offline.Config{})
	pcm := speechtest.Say(t, "kal16", "note it rattles")
	if _, err := e.Guess(t.Context(), pcm); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(e.Guesser(), syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	_, err := e.Guess(t.Context(), pcm)
	if err != nil && !errors.Is(err, hear.ErrLost) {
		t.Fatal(err)
	}
	if g, err := e.Guess(t.Context(), pcm); err != nil || g.Text == "" {
		t.Errorf("after it was killed: %q, error %v", g.Text, err)
	}
}
