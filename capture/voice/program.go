package voice

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"time"
)

// Program is a program of this machine that speaks. It runs once for each sentence, gets
// the words on its standard input, and writes a WAV file.
type Program struct {
	kind
	path    string
	version string
}

// kind is what programs differ in.
type kind struct {
	command string // and the Debian package that brings it
	voices  []Voice
	args    func(voice, out string, speed float64) []string
}

// kinds are the programs that are known, the better sounding first.
var kinds = []kind{
	{"flite", []Voice{{"slt", "Woman, American"}, {"rms", "Man, American"}, {"awb", "Man, Scottish"}, {"kal16", "Man, plain and quick to render"}}, flite},
	{"espeak-ng", []Voice{{"en-gb", "British"}, {"en-us", "American"}, {"en-gb-scotland", "Scottish"}}, espeak},
}

// flite writes several sentences into a file alone, not into a pipe.
func flite(voice, out string, speed float64) []string {
	return []string{"-voice", voice, "--setf", "duration_stretch=" + strconv.FormatFloat(1/speed, 'f', 3, 64), "-f", "/dev/stdin", "-o", out}
}

func espeak(voice, out string, speed float64) []string {
	const wordsAMinute = 165
	return []string{"--stdin", "-b", "1", "-v", voice, "-s", strconv.Itoa(int(wordsAMinute * speed)), "-w", out}
}

// Names lists the programs that [Find] knows, the better first.
func Names() (names []string) {
	for _, k := range kinds {
		names = append(names, k.command)
	}
	return names
}

// Find looks for a program by its name, or for the best that is installed if name is "".
// The error wraps [ErrMissing] and says which Debian package would do, or [ErrProgram].
func Find(ctx context.Context, name string) (*Program, error) {
	for _, k := range kinds {
		if name != "" && name != k.command {
			continue
		}
		if path, err := exec.LookPath(k.command); err == nil {
			return &Program{k, path, versionOf(ctx, path)}, nil
		}
		if name != "" {
			return nil, fmt.Errorf("%w: %s is not; install it with: apt-get install %s", ErrMissing, name, name)
		}
	}
	if name != "" {
		return nil, fmt.Errorf("%w: %.40q; use one of: %s", ErrProgram, name, strings.Join(Names(), ", "))
	}
	return nil, fmt.Errorf("%w; install one with: apt-get install %s", ErrMissing, kinds[0].command)
}

// versionOf returns what a program says of itself, "" if it says nothing.
func versionOf(ctx context.Context, path string) string {
	ctx, stop := context.WithTimeout(ctx, within)
	defer stop()
	c := exec.CommandContext(ctx, path, "--version")
	c.WaitDelay = time.Second
	out, _ := c.Output() // flite tells its version and fails
	return strings.Join(strings.Fields(string(out[:min(len(out), 300)])), " ")
}

// Name returns the program and its version.
func (p *Program) Name() string { return p.command + " " + p.version }

// Voices returns the voices of the program.
func (p *Program) Voices() []Voice { return p.voices }

// Render runs the program. It is killed when ctx ends.
func (p *Program) Render(ctx context.Context, words, voice string, speed float64) (wav []byte, err error) {
	file, err := os.CreateTemp("", "readback-voice-*.wav")
	if err != nil {
		return nil, fmt.Errorf("speak: %w", err)
	}
	defer func() { err = errors.Join(err, os.Remove(file.Name())) }()
	if err := file.Close(); err != nil {
		return nil, fmt.Errorf("speak: %w", err)
	}
	c := exec.CommandContext(ctx, p.path, p.args(voice, file.Name(), speed)...) //nolint:gosec // a known program, arguments of our own; the words go in as its input
	c.Env = []string{"PATH=" + os.Getenv("PATH"), "LANG=C.UTF-8"}
	c.WaitDelay = time.Second
	c.Stdin = strings.NewReader(words + "\n")
	var complaint bytes.Buffer
	c.Stderr = &complaint
	if err := c.Run(); err != nil {
		if ctx.Err() != nil {
			err = ctx.Err()
		}
		return nil, fmt.Errorf("%w: %s: %w: %.200q", ErrFailed, p.command, err, complaint.String())
	}
	if wav, err = os.ReadFile(file.Name()); err != nil {
		return nil, fmt.Errorf("%w: %s: %w", ErrFailed, p.command, err)
	}
	return wav, nil
}
