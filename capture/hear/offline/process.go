package offline

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/hear"
)

// process is the server's side of a worker. One goroutine at a time calls it.
type process struct {
	cmd    *exec.Cmd
	in     *os.File
	out    *os.File
	read   *bufio.Reader
	last   lastWords
	folder string // its own, removed when it has ended
	log    zerolog.Logger

	words  *hear.Words // what it listens for; nil for nothing that is known
	worn   int
	closed atomic.Bool   // it is meant to end
	done   chan struct{} // closed when it has ended
}

// startProcess starts a worker and waits until it is up.
func startProcess(ctx context.Context, command []string, folder string, limit time.Duration, log zerolog.Logger) (*process, error) {
	p := &process{folder: folder, log: log, done: make(chan struct{})}
	if err := p.start(command); err != nil {
		return nil, errors.Join(fmt.Errorf("start a recogniser: %w", err), os.RemoveAll(folder))
	}
	go p.wait()
	if _, err := p.exchange(ctx, limit, nil, nil); err != nil {
		return nil, fmt.Errorf("start a recogniser: %w; it said: %s", err, p.last.String())
	}
	return p, nil
}

func (p *process) start(command []string) error {
	theirIn, ourIn, err := os.Pipe()
	if err != nil {
		return err
	}
	defer func() { _ = theirIn.Close() }()
	ourOut, theirOut, err := os.Pipe()
	if err != nil {
		return errors.Join(err, ourIn.Close())
	}
	defer func() { _ = theirOut.Close() }()
	//nolint:gosec,noctx // the command is this program's own; a worker outlives the call that starts it
	p.cmd = exec.Command(command[0], command[1:]...)
	p.cmd.Stdin, p.cmd.Stdout, p.cmd.Stderr = theirIn, theirOut, &p.last
	p.cmd.Env = append(os.Environ(), "TMPDIR="+p.folder) // of a worker that dies nothing stays behind
	p.cmd.WaitDelay = time.Second
	// Ctrl-C in a terminal goes to the whole group: a note that is being spoken is still answered.
	p.cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if err := p.cmd.Start(); err != nil {
		return errors.Join(err, ourIn.Close(), ourOut.Close())
	}
	p.in, p.out, p.read = ourIn, ourOut, bufio.NewReader(ourOut)
	return nil
}

// wait sees the worker end, whatever ends it.
func (p *process) wait() {
	err := p.cmd.Wait()
	if !p.closed.Load() {
		p.log.Warn().AnErr("cause", err).Int("pid", p.cmd.Process.Pid).Str("last", p.last.String()).Msg("recogniser ended by itself")
	}
	_ = p.in.Close()
	_ = p.out.Close()
	if err := os.RemoveAll(p.folder); err != nil {
		p.log.Warn().Err(err).Msg("folder of a recogniser stays behind")
	}
	close(p.done)
}

// dead tells whether the worker has ended.
func (p *process) dead() bool {
	select {
	case <-p.done:
		return true
	default:
		return false
	}
}

// call asks the worker and waits for its answer. A worker that does not answer is killed, and
// the error wraps [hear.ErrLost]; any other error is the worker's own, which lives on.
func (p *process) call(ctx context.Context, limit time.Duration, r request, pcm []int16) (reply, error) {
	got, err := p.exchange(ctx, limit, &r, pcm)
	if err != nil {
		return reply{}, err
	}
	return got, got.Fault.err()
}

// exchange sends a request, if there is one, and reads a reply.
func (p *process) exchange(ctx context.Context, limit time.Duration, r *request, pcm []int16) (reply, error) {
	var got reply
	err := p.within(ctx, limit, func() error {
		if r != nil {
			if err := writeFrame(p.in, r, pcm); err != nil {
				return err
			}
		}
		_, err := readFrame(p.read, &got)
		if err != nil {
			return err
		}
		return got.check()
	})
	if err != nil {
		return reply{}, p.lost(ctx, limit, err)
	}
	p.worn = got.Worn
	return got, nil
}

// within does something with the pipes that ends when ctx or the limit does.
func (p *process) within(ctx context.Context, limit time.Duration, f func() error) error {
	until := func(t time.Time) error { return errors.Join(p.in.SetDeadline(t), p.out.SetDeadline(t)) }
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := until(time.Now().Add(limit)); err != nil {
		return err
	}
	cut := make(chan struct{})
	stop := context.AfterFunc(ctx, func() {
		_ = until(time.Unix(1, 0))
		close(cut)
	})
	err := f()
	if !stop() {
		<-cut
	}
	return err
}

// lost ends a worker that cannot be talked to any more and says so.
func (p *process) lost(ctx context.Context, limit time.Duration, err error) error {
	hung := errors.Is(err, os.ErrDeadlineExceeded) && ctx.Err() == nil
	if hung {
		p.log.Warn().Int("pid", p.cmd.Process.Pid).Dur("limit", limit).Str("last", p.last.String()).Msg("recogniser hangs and is ended")
	}
	if hung || ctx.Err() != nil {
		p.closed.Store(true)
	}
	// One that is ending leaves its own cause; a moment lets the log have it.
	if errors.Is(err, io.EOF) || errors.Is(err, syscall.EPIPE) {
		select {
		case <-p.done:
		case <-time.After(grace):
		}
	}
	p.kill()
	switch {
	case ctx.Err() != nil:
		return fmt.Errorf("%w: %w", hear.ErrLost, ctx.Err())
	case hung:
		return fmt.Errorf("%w: no answer in %v", hear.ErrLost, limit)
	}
	return fmt.Errorf("%w: %w", hear.ErrLost, err)
}

// grace is how long a worker may take to end.
const grace = 100 * time.Millisecond

// kill ends the worker at once.
func (p *process) kill() { _ = p.cmd.Process.Kill() }

// close lets the worker end by itself, or makes it.
func (p *process) close() {
	p.closed.Store(true)
	_ = p.in.Close()
	select {
	case <-p.done:
		return
	case <-time.After(grace):
	}
	p.kill()
	<-p.done
}
