package clean_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"readback/capture/hear"
	"readback/capture/hear/clean"
)

// background outlives a test, for what is shared and for what is closed after it.
var background = context.Background()

var factory = sync.OnceValues(func() (*clean.Factory, error) { return clean.New(background) })

// cleaner returns a cleaner for the test.
func cleaner(t testing.TB, mix float64) *clean.Cleaner {
	t.Helper()
	f, err := factory()
	if err != nil {
		t.Fatal(err)
	}
	c, err := f.Cleaner(t.Context(), mix)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := c.Close(background); err != nil {
			t.Error(err)
		}
	})
	return c
}

// vowel is like a long vowel whose pitch wanders: harmonics of 120 to 180 Hz, falling with pitch.
func vowel(samples int) []int16 {
	out := make([]int16, samples)
	turn := 0.0
	for i := range out {
		at := float64(i) / hear.Rate
		turn += 2 * math.Pi * (150 + 30*math.Sin(2*math.Pi*1.3*at)) / hear.Rate
		var v float64
		for k := 1; k <= 20; k++ {
			v += math.Sin(float64(k)*turn) / float64(k)
		}
		out[i] = int16(6000 * v * (0.6 + 0.4*math.Sin(2*math.Pi*4*at)))
	}
	return out
}

func noise(seed uint64, samples int, level float64) []int16 {
	r := rand.New(rand.NewPCG(seed, 1))
	out := make([]int16, samples)
	for i := range out {
		out[i] = int16(min(max(r.NormFloat64()*level, math.MinInt16), math.MaxInt16))
	}
	return out
}

// through feeds whole frames of pcm.
func through(t testing.TB, c *clean.Cleaner, pcm []int16) (out []int16, voices []float64) {
	t.Helper()
	out = slices.Clone(pcm)
	for at := 0; at+hear.Frame <= len(out); at += hear.Frame {
		voice, err := c.Frame(out[at:at+hear.Frame], out[at:at+hear.Frame])
		if err != nil {
			t.Fatal(err)
		}
		if !(voice >= 0 && voice <= 1) {
			t.Fatalf("frame at %d: voice value %v", at, voice)
		}
		voices = append(voices, voice)
	}
	return out, voices
}

// lag is by how many samples late b is most like a.
func lag(a, b []int16, most int) int {
	best, at := math.Inf(-1), -1
	for d := range most {
		var sum float64
		for i := range len(a) - d {
			sum += float64(a[i]) * float64(b[i+d])
		}
		if sum > best {
			best, at = sum, d
		}
	}
	return at
}

func TestDelayIsAsSaid(t *testing.T) {
	in := vowel(2 * hear.Rate)
	out, _ := through(t, cleaner(t, 0), in)
	if got := lag(in, out, 600); got != clean.Delay {
		t.Errorf("what is cleaned comes %d samples late, want %d", got, clean.Delay)
	}
}

func TestOnlyRawSoundComesThroughUnchanged(t *testing.T) {
	in := noise(1, hear.Rate, 5000)
	out, _ := through(t, cleaner(t, 1), in)
	if !slices.Equal(out[clean.Delay:], in[:len(in)-clean.Delay]) {
		t.Error("with a raw share of 1 the sound is changed")
	}
}

func TestNoteIsAsLongAndNotLate(t *testing.T) {
	c := cleaner(t, clean.Mix)
	in := vowel(hear.Rate + 77)
	out, voices, err := c.Note(t.Context(), in)
	if err != nil {
		t.Fatal(err)
	}
	if len(out) != len(in) || len(voices) != 101 {
		t.Fatalf("%d samples give %d and %d voice values", len(in), len(out), len(voices))
	}
	if got := lag(in, out, 100); got != 0 {
		t.Errorf("the note is %d samples late", got)
	}
	again, values, err := c.Note(t.Context(), in)
	if err != nil || !slices.Equal(out, again) || !slices.Equal(voices, values) {
		t.Errorf("the same note gives other sound the second time (%v)", err)
	}
	for _, n := range []int{0, 1, hear.Frame - 1, hear.Frame, hear.Frame + 1} {
		out, voices, err := c.Note(t.Context(), in[:n])
		if err != nil || len(out) != n || len(voices) != (n+hear.Frame-1)/hear.Frame {
			t.Errorf("%d samples give %d, %d voice values, error %v", n, len(out), len(voices), err)
		}
	}
}

func TestResetForgets(t *testing.T) {
	c := cleaner(t, clean.Mix)
	in := vowel(hear.Rate / 2)
	first, _ := through(t, c, in)
	through(t, c, noise(2, hear.Rate/2, 8000))
	if err := c.Reset(t.Context()); err != nil {
		t.Fatal(err)
	}
	if second, _ := through(t, c, in); !slices.Equal(first, second) {
		t.Error("after Reset the same sound comes out otherwise")
	}
}

// TestNoiseIsNoVoice holds it for a fresh cleaner as well as for one that knows the noise, and
// that a primed one believes a voice from its first frames on.
func TestNoiseIsNoVoice(t *testing.T) {
	c := cleaner(t, clean.Mix)
	over := func(voices []float64) (n int) {
		for _, v := range voices {
			if v > 0.7 {
				n++
			}
		}
		return n
	}
	for _, level := range []float64{3, 300, 3000} {
		before, in := noise(4, hear.Rate*3/10, level), noise(3, hear.Rate, level)
		for _, primed := range []bool{false, true} {
			if err := c.Reset(t.Context()); err != nil {
				t.Fatal(err)
			}
			if primed {
				if err := c.Prime(before); err != nil {
					t.Fatal(err)
				}
			}
			if _, voices := through(t, c, in); over(voices) > 2 {
				t.Errorf("level %v, primed %v: %d of 100 frames of noise pass for a voice", level, primed, over(voices))
			}
		}
	}
	if err := c.Reset(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, voices := through(t, c, vowel(hear.Rate)); over(voices[:clean.Cold]) > 0 || over(voices[clean.Cold:]) < 30 {
		t.Errorf("%d of the first frames of a vowel are a voice, %d of the rest", over(voices[:clean.Cold]), over(voices[clean.Cold:]))
	}
	if err := c.Reset(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := c.Prime(noise(4, hear.Rate*3/10, 3)); err != nil {
		t.Fatal(err)
	}
	if _, voices := through(t, c, vowel(hear.Rate)); over(voices[:clean.Cold]) == 0 {
		t.Error("a primed cleaner hears no voice in the first frames of a vowel")
	}
}

func TestAnySoundGoesThrough(t *testing.T) {
	square := make([]int16, hear.Rate)
	single := make([]int16, hear.Rate)
	for i := range square {
		square[i] = math.MaxInt16
		if i/40%2 == 0 {
			square[i] = math.MinInt16
		}
	}
	single[500] = math.MinInt16
	tests := []struct {
		name string
		pcm  []int16
	}{
		{"silence", make([]int16, hear.Rate)},
		{"a constant", slices.Repeat([]int16{math.MinInt16}, hear.Rate)},
		{"a square at full scale", square},
		{"one click", single},
		{"noise at full scale", noise(5, hear.Rate, 40000)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := cleaner(t, clean.Mix)
			through(t, c, tt.pcm)
			silent, _ := through(t, c, make([]int16, hear.Rate/2))
			if tail := silent[len(silent)-hear.Frame:]; loudest(tail) > 30 {
				t.Errorf("half a second of silence later the sound still has a peak of %d", loudest(tail))
			}
		})
	}
}

func loudest(pcm []int16) (peak int) {
	for _, s := range pcm {
		peak = max(peak, int(s), -int(s))
	}
	return peak
}

func TestWrongUseIsRefused(t *testing.T) {
	c := cleaner(t, clean.Mix)
	for _, n := range []int{0, 159, 161, 320} {
		if _, err := c.Frame(make([]int16, n), make([]int16, hear.Frame)); !errors.Is(err, clean.ErrFrame) {
			t.Errorf("%d samples in: %v", n, err)
		}
		if _, err := c.Frame(make([]int16, hear.Frame), make([]int16, n)); !errors.Is(err, clean.ErrFrame) {
			t.Errorf("%d samples out: %v", n, err)
		}
	}
	through(t, c, vowel(hear.Frame)) // and it goes on
	f, err := factory()
	if err != nil {
		t.Fatal(err)
	}
	for _, mix := range []float64{-0.1, 1.1, math.NaN()} {
		if c, err := f.Cleaner(t.Context(), mix); err == nil {
			t.Errorf("a raw share of %v gives %v", mix, c)
		}
	}
}

func TestWhatIsNoNumberDoesNotStay(t *testing.T) {
	c := cleaner(t, clean.Mix)
	for i := range 5 {
		if voice, numbers, err := c.Poison(); err != nil || !numbers || voice < 0 || voice > 1 {
			t.Fatalf("frame %d: voice value %v, all numbers %v, error %v", i, voice, numbers, err)
		}
	}
	out, _ := through(t, c, vowel(hear.Rate/2))
	if loudest(out[len(out)/2:]) < 3000 {
		t.Error("after a frame of no numbers no sound comes through")
	}
}

func TestFaultInTheDenoiserIsAnError(t *testing.T) {
	c := cleaner(t, clean.Mix)
	in := vowel(hear.Rate / 2)
	want, _ := through(t, c, in)
	c.Lose()
	frame := make([]int16, hear.Frame)
	for range 2 {
		if _, err := c.Frame(frame, frame); !errors.Is(err, clean.ErrBroken) {
			t.Fatalf("Frame with a lost state: %v", err)
		}
	}
	if err := c.Reset(t.Context()); err != nil {
		t.Fatal(err)
	}
	if got, _ := through(t, c, in); !slices.Equal(got, want) {
		t.Error("the new denoiser gives other sound than the first")
	}
	c.Lose()
	if err := c.Reset(t.Context()); err != nil {
		t.Fatalf("Reset with a lost state: %v", err)
	}
	f, err := factory()
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Assert(t.Context()); !errors.Is(err, clean.ErrBroken) || !strings.Contains(err.Error(), "line 7") {
		t.Errorf("a failed assertion gives %v", err)
	}
}

func TestClosed(t *testing.T) {
	f, err := clean.New(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	c, err := f.Cleaner(t.Context(), clean.Mix)
	if err != nil {
		t.Fatal(err)
	}
	other, err := f.Cleaner(t.Context(), clean.Mix)
	if err != nil {
		t.Fatal(err)
	}
	frame := make([]int16, hear.Frame)
	if err := c.Close(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, err := c.Frame(frame, frame); !errors.Is(err, clean.ErrBroken) {
		t.Errorf("Frame after Close: %v", err)
	}
	if err := c.Reset(t.Context()); !errors.Is(err, clean.ErrBroken) {
		t.Errorf("Reset after Close: %v", err)
	}
	if err := c.Close(t.Context()); err != nil {
		t.Errorf("a second Close: %v", err)
	}
	through(t, other, frame)
	if err := f.Close(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, err := other.Frame(frame, frame); !errors.Is(err, clean.ErrBroken) {
		t.Errorf("Frame after the factory's Close: %v", err)
	}
	if err := other.Reset(t.Context()); err == nil {
		t.Error("Reset after the factory's Close gives no error")
	}
}

// TestStreamsDoNotMix runs several cleaners at a time; each gives what it gives alone.
func TestStreamsDoNotMix(t *testing.T) {
	want := make([][]int16, 3)
	in := make([][]int16, len(want))
	for i := range in {
		in[i] = slices.Concat(vowel(i*4*hear.Frame), noise(uint64(i), 20*hear.Frame, 1000))
		want[i], _ = through(t, cleaner(t, clean.Mix), in[i])
	}
	var all sync.WaitGroup
	for i := range in {
		c := cleaner(t, clean.Mix)
		all.Go(func() {
			out := make([]int16, hear.Frame)
			for at := 0; at < len(in[i]); at += hear.Frame {
				if _, err := c.Frame(in[i][at:at+hear.Frame], out); err != nil || !slices.Equal(out, want[i][at:at+hear.Frame]) {
					t.Errorf("stream %d differs at %d (%v)", i, at, err)
					return
				}
			}
		})
	}
	all.Wait()
}

// TestMemoryStaysFlat cleans twenty seconds of noise with its meter, and takes many notes.
// With READBACK_LONG set it is ten minutes and 1,000 notes.
func TestMemoryStaysFlat(t *testing.T) {
	seconds, notes := 20, 200
	if os.Getenv("READBACK_LONG") != "" {
		seconds, notes = 600, 1000
	}
	c := cleaner(t, clean.Mix)
	var m clean.Meter
	pcm := noise(6, hear.Rate, 2000)
	out := make([]int16, hear.Frame)
	heap := func() float64 {
		runtime.GC()
		var s runtime.MemStats
		runtime.ReadMemStats(&s)
		return float64(s.HeapAlloc) / (1 << 20)
	}
	second := func() {
		for at := 0; at < len(pcm); at += hear.Frame {
			voice, err := c.Frame(pcm[at:at+hear.Frame], out)
			if err != nil {
				t.Fatal(err)
			}
			m.Add(pcm[at:at+hear.Frame], voice)
		}
	}
	second()
	before, size := heap(), c.Memory()
	for range seconds {
		second()
	}
	for range notes {
		if _, _, err := c.Note(t.Context(), pcm[:3*hear.Frame]); err != nil {
			t.Fatal(err)
		}
	}
	after := heap()
	t.Logf("heap %.1f then %.1f MiB, the denoiser's memory %d then %d MiB", before, after, size>>20, c.Memory()>>20)
	if c.Memory() != size || after > before+1 {
		t.Errorf("memory grew: heap %.1f to %.1f MiB, the denoiser's %d to %d bytes", before, after, size, c.Memory())
	}
}

// TestModuleIsWhatUnpackMakes holds the committed module against the hash in unpack.go.
func TestModuleIsWhatUnpackMakes(t *testing.T) {
	packed, err := os.Open("rnnoise.wasm.gz")
	if err != nil {
		t.Fatal(err)
	}
	defer packed.Close()
	z, err := gzip.NewReader(packed)
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.New()
	if _, err := io.Copy(sum, z); err != nil {
		t.Fatal(err)
	}
	script, err := os.ReadFile("unpack.go")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(script, fmt.Appendf(nil, "%x", sum.Sum(nil))) {
		t.Errorf("the module's SHA-256 is %x, and unpack.go names another", sum.Sum(nil))
	}
}
