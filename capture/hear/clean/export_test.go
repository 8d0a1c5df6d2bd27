package clean

import (
	"context"
	"math"
	"slices"
)

// Poison gives the denoiser a frame of what is no number, as a fault of ours would. It returns
// the voice value and whether what came out are numbers.
func (c *Cleaner) Poison() (voice float64, numbers bool, err error) {
	s := slices.Repeat([]float64{math.NaN()}, wide)
	voice, err = c.denoise(s)
	return voice, !slices.ContainsFunc(append(s, voice), math.IsNaN), err
}

// Lose makes the denoiser look for its state outside of its memory.
func (c *Cleaner) Lose() { c.state = math.MaxUint32 - 64 }

// asserts is a module whose one function, f, fails the assertion at line 7.
var asserts = []byte("\x00asm\x01\x00\x00\x00" +
	"\x01\x0b\x02\x60\x04\x7f\x7f\x7f\x7f\x00\x60\x00\x00" + // types
	"\x02\x15\x01\x03env\x0d__assert_fail\x00\x00" + // import
	"\x03\x02\x01\x01" + "\x07\x05\x01\x01f\x00\x01" + // function, export
	"\x0a\x0e\x01\x0c\x00\x41\x00\x41\x00\x41\x07\x41\x00\x10\x00\x0b") // code

// Assert calls what the denoiser calls when it finds itself in the wrong.
func (f *Factory) Assert(ctx context.Context) error {
	mod, err := f.runtime.Instantiate(ctx, asserts)
	if err != nil {
		return err
	}
	defer mod.Close(ctx)
	_, err = mod.ExportedFunction("f").Call(ctx)
	return err
}
