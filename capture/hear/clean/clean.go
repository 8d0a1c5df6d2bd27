// Package clean takes the noise of a shop out of speech, 10 ms at a time, and says of each
// frame how likely somebody speaks in it.
//
// A [Factory] holds the denoiser, compiled once; each stream of sound has a [Cleaner] of its
// own. A [Meter] says how loud the speech, how loud the rest and what is wrong with the
// microphone. Where a note begins and ends is for package endpoint.
//
// The denoiser is RNNoise as WebAssembly (see NOTICE), run without cgo. It works at 48 kHz,
// so that the sound is resampled on its way in and out. What comes out is [Delay] samples
// late.
package clean

import (
	"bytes"
	"compress/gzip"
	"context"
	_ "embed"
	"errors"
	"fmt"
	"io"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/sys"
)

//go:generate go run unpack.go

//go:embed rnnoise.wasm.gz
var packed []byte

// Errors of the denoiser.
var (
	// ErrMachine: there is no compiler for this machine, and an interpreter would be too slow
	// to keep up with speech.
	ErrMachine = errors.New("clean: noise suppression runs on amd64 and arm64 only; hear the sound as it comes")
	// ErrBroken: the denoiser failed. [Cleaner.Reset] brings a fresh one.
	ErrBroken = errors.New("clean: the denoiser failed")
	// ErrFrame: a frame has the wrong length.
	ErrFrame = errors.New("clean: a frame has 160 samples, in and out")
)

// memoryPages bounds the memory of one denoiser, in pages of 64 KiB. It asks for 19 MiB
// at its start and never for more.
const memoryPages = 512

// Factory makes cleaners. It is safe for concurrent use.
type Factory struct {
	runtime wazero.Runtime
	module  wazero.CompiledModule
}

// New unpacks and compiles the denoiser: once for a process.
func New(ctx context.Context) (*Factory, error) {
	wasm, err := unpack()
	if err != nil {
		return nil, fmt.Errorf("unpack the denoiser: %w", err)
	}
	r, err := compiler(ctx)
	if err != nil {
		return nil, err
	}
	f := &Factory{runtime: r}
	if err := f.load(ctx, wasm); err != nil {
		return nil, errors.Join(err, r.Close(ctx))
	}
	return f, nil
}

func unpack() ([]byte, error) {
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(z)
}

// compiler returns a runtime that compiles. wazero panics where it cannot.
func compiler(ctx context.Context) (r wazero.Runtime, err error) {
	defer func() {
		if cause := recover(); cause != nil {
			err = fmt.Errorf("%w (%v)", ErrMachine, cause)
		}
	}()
	return wazero.NewRuntimeWithConfig(ctx, wazero.NewRuntimeConfigCompiler().WithMemoryLimitPages(memoryPages)), nil
}

// load compiles the module and gives it the three functions that it calls outside.
func (f *Factory) load(ctx context.Context, wasm []byte) error {
	env := f.runtime.NewHostModuleBuilder("env")
	env.NewFunctionBuilder().WithFunc(failed).Export("__assert_fail")
	env.NewFunctionBuilder().WithFunc(refuseMemory).Export("emscripten_resize_heap")
	if _, err := env.Instantiate(ctx); err != nil {
		return fmt.Errorf("prepare the denoiser: %w", err)
	}
	wasi := f.runtime.NewHostModuleBuilder("wasi_snapshot_preview1")
	wasi.NewFunctionBuilder().WithFunc(dropOutput).Export("fd_write")
	if _, err := wasi.Instantiate(ctx); err != nil {
		return fmt.Errorf("prepare the denoiser: %w", err)
	}
	var err error
	if f.module, err = f.runtime.CompileModule(ctx, wasm); err != nil {
		return fmt.Errorf("compile the denoiser: %w", err)
	}
	return nil
}

// failed is where the denoiser goes when it finds itself in the wrong. wazero turns the panic
// into an error of the call.
func failed(_ context.Context, _ api.Module, _, _, line, _ int32) {
	panic(fmt.Errorf("%w: assertion at line %d", ErrBroken, line))
}

func refuseMemory(int32) int32 { return 0 }

func dropOutput(_, _, _, _ int32) int32 { return 0 }

// Cleaner returns a cleaner for one stream, which mixes that share of the sound as it came back
// in: 0 for none, 1 for nothing else, [Mix] for what was found best.
func (f *Factory) Cleaner(ctx context.Context, mix float64) (*Cleaner, error) {
	if !(mix >= 0 && mix <= 1) {
		return nil, fmt.Errorf("clean: the share of raw sound is %v; give 0 to 1, such as %v", mix, Mix)
	}
	c := &Cleaner{factory: f, mix: mix}
	if err := c.start(ctx); err != nil {
		return nil, err
	}
	return c, nil
}

// Close frees the denoiser and ends every cleaner that it made.
func (f *Factory) Close(ctx context.Context) error {
	err := f.runtime.Close(ctx)
	if _, ok := errors.AsType[*sys.ExitError](err); ok {
		return nil
	}
	return err
}
