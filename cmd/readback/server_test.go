package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"os"
	"os/exec"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/oklog/ulid/v2"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/sqlite"
	"readback/capture/wire"
	"readback/capture/ws"
)

// process is a real server: the command, as a process of its own.
type process struct {
	*exec.Cmd
	address string
	out     *bufio.Reader
	log     bytes.Buffer // standard error; read it after the end
	ended   sync.Once
}

// launch starts `readback serve` on a folder and does not wait for it to serve.
func launch(tb testing.TB, data string, flags ...string) *process {
	tb.Helper()
	p, err := newProcess(context.WithoutCancel(tb.Context()), data, flags...)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { _ = p.end(os.Kill) }) // does nothing unless the test has failed
	return p
}

// newProcess starts a server; the caller ends it.
func newProcess(ctx context.Context, data string, flags ...string) (*process, error) {
	flags = append([]string{"serve", "--data", data, "--listen", "127.0.0.1:0", "--stt", "none", "--speak", "none", "--key-file", strings.TrimSuffix(data, "/") + "-seal.key"}, flags...)
	p := &process{Cmd: exec.CommandContext(ctx, "readback", flags...)}
	if err := p.begin(); err != nil {
		return nil, err
	}
	return p, nil
}

// begin starts the process.
func (p *process) begin() error {
	p.Stderr = &p.log
	out, err := p.StdoutPipe()
	if err != nil {
		return err
	}
	p.out = bufio.NewReader(out)
	return p.Start()
}

// serves waits until the server says its address; false: it ended before.
func (p *process) serves() bool {
	line, err := p.out.ReadString('\n')
	if err != nil {
		return false
	}
	fields := strings.Fields(line)
	p.address = fields[len(fields)-1]
	return true
}

// begin starts a server that must serve.
func begin(tb testing.TB, data string) *process {
	tb.Helper()
	p := launch(tb, data)
	if !p.serves() {
		tb.Fatalf("the server ended: %v: %s", p.end(nil), &p.log)
	}
	return p
}

// end sends a signal, if any, and waits for the end of the process.
func (p *process) end(signal os.Signal) (err error) {
	p.ended.Do(func() {
		if signal != nil {
			_ = p.Process.Signal(signal) // it may have ended by itself
		}
		_, _ = io.Copy(io.Discard, p.out) // what it says now is of no interest
		err = p.Wait()
	})
	return err
}

// stop ends a server as its user does, which must be a good end.
func (p *process) stop(tb testing.TB) {
	tb.Helper()
	if err := p.end(syscall.SIGTERM); err != nil {
		tb.Errorf("the server ended with %v: %s", err, &p.log)
	}
}

func (p *process) open(tb testing.TB, job string) {
	tb.Helper()
	if err := post(tb.Context(), p.address+"/api/jobs", wire.OpenJob{ID: job, Spec: "mr5"}); err != nil {
		tb.Fatal(err)
	}
}

func (p *process) sit(tb testing.TB, job, bench string) *ws.Bench {
	tb.Helper()
	b, err := ws.Dial(tb.Context(), p.address, job, floor.Speaker{Bench: bench})
	if err != nil {
		tb.Fatal(err)
	}
	return b
}

func newID(tb testing.TB) string {
	tb.Helper()
	id, err := ulid.New(ulid.Timestamp(time.Now()), ulid.DefaultEntropy())
	if err != nil {
		tb.Fatal(err)
	}
	return id.String()
}

// kept reads every entry that lies in a data folder, in order.
func kept(tb testing.TB, data string) []journal.Entry {
	tb.Helper()
	store, err := sqlite.OpenReadOnly(tb.Context(), data)
	if err != nil {
		tb.Fatal(err)
	}
	defer store.Close()
	all, err := store.After(tb.Context(), 0, 1<<30)
	if err != nil {
		tb.Fatal(err)
	}
	return all
}
