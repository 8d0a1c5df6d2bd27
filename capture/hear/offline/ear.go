package offline

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

	"readback/capture/hear"
)

// ear is one bench's worker, and after its death the next. One goroutine uses it.
type ear struct {
	engine  *Engine
	process *process        // nil once it is lost
	next    <-chan *process // its successor, being got ready; nil where none is needed
	words   hear.Words
	open    bool // a note is
	lost    bool // the last note is
	closed  bool
}

// piece is how many samples go to the worker at once: each answer can be waited for.
const piece = hear.Rate / 2

var (
	errEarClosed = errors.New("offline: the ear is closed")
	errNotOpen   = errors.New("offline: no note is open: begin one first")
)

// same tells whether a worker with words listens for w.
func same(words *hear.Words, w hear.Words) bool {
	return words != nil && words.Grammar == w.Grammar && maps.Equal(words.Sounds, w.Sounds)
}

// Listen changes the words. On an error that wraps [hear.ErrGrammar] those before stay in force.
func (e *ear) Listen(ctx context.Context, w hear.Words) error {
	switch {
	case e.closed:
		return errEarClosed
	case e.open:
		return errors.New("offline: the words cannot change in the middle of a note: end it first")
	}
	e.succeed(ctx, false)
	if e.process == nil || e.process.dead() {
		p, err := e.engine.take(ctx, w)
		if err != nil {
			return err
		}
		e.process, e.words = p, w
		return nil
	}
	err := e.engine.listen(ctx, e.process, w)
	if errors.Is(err, hear.ErrLost) && ctx.Err() == nil {
		e.process, err = e.engine.take(ctx, w)
	}
	if err != nil {
		return err
	}
	e.words = w
	e.lost = true // the worker has let go of the last note's sound
	e.age()
	return nil
}

// succeed puts the successor in the worker's place, if it is ready or has to be waited for.
func (e *ear) succeed(ctx context.Context, wait bool) {
	if e.next == nil {
		return
	}
	var p *process
	if wait {
		select {
		case p = <-e.next:
		case <-ctx.Done():
			return
		}
	} else {
		select {
		case p = <-e.next:
		default:
			return
		}
	}
	e.next = nil
	if p == nil {
		return
	}
	if old := e.process; old != nil {
		e.engine.retire(old)
	}
	e.process = p
}

// Begin starts a note. One that is still open is dropped. A worker that died since the last is
// replaced before anything is lost.
func (e *ear) Begin(ctx context.Context) error {
	if e.closed {
		return errEarClosed
	}
	e.open = false
	var err error
	for range 2 {
		if err = e.begin(ctx); err == nil || !errors.Is(err, hear.ErrLost) || ctx.Err() != nil {
			return err
		}
	}
	return err
}

func (e *ear) begin(ctx context.Context) error {
	e.succeed(ctx, e.process == nil)
	if e.process == nil || e.process.dead() {
		p, err := e.engine.take(ctx, e.words)
		if err != nil {
			return err
		}
		e.process = p
	}
	if err := e.engine.listen(ctx, e.process, e.words); err != nil {
		return e.check(err)
	}
	if _, err := e.call(ctx, request{Do: doBegin}, nil); err != nil {
		return err
	}
	e.open, e.lost = true, false
	return nil
}

// call asks the worker.
func (e *ear) call(ctx context.Context, r request, pcm []int16) (reply, error) {
	limit := e.engine.config.End
	if r.Do == doWrite {
		limit = e.engine.config.Write
	}
	got, err := e.process.call(ctx, limit, r, pcm)
	return got, e.check(err)
}

// check lets go of a worker that is lost, and has the next one got ready.
func (e *ear) check(err error) error {
	if errors.Is(err, hear.ErrLost) {
		e.process, e.lost = nil, true
		if e.next == nil {
			e.next = e.engine.ahead(e.words)
		}
	}
	return err
}

// ready says why there is no note to write to or to end.
func (e *ear) ready() error {
	switch {
	case e.closed:
		return errEarClosed
	case !e.open:
		return errNotOpen
	case e.lost:
		return fmt.Errorf("%w: begin it again", hear.ErrLost)
	}
	return nil
}

// Write hands over more of the note's sound. Before the note begins the worker keeps 12 seconds of
// it; a note of more than 12 seconds has ended.
func (e *ear) Write(ctx context.Context, pcm []int16) (hear.Live, error) {
	if err := e.ready(); err != nil {
		return hear.Live{}, err
	}
	var got reply
	var err error
	for first := true; first || len(pcm) > 0; first = false {
		n := min(len(pcm), piece)
		if got, err = e.call(ctx, request{Do: doWrite}, pcm[:n]); err != nil {
			return hear.Live{}, err
		}
		pcm = pcm[n:]
	}
	if got.Live == nil {
		return hear.Live{}, e.silent()
	}
	return got.Live.out(), nil
}

// End ends the note and returns what was heard.
func (e *ear) End(ctx context.Context) (hear.Heard, error) {
	if err := e.ready(); err != nil {
		e.open = e.open && !e.lost
		return hear.Heard{}, err
	}
	e.open = false
	got, err := e.call(ctx, request{Do: doEnd}, nil)
	if err != nil {
		e.lost = true
		return hear.Heard{}, err
	}
	if got.Heard == nil {
		return hear.Heard{}, e.silent()
	}
	e.age()
	return got.Heard.out(), nil
}

// Score decodes the last note with each sentence as all that may be heard.
func (e *ear) Score(ctx context.Context, sentences ...string) ([]hear.Fit, error) {
	switch {
	case e.closed:
		return nil, errEarClosed
	case e.open:
		return nil, errors.New("offline: the note is not over: end it first")
	case e.process == nil || e.lost:
		return nil, fmt.Errorf("%w: its sound is gone", hear.ErrLost)
	}
	var fits []hear.Fit
	for some := range slices.Chunk(sentences, mostSentences) {
		got, err := e.call(ctx, request{Do: doScore, Sentences: some}, nil)
		if err != nil {
			return nil, err
		}
		if len(got.Fits) != len(some) {
			return nil, e.silent()
		}
		for _, f := range got.Fits {
			fits = append(fits, hear.Fit{Score: float64(f.Score), Text: f.Text})
		}
	}
	e.age()
	return fits, nil
}

// silent is for an answer that lacks what was asked for: such a worker is not to be trusted.
func (e *ear) silent() error {
	e.process.kill()
	return e.check(fmt.Errorf("%w: its answer was empty", hear.ErrLost))
}

// age has a successor got ready for a worker that is worn. It takes over with the next note.
func (e *ear) age() {
	if e.process.worn >= e.engine.config.Worn && e.next == nil {
		e.next = e.engine.ahead(e.words)
	}
}

// Close hands the worker back.
func (e *ear) Close() error {
	if e.closed {
		return nil
	}
	e.closed = true
	if e.process != nil {
		e.engine.put(e.process)
	}
	if e.next != nil {
		e.engine.returned(e.next)
	}
	<-e.engine.ears
	return nil
}
