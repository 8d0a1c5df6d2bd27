// Package offline is the engine that needs no network: PocketSphinx in worker processes.
//
// The recogniser can end its process, hang, and grow. So each [hear.Ear] has a worker of its
// own, this program run as `readback hear-worker`, that costs one note at most when it goes:
// the next note finds another. [Work] is the inside of a worker; frame.go and message.go are what
// the two say to each other over its standard input and output.
package offline

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/hear"
	"readback/capture/hear/sphinx"
)

// Config says how the engine works. What is zero is as usual.
type Config struct {
	Workers int           // ears at once: as many as there are processors
	Model   string        // folder of the acoustic model: where Debian's package puts it
	Command []string      // a worker: this program with the subcommand hear-worker
	Worn    int           // grammars after which a worker is replaced between notes: 300
	Idle    time.Duration // how long the worker of [Engine.Guess] waits for more: 2 min
	Log     zerolog.Logger

	// How long a worker may take for an answer before it is taken to hang.
	Start, Listen, Write, End time.Duration
}

// usual fills in what was left out.
func (c Config) usual() (Config, error) {
	if c.Workers < 0 || c.Worn < 0 || c.Worn > 0 && c.Worn < leastWorn {
		return c, fmt.Errorf("%d workers, each for %d grammars: give 1 or more and %d or more, or 0 for the usual", c.Workers, c.Worn, leastWorn)
	}
	if c.Workers == 0 {
		c.Workers = runtime.GOMAXPROCS(0)
	}
	if c.Worn == 0 {
		c.Worn = 300
	}
	for _, limit := range []struct {
		value *time.Duration
		usual time.Duration
	}{{&c.Start, 10 * time.Second}, {&c.Listen, 15 * time.Second}, {&c.Write, 5 * time.Second}, {&c.End, 10 * time.Second}, {&c.Idle, guessIdle}} {
		if *limit.value <= 0 {
			*limit.value = limit.usual
		}
	}
	if len(c.Command) == 0 {
		self, err := os.Executable()
		if err != nil {
			return c, fmt.Errorf("find this program, to start recognisers: %w", err)
		}
		c.Command = []string{self, Subcommand}
	}
	return c, nil
}

// leastWorn is some more than a worker needs for the words of one job.
const leastWorn = 20

// Subcommand is the word that makes this program a worker.
const Subcommand = "hear-worker"

// Engine is the pool of workers.
type Engine struct {
	config Config
	folder string
	ears   chan struct{} // has one for each ear that is open

	ctx  context.Context //nolint:containedctx // it ends the engine's own goroutines, not a call
	stop context.CancelFunc
	all  sync.WaitGroup // the engine's goroutines

	mu      sync.Mutex
	closed  bool
	warming bool
	idle    []*process
	alive   map[*process]bool
	latest  *hear.Words // what a worker was last made to listen for

	guessing chan struct{} // held by who uses guesser
	guesser  *process      // knows all English, for [Engine.Guess]; nil while nobody needs it
	guessed  int           // how often it was used
}

var errClosed = errors.New("offline: the engine is closed")

// New looks whether all is installed, an error that wraps [hear.ErrMissing] says what is not, and
// gets a first worker ready.
func New(c Config) (*Engine, error) {
	if err := sphinx.Installed(c.Model); err != nil {
		return nil, err
	}
	c, err := c.usual()
	if err != nil {
		return nil, err
	}
	folder, err := os.MkdirTemp("", "readback-hear-")
	if err != nil {
		return nil, fmt.Errorf("a folder for the recogniser: %w", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	e := &Engine{config: c, folder: folder, ears: make(chan struct{}, c.Workers), ctx: ctx, stop: stop, alive: map[*process]bool{}, guessing: make(chan struct{}, 1)}
	e.warm()
	return e, nil
}

// Name is what the page shows.
func (e *Engine) Name() string { return "offline" }

// Open returns an ear once one is free.
func (e *Engine) Open(ctx context.Context, w hear.Words) (hear.Ear, error) {
	select {
	case e.ears <- struct{}{}:
	case <-e.ctx.Done():
		return nil, errClosed
	case <-ctx.Done():
		return nil, fmt.Errorf("%w: %d at once: %w", hear.ErrBusy, e.config.Workers, ctx.Err())
	}
	p, err := e.take(ctx, w)
	if err != nil {
		<-e.ears
		return nil, err
	}
	return &ear{engine: e, process: p, words: w}, nil
}

// take returns a worker that listens for words: an idle one, or else a new one. One that dies
// of them is tried once more, for it may have died of something else.
func (e *Engine) take(ctx context.Context, w hear.Words) (*process, error) {
	var lost error
	for range 2 {
		p, err := e.pick(ctx, w)
		if err != nil {
			return nil, err
		}
		if err = e.listen(ctx, p, w); err == nil {
			return p, nil
		}
		if !errors.Is(err, hear.ErrLost) || ctx.Err() != nil {
			e.put(p)
			return nil, err
		}
		lost = err
	}
	return nil, fmt.Errorf("%w: two recognisers ended over them: %w", hear.ErrGrammar, lost)
}

// pick takes an idle worker, best one that listens for the words already.
func (e *Engine) pick(ctx context.Context, w hear.Words) (*process, error) {
	defer e.warm()
	e.mu.Lock()
	best := -1
	for i, p := range e.idle {
		if !p.dead() && (best < 0 || same(p.words, w)) {
			best = i
		}
	}
	if best >= 0 {
		p := e.idle[best]
		e.idle = append(e.idle[:best], e.idle[best+1:]...)
		e.mu.Unlock()
		return p, nil
	}
	e.idle = nil
	e.mu.Unlock()
	return e.start(ctx)
}

// start starts a worker.
func (e *Engine) start(ctx context.Context) (*process, error) {
	e.mu.Lock()
	closed := e.closed
	if !closed {
		e.all.Add(1)
	}
	e.mu.Unlock()
	if closed {
		return nil, errClosed
	}
	defer e.all.Done()
	folder, err := os.MkdirTemp(e.folder, "")
	if err != nil {
		return nil, fmt.Errorf("a folder for a recogniser: %w", err)
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	release := context.AfterFunc(e.ctx, cancel)
	defer release()
	p, err := startProcess(ctx, e.config.Command, folder, e.config.Start, e.config.Log)
	if err != nil {
		return nil, err
	}
	e.mu.Lock()
	closed = e.closed
	e.alive[p] = true
	e.all.Go(func() {
		<-p.done
		e.mu.Lock()
		defer e.mu.Unlock()
		delete(e.alive, p)
	})
	e.mu.Unlock()
	if closed {
		p.close()
		return nil, errClosed
	}
	return p, nil
}

// listen makes a worker listen for words, if it does not yet.
func (e *Engine) listen(ctx context.Context, p *process, w hear.Words) error {
	if same(p.words, w) && !p.dead() {
		return nil
	}
	p.words = nil
	_, err := p.call(ctx, e.config.Listen, request{Do: doListen, Model: e.config.Model, Folder: p.folder, Grammar: w.Grammar, Sounds: w.Sounds, Lead: w.Lead}, nil)
	if err != nil {
		return err
	}
	p.words = &w
	e.mu.Lock()
	e.latest = &w
	e.mu.Unlock()
	return nil
}

// put takes a worker back. A worn one ends.
func (e *Engine) put(p *process) {
	e.mu.Lock()
	keep := !e.closed && !p.dead() && p.worn < e.config.Worn && len(e.idle) < e.config.Workers
	if keep {
		e.idle = append(e.idle, p)
	}
	e.mu.Unlock()
	if !keep {
		p.close()
		e.warm()
	}
}

// warm sees to it that one worker is idle, in the background.
func (e *Engine) warm() {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.closed || e.warming || len(e.idle) > 0 {
		return
	}
	e.warming = true
	words := e.latest
	e.all.Go(func() {
		p, err := e.start(e.ctx)
		if err == nil && words != nil {
			err = e.listen(e.ctx, p, *words)
		}
		e.mu.Lock()
		e.warming = false
		e.mu.Unlock()
		switch {
		case err == nil:
			e.put(p)
		case e.ctx.Err() == nil:
			e.config.Log.Warn().Err(err).Msg("no recogniser could be got ready")
		}
	})
}

// ahead gets a worker ready for an ear that will need one, in the background.
func (e *Engine) ahead(w hear.Words) <-chan *process {
	ready := make(chan *process, 1)
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.closed {
		close(ready)
		return ready
	}
	e.all.Go(func() {
		defer close(ready)
		p, err := e.take(e.ctx, w)
		if err == nil {
			ready <- p
		}
	})
	return ready
}

// Close ends all workers. An ear that is still open loses its note.
func (e *Engine) Close() error {
	e.mu.Lock()
	e.closed = true
	for p := range e.alive {
		e.all.Go(p.close)
	}
	e.mu.Unlock()
	e.stop()
	e.all.Wait()
	return os.RemoveAll(e.folder)
}

// retire ends a worker in the background.
func (e *Engine) retire(p *process) {
	p.closed.Store(true)
	e.mu.Lock()
	defer e.mu.Unlock()
	if !e.closed { // else Close ends it
		e.all.Go(p.close)
	}
}

// returned takes back a worker that nobody needs any more, once it is ready.
func (e *Engine) returned(next <-chan *process) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.closed {
		return
	}
	e.all.Go(func() {
		if p := <-next; p != nil {
			e.put(p)
		}
	})
}
