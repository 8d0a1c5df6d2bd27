package offline

import (
	"context"
	"errors"
	"fmt"
	"io"
)

// asked is a request with its sound.
type asked struct {
	request
	pcm []int16
}

// Work is a worker: it answers requests on in until in ends, the server's end included, or ctx
// does. It is what the hidden subcommand hear-worker runs. The process should end when it
// returns: a decoder that hangs cannot be stopped otherwise.
//
// The recogniser's own log goes to standard error, whose end the server keeps: it holds the
// cause where the recogniser ends the process.
func Work(ctx context.Context, in io.Reader, out io.Writer) error {
	front, err := newFront()
	if err != nil {
		return err
	}
	if err := writeFrame(out, reply{Version: version}, nil); err != nil {
		return errors.Join(fmt.Errorf("greet the server: %w", err), front.clean.Close())
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	requests, failed := make(chan asked), make(chan error, 2)
	go func() { failed <- read(ctx, in, requests) }()
	go func() { failed <- serve(ctx, &hearing{front: front}, requests, out) }()
	select {
	case err = <-failed:
	case <-ctx.Done():
	}
	return err
}

// read passes requests on until there are no more, which ends the worker: nobody waits for what
// it may still be doing.
func read(ctx context.Context, in io.Reader, requests chan<- asked) error {
	for {
		var a asked
		var err error
		switch a.pcm, err = readFrame(in, &a.request); {
		case errors.Is(err, io.EOF):
			return nil // the server is done with this worker
		case err != nil:
			return fmt.Errorf("read a request: %w", err)
		}
		select {
		case requests <- a:
		case <-ctx.Done():
			return nil
		}
	}
}

// serve answers one request after another.
func serve(ctx context.Context, h *hearing, requests <-chan asked, out io.Writer) error {
	defer func() { _ = h.front.clean.Close() }()
	defer h.close()
	defer h.forgetEnglish()
	for {
		var a asked
		var more bool
		select {
		case a, more = <-requests:
		case <-ctx.Done():
		}
		if !more {
			return nil
		}
		r := h.answer(a)
		r.Version, r.Worn = version, h.worn
		if err := writeFrame(out, r, nil); err != nil {
			return fmt.Errorf("answer the server: %w", err)
		}
	}
}

// answer does what was asked for.
func (h *hearing) answer(a asked) (r reply) {
	var err error
	switch a.Do {
	case doListen:
		err = h.listen(a.request)
	case doBegin:
		err = h.begin()
	case doWrite:
		l, e := h.write(a.pcm)
		r.Live, err = &live{Words: l.Words, Voice: number(l.Voice), Level: number(l.Level), State: l.State}, e
	case doEnd:
		e, eErr := h.end()
		r.Heard, err = &heard{Words: e.Words, Plain: e.Plain, Gate: number(e.Gate), Level: number(e.Level), Noise: number(e.Noise), Unvoiced: e.Unvoiced}, eErr
	case doScore:
		r.Fits, err = h.score(a.Sentences)
	case doGuess:
		var text string
		if text, err = h.guess(a.Model, a.pcm); err == nil {
			r.Guess = &text
		}
	default:
		err = fmt.Errorf("the worker does not know what %q is", a.Do)
	}
	r.Fault = faultOf(err)
	return r
}
