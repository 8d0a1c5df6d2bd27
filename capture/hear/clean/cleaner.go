package clean

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"slices"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"

	"readback/capture/hear"
)

// Delay is by how many samples the cleaned sound is late: 23 for both resamplers, 320 for two
// frames that the denoiser looks ahead. The voice values are late by the same two frames.
const Delay = 343

// Late is by how many frames a voice value is late.
const Late = Delay / hear.Frame

// Cold is for how many frames after [Cleaner.Reset] a voice value is 0, whatever is heard: a fresh
// denoiser takes 70 to 100 ms of any noise for a voice. So keep one cleaner going through a
// stream, or [Cleaner.Prime] it.
const Cold = 12

// Lead is how many samples of a note's own begin prime a cleaner for it: 150 ms.
const Lead = 15 * hear.Frame

// Mix is the share of the sound as it came that is mixed back in. The holes that the denoiser
// cuts hurt a recogniser more than a steady noise does that is taken out of the cepstra afterwards
// (package compensate): of 200 notes in 10 dB of noise 85 % were heard exactly with it and three tenths.
// Without that a tenth is best, 82 %.
const Mix = 0.3

// left is the share of its power, -15 dB, that a frame with a voice in it keeps. After some
// seconds of noise alone the denoiser takes stretches of it for a voice and yet removes it: of
// 2,755 such frames of hum, white and pink noise all lost 16 dB and more, where half of the frames
// with a voice in them lost under 1.5 dB and nine in ten under 21 dB, in noise 10 dB below.
const left = 0.0316

const (
	wide  = hear.Frame * upBy // samples of a frame as the denoiser sees it
	float = 4                 // bytes of a sample in its memory

)

// Cleaner cleans one stream of sound. One goroutine uses it.
type Cleaner struct {
	factory *Factory
	mix     float64
	mod     api.Module
	process api.Function
	state   uint64 // of the denoiser, in its memory
	frame   uint64 // where it finds and leaves a frame
	seen    int    // frames since the state was fresh, up to Cold
	broken  error
	closed  bool

	up   upsampler
	down downsampler
	raw  [Delay + hear.Frame]float64 // what came last, oldest first
	wide [wide]float64
	thin [hear.Frame]float64
	call [3]uint64
}

// start makes an instance of the denoiser with a fresh state.
func (c *Cleaner) start(ctx context.Context) error {
	mod, err := c.factory.runtime.InstantiateModule(ctx, c.factory.module, wazero.NewModuleConfig().WithName(""))
	if err != nil {
		return fmt.Errorf("start the denoiser: %w", err)
	}
	c.mod, c.process = mod, mod.ExportedFunction("rnnoise_process_frame")
	for _, name := range []string{"__wasm_call_ctors", "emscripten_stack_init"} {
		if _, err := c.do(ctx, name); err != nil {
			return err
		}
	}
	if c.frame, err = c.do(ctx, "malloc", wide*float); err != nil {
		return err
	}
	return c.fresh(ctx)
}

// fresh gives the denoiser a new state.
func (c *Cleaner) fresh(ctx context.Context) error {
	var err error
	if c.state, err = c.do(ctx, "rnnoise_create", 0); err != nil {
		return err
	}
	if c.state == 0 || c.frame == 0 {
		return fmt.Errorf("%w: it has no memory left", ErrBroken)
	}
	return nil
}

// do calls a function of the denoiser and returns its result, if it has one.
func (c *Cleaner) do(ctx context.Context, name string, args ...uint64) (uint64, error) {
	got, err := c.mod.ExportedFunction(name).Call(ctx, args...)
	if err != nil {
		return 0, fmt.Errorf("%w: %s: %w", ErrBroken, name, err)
	}
	if len(got) == 0 {
		return 0, nil
	}
	return got[0], nil
}

// Frame cleans [hear.Frame] samples of in into out, which may be the same, and returns how
// likely somebody speaks, 0 to 1: 0 where the denoiser leaves nothing of the sound. What comes out is [Delay] samples late. After an error out
// is as it was, and every further frame fails until [Cleaner.Reset].
func (c *Cleaner) Frame(in, out []int16) (float64, error) {
	if len(in) != hear.Frame || len(out) != hear.Frame {
		return 0, fmt.Errorf("%w: got %d and %d", ErrFrame, len(in), len(out))
	}
	if c.broken != nil {
		return 0, c.broken
	}
	copy(c.raw[:], c.raw[hear.Frame:])
	fresh := c.raw[Delay:]
	for i, s := range in {
		fresh[i] = float64(s)
	}
	c.up.frame(fresh, c.wide[:])
	voice, err := c.denoise(c.wide[:])
	if err != nil {
		c.broken = err
		return 0, err
	}
	c.down.frame(c.wide[:], c.thin[:])
	if c.seen < Cold || c.hollow() {
		voice = 0
	}
	c.seen = min(c.seen+1, Cold)
	for i, s := range &c.thin {
		out[i] = sample((1-c.mix)*s + c.mix*c.raw[i])
	}
	return voice, nil
}

// hollow says whether the denoiser left nothing of the frame that now comes out.
func (c *Cleaner) hollow() bool {
	var before, after float64
	for i, s := range &c.thin {
		before += c.raw[i] * c.raw[i]
		after += s * s
	}
	return after < before*left
}

// denoise cleans a wide frame where it stands. A value that is no number would stay in the
// denoiser's state for ever: then it gets a new one, and the frame is silence.
func (c *Cleaner) denoise(s []float64) (float64, error) {
	ctx := context.Background()
	mem, ok := c.mod.Memory().Read(uint32(c.frame), wide*float)
	if !ok {
		return 0, fmt.Errorf("%w: its frame lies outside its memory", ErrBroken)
	}
	for i, v := range s {
		binary.LittleEndian.PutUint32(mem[i*float:], math.Float32bits(float32(v)))
	}
	c.call = [3]uint64{c.state, c.frame, c.frame}
	if err := c.process.CallWithStack(ctx, c.call[:]); err != nil {
		return 0, fmt.Errorf("%w: %w", ErrBroken, err)
	}
	voice := float64(api.DecodeF32(c.call[0]))
	// The memory may have moved during the call.
	if mem, ok = c.mod.Memory().Read(uint32(c.frame), wide*float); !ok {
		return 0, fmt.Errorf("%w: its frame lies outside its memory", ErrBroken)
	}
	sum := voice
	for i := range s {
		s[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(mem[i*float:])))
		sum += s[i]
	}
	if math.IsNaN(sum) || math.IsInf(sum, 0) {
		clear(s)
		return 0, c.renew(ctx)
	}
	return min(max(voice, 0), 1), nil
}

// renew puts a new state in the place of the old one.
func (c *Cleaner) renew(ctx context.Context) error {
	if _, err := c.do(ctx, "rnnoise_destroy", c.state); err != nil {
		return err
	}
	return c.fresh(ctx)
}

// Reset forgets all sound, as between two notes: the same note then gives the same sound. After
// an error of [Cleaner.Frame] it starts a new denoiser.
func (c *Cleaner) Reset(ctx context.Context) error {
	c.up, c.down, c.seen = upsampler{}, downsampler{}, 0
	clear(c.raw[:])
	if c.broken == nil {
		c.broken = c.renew(ctx)
	}
	if c.broken == nil {
		return nil
	}
	if c.closed {
		return c.broken
	}
	if err := c.mod.Close(ctx); err != nil {
		return fmt.Errorf("close the broken denoiser: %w", err)
	}
	c.broken = c.start(ctx)
	return c.broken
}

// Prime lets the denoiser get used to the noise of pcm, whole frames of it, and drops what comes
// out. After 300 ms of the same noise its voice values can be believed from the first. The end of pcm comes out in the [Delay] samples after.
func (c *Cleaner) Prime(pcm []int16) error {
	var drop [hear.Frame]int16
	for ; len(pcm) >= hear.Frame; pcm = pcm[hear.Frame:] {
		if _, err := c.Frame(pcm[:hear.Frame], drop[:]); err != nil {
			return err
		}
	}
	return nil
}

// Note cleans a whole note, after a [Cleaner.Reset], primed with its own first sound. The cleaned
// sound is as long as pcm and not late. The voice values, one for each frame that was begun, are
// not late either.
func (c *Cleaner) Note(ctx context.Context, pcm []int16) (cleaned []int16, voices []float64, err error) {
	if err := c.Reset(ctx); err != nil {
		return nil, nil, err
	}
	if err := c.Prime(Mirrored(pcm)); err != nil {
		return nil, nil, err
	}
	frames := (len(pcm) + hear.Frame - 1) / hear.Frame
	padded := make([]int16, (frames+Late+1)*hear.Frame)
	copy(padded, pcm)
	for at := 0; at < len(padded); at += hear.Frame {
		frame := padded[at : at+hear.Frame]
		voice, err := c.Frame(frame, frame)
		if err != nil {
			return nil, nil, err
		}
		voices = append(voices, voice)
	}
	return padded[Delay : Delay+len(pcm)], voices[Late : Late+frames], nil
}

// Mirrored returns the first [Lead] of a note, whole frames of it, forwards and then backwards, so
// that pcm follows without a jump: what to [Cleaner.Prime] with where nothing was heard before.
func Mirrored(pcm []int16) []int16 {
	begin := slices.Clone(pcm[:min(len(pcm), Lead)/hear.Frame*hear.Frame])
	back := slices.Clone(begin)
	slices.Reverse(back)
	return append(begin, back...)
}

// Memory is how many bytes the denoiser's memory takes.
func (c *Cleaner) Memory() int { return int(c.mod.Memory().Size()) }

// Close frees the cleaner. What is called after it fails.
func (c *Cleaner) Close(ctx context.Context) error {
	c.broken, c.closed = fmt.Errorf("%w: it was closed", ErrBroken), true
	return c.mod.Close(ctx)
}

// sample rounds to a 16-bit sample, at its limits where it is beyond.
func sample(v float64) int16 {
	return int16(math.RoundToEven(min(max(v, math.MinInt16), math.MaxInt16)))
}
