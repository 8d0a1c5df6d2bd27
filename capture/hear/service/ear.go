package service

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"readback/capture/hear"
)

// most is the longest sound of a note that is sent, in samples; the end of a longer one is.
const most = 30 * hear.Rate

// ear is an ear of the engine beside the service, and the sound that it is given.
type ear struct {
	hear.Ear

	engine *Engine
	pcm    []int16
	spoken bool
}

// Begin starts a note.
func (e *ear) Begin(ctx context.Context) error {
	e.pcm, e.spoken = e.pcm[:0], false
	return e.Ear.Begin(ctx)
}

// Write hands more of the sound over.
func (e *ear) Write(ctx context.Context, pcm []int16) (hear.Live, error) {
	live, err := e.Ear.Write(ctx, pcm)
	if err == nil {
		e.pcm = lastOf(append(e.pcm, pcm...))
		e.spoken = e.spoken || live.State != hear.Waiting
	}
	return live, err
}

func lastOf(pcm []int16) []int16 {
	if over := len(pcm) - most; over > most/2 {
		return append(pcm[:0], pcm[over:]...)
	}
	return pcm
}

// End returns what both have heard. Sound in which nobody spoke is not sent.
func (e *ear) End(ctx context.Context) (hear.Heard, error) {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	type answer struct {
		text string
		err  error
	}
	answers := make(chan answer, 1)
	if e.spoken {
		pcm := e.pcm[max(0, len(e.pcm)-most):]
		go func() {
			text, err := e.engine.Ask(ctx, pcm)
			answers <- answer{text, err}
		}()
	}
	h, err := e.Ear.End(ctx)
	if !e.spoken {
		return h, err
	}
	if err != nil {
		stop()
	}
	a := <-answers // the sound is in use until then
	if err == nil && a.err == nil {
		h.Other = &hear.Other{Engine: "service", Text: Plain(a.text)}
	}
	return h, err
}

// alone is an ear that has nothing but the service.
type alone struct {
	hear.Unscored

	engine *Engine
	cut    cutter
	pcm    []int16
	open   bool
	closed bool
	spoken bool
}

var (
	errClosed  = errors.New("service: the ear is closed")
	errNotOpen = errors.New("service: no note is open: begin one first")
)

func (e *Engine) alone(ctx context.Context) (hear.Ear, error) {
	cut, err := e.front.cutter(ctx)
	if err != nil {
		return nil, err
	}
	return &alone{engine: e, cut: cut}, nil
}

// Listen needs no words: the service knows none of ours.
func (a *alone) Listen(context.Context, hear.Words) error { return nil }

// Begin starts a note.
func (a *alone) Begin(ctx context.Context) error {
	if a.closed {
		return errClosed
	}
	a.pcm, a.open, a.spoken = nil, true, false
	return a.cut.begin(ctx)
}

// Write looks for the end of the note.
func (a *alone) Write(_ context.Context, pcm []int16) (hear.Live, error) {
	if !a.open {
		return hear.Live{}, errNotOpen
	}
	a.pcm = lastOf(append(a.pcm, pcm...))
	live, err := a.cut.add(pcm)
	a.spoken = a.spoken || live.State != hear.Waiting
	return live, err
}

// End asks the service.
func (a *alone) End(ctx context.Context) (hear.Heard, error) {
	if !a.open {
		return hear.Heard{}, errNotOpen
	}
	a.open = false
	h := hear.Heard{Gate: math.NaN(), Level: a.cut.level(), Noise: a.cut.noise()}
	if !a.spoken {
		return h, nil
	}
	text, err := a.engine.Ask(ctx, a.pcm[max(0, len(a.pcm)-most):])
	if err != nil {
		return hear.Heard{}, fmt.Errorf("%w: %w", hear.ErrAway, err)
	}
	for w := range strings.FieldsSeq(Plain(text)) {
		h.Words = append(h.Words, hear.Word{Text: w})
	}
	return h, nil
}

// Close gives back what finds the end of notes.
func (a *alone) Close() error {
	if a.closed {
		return nil
	}
	a.closed = true
	return a.cut.close()
}
