package offline

import (
	"context"
	"errors"
	"fmt"
	"time"

	"readback/capture/hear"
	"readback/capture/hear/sphinx"
)

// Speech that no grammar holds is decoded with the words and the language of the whole model: a
// guess. With it a worker takes about 130 MiB, so that there is one of its own, which is
// started when it is first needed and ends when nobody has needed it for a while.
const (
	guessIdle = 2 * time.Minute
	mostGuess = 30 * hear.Rate // samples
)

// Guess returns the best English words for sound. Of those of clean
// synthesised speech about two in three are right. It waits for its turn until ctx ends.
func (e *Engine) Guess(ctx context.Context, pcm []int16) (hear.Guess, error) {
	none := hear.Guess{By: e.Name()}
	if len(pcm) == 0 {
		return none, nil
	}
	select {
	case e.guessing <- struct{}{}:
	case <-e.ctx.Done():
		return none, errClosed
	case <-ctx.Done():
		return none, fmt.Errorf("%w: %w", hear.ErrBusy, ctx.Err())
	}
	defer func() { <-e.guessing }()
	if e.guesser == nil || e.guesser.dead() {
		p, err := e.start(ctx)
		if err != nil {
			return none, err
		}
		e.guesser = p
	}
	e.guessed++
	defer e.leaveGuesser(e.guessed)
	got, err := e.guesser.call(ctx, e.config.Listen, request{Do: doGuess, Model: e.config.Model}, pcm[:min(len(pcm), mostGuess)])
	if errors.Is(err, hear.ErrLost) {
		e.guesser = nil
	}
	if err != nil {
		return none, err
	}
	if got.Guess == nil {
		e.retire(e.guesser)
		e.guesser = nil
		return none, fmt.Errorf("%w: its answer was empty", hear.ErrLost)
	}
	none.Text = *got.Guess
	return none, nil
}

// leaveGuesser ends the worker that guesses, unless it is used again before.
func (e *Engine) leaveGuesser(after int) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.closed {
		return
	}
	e.all.Go(func() {
		idle := time.NewTimer(e.config.Idle)
		defer idle.Stop()
		select {
		case <-idle.C:
		case <-e.ctx.Done():
			return // Close ends it
		}
		e.guessing <- struct{}{}
		defer func() { <-e.guessing }()
		if e.guessed == after && e.guesser != nil {
			e.guesser.close()
			e.guesser = nil
		}
	})
}

// guess is the inside of the worker.
func (h *hearing) guess(model string, pcm []int16) (string, error) {
	if h.note != nil {
		return "", errors.New("a note is open: end it first")
	}
	n, err := newNote(h.front)
	if err != nil {
		return "", err
	}
	if err := n.add(pcm); err != nil {
		return "", err
	}
	if _, err := n.close(); err != nil {
		return "", err
	}
	if h.english == nil {
		c := sphinx.Config{Model: model, Dict: sphinx.Dictionary(model), Free: true}
		if h.english, err = sphinx.New(c); err != nil {
			return "", err
		}
		h.worn++
	}
	p, err := h.english.Whole(n.clean)
	return p.Text(), err
}

func (h *hearing) forgetEnglish() {
	if h.english != nil {
		_ = h.english.Close()
	}
}
