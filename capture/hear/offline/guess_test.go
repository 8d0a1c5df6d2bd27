package offline_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"readback/capture/hear"
	"readback/capture/hear/offline"
	"readback/capture/hear/speechtest"
	"readback/capture/hear/sphinx"
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
	left(t, e)
	if g, err := e.Guess(t.Context(), make([]int16, hear.Rate)); err != nil || g.Text != "" {
		t.Errorf("of silence %q is guessed, error %v", g.Text, err)
	}
	if g, err := e.Guess(t.Context(), nil); err != nil || g.Text != "" {
		t.Errorf("of nothing %q is guessed, error %v", g.Text, err)
	}
}

// A worker that cannot guess, for a file of the model is missing, does not stay either.
func TestAGuessWithoutItsLanguage(t *testing.T) {
	model := t.TempDir()
	for _, name := range []string{"en-us", "en-us-phone.lm.bin", "cmudict-en-us.dict"} {
		if err := os.Symlink(filepath.Join(sphinx.Model, name), filepath.Join(model, name)); err != nil {
			t.Fatal(err)
		}
	}
	e := newEngine(t, offline.Config{Idle: 300 * time.Millisecond, Model: model})
	if _, err := e.Guess(t.Context(), make([]int16, hear.Rate)); !errors.Is(err, hear.ErrMissing) {
		t.Fatalf("error %v; want that a file is missing", err)
	}
	left(t, e)
}

// left waits until the worker that guesses has ended.
func left(t *testing.T, e *offline.Engine) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); e.Guesser() != 0; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("the worker that guesses stays where nobody needs it")
		}
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
