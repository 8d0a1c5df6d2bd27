// Command readback checks what a technician says while building a pump against the
// build spec. `readback --help` says what it can do.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
)

// std is what a command reads from and writes to.
type std struct {
	in       io.Reader
	out, err io.Writer
	log      logs
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, std{in: os.Stdin, out: os.Stdout, err: os.Stderr}, os.Args[1:])
	stop()
	os.Exit(status)
}

// The exit statuses.
const (
	clean = 0 // nothing is wrong
	found = 1 // findings are open, or something that was checked does not hold
	usage = 2 // bad usage, or a file that cannot be used
)

// errFindings ends a command that answered and has findings open. It is not printed.
var errFindings = errors.New("findings are open")

// run runs one command and returns its exit status.
func run(ctx context.Context, s std, args []string) int {
	root := newRoot(&s)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	switch {
	case err == nil:
		return clean
	case errors.Is(err, errFindings):
		return found
	case errors.Is(err, syscall.EPIPE):
		return clean // the reader of our output had enough
	}
	fmt.Fprintf(s.err, "readback: %v\n", err)
	var h interface{ Hint() string }
	if errors.As(err, &h) {
		fmt.Fprintf(s.err, "hint: %s\n", h.Hint())
	}
	return usage
}

// hinted is an error that says what would help.
type hinted struct {
	error
	hint string
}

func (h hinted) Hint() string  { return h.hint }
func (h hinted) Unwrap() error { return h.error }

// hint adds what would help to an error.
func hint(err error, format string, args ...any) error {
	return hinted{err, fmt.Sprintf(format, args...)}
}
