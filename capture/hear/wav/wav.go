// Package wav reads sound files: what is spoken into a file is heard as from a bench. It reads
// uncompressed WAV (RIFF) of 16 bits, one channel or two, of any usual rate, and returns it as the
// recogniser wants it.
package wav

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"readback/capture/hear"
)

// maxBytes is the largest file that is read: ten minutes of stereo at 48 kHz.
const maxBytes = 10 * 60 * 48_000 * 4

// ErrFormat says that a file is no sound that can be read.
var ErrFormat = errors.New("not a WAV file of 16-bit samples")

func wrong(why string) error { return fmt.Errorf("%w: %s", ErrFormat, why) }

// format is what the head of a file says of its samples.
type format struct {
	channels, rate int
}

// Read returns the samples of a file, mono, at [hear.Rate].
func Read(r io.Reader) ([]int16, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read sound: %w", err)
	}
	if len(data) > maxBytes {
		return nil, wrong("it is longer than ten minutes")
	}
	if len(data) < 12 || string(data[:4]) != "RIFF" || string(data[8:12]) != "WAVE" {
		return nil, wrong("it does not begin as one")
	}
	var f *format
	for rest := data[12:]; len(rest) >= 8; {
		name, size := string(rest[:4]), int(binary.LittleEndian.Uint32(rest[4:]))
		body := rest[8:]
		switch {
		case name == "data" && f == nil:
			return nil, wrong("its samples come before what they are")
		case name == "data":
			return f.mono(body[:min(size, len(body))]), nil // a recorder that was cut off wrote no size
		case size > len(body):
			return nil, wrong("it ends in the middle")
		case name == "fmt ":
			if f, err = readFormat(body[:size]); err != nil {
				return nil, err
			}
		}
		rest = body[min(size+size%2, len(body)):]
	}
	return nil, wrong("it has no samples")
}

func readFormat(b []byte) (*format, error) {
	if len(b) < 16 {
		return nil, wrong("its head is cut short")
	}
	kind, bits := binary.LittleEndian.Uint16(b), binary.LittleEndian.Uint16(b[14:])
	f := &format{channels: int(binary.LittleEndian.Uint16(b[2:])), rate: int(binary.LittleEndian.Uint32(b[4:]))}
	switch {
	case kind != 1 && kind != 0xfffe:
		return nil, wrong(fmt.Sprintf("it is compressed (format %d); convert it to PCM", kind))
	case bits != 16:
		return nil, wrong(fmt.Sprintf("its samples have %d bits; convert them to 16", bits))
	case f.channels < 1 || f.channels > 2:
		return nil, wrong(fmt.Sprintf("it has %d channels; one or two can be read", f.channels))
	case f.rate < 8000 || f.rate > 192_000:
		return nil, wrong(fmt.Sprintf("it has %d samples a second; 8,000 to 192,000 can be read", f.rate))
	}
	return f, nil
}

// mono mixes the channels and brings the samples to the recogniser's rate.
func (f *format) mono(b []byte) []int16 {
	n := len(b) / 2 / f.channels
	pcm := make([]int16, n)
	for i := range pcm {
		sum := 0
		for c := range f.channels {
			sum += int(int16(binary.LittleEndian.Uint16(b[2*(i*f.channels+c):])))
		}
		pcm[i] = int16(sum / f.channels)
	}
	return Resample(pcm, f.rate)
}

// zeros is how many zero crossings of the sinc are taken on either side.
const zeros = 16

// Resample returns sound of another rate at [hear.Rate], through a windowed sinc that cuts what the
// lower of the two rates cannot hold.
func Resample(pcm []int16, rate int) []int16 {
	if rate == hear.Rate || len(pcm) == 0 {
		return pcm
	}
	step := float64(rate) / hear.Rate
	cut := min(1, 1/step) * 0.95 // of half the input's rate
	wide := zeros / cut
	out := make([]int16, int(float64(len(pcm))/step))
	for i := range out {
		at := float64(i) * step
		sum := 0.0
		for j := max(0, int(at-wide)+1); j <= min(len(pcm)-1, int(at+wide)); j++ {
			x := float64(j) - at
			sum += float64(pcm[j]) * cut * sinc(cut*x) * (0.5 + 0.5*math.Cos(math.Pi*x/wide))
		}
		out[i] = int16(math.Round(min(max(sum, math.MinInt16), math.MaxInt16)))
	}
	return out
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}
