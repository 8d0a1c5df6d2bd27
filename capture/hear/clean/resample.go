package clean

import (
	"math"

	"readback/capture/hear"
)

const (
	upBy  = 3                // 16 kHz to 48 kHz
	taps  = 72               // of the low-pass at 48 kHz
	cut   = 7600.0           // Hz; half of the amplitude is left here
	phase = taps / upBy      // taps that fall on samples at 16 kHz
	dense = hear.Rate * upBy // samples a second between the resamplers
)

// lowpass is a sinc cut off by a Blackman window, with a sum of 1.
var lowpass = func() (h [taps]float64) {
	var sum float64
	for i := range h {
		x := float64(i) - (taps-1)/2.0
		window := 0.42 - 0.5*math.Cos(2*math.Pi*float64(i)/(taps-1)) + 0.08*math.Cos(4*math.Pi*float64(i)/(taps-1))
		h[i] = math.Sin(2*math.Pi*cut/dense*x) / (math.Pi * x) * window // x is never 0: taps is even
		sum += h[i]
	}
	for i := range h {
		h[i] /= sum
	}
	return h
}()

// upsampler makes three samples of each. It keeps the last sound that its filter still needs.
type upsampler struct {
	past [phase - 1 + hear.Frame]float64
}

// frame fills out, three times as long as in, which has [hear.Frame] samples.
func (u *upsampler) frame(in, out []float64) {
	copy(u.past[phase-1:], in)
	for n := range in {
		window := u.past[n : n+phase] // its last is in[n]
		for j := range upBy {
			var sum float64
			for k, s := range window {
				sum += lowpass[upBy*(phase-1-k)+j] * s
			}
			out[upBy*n+j] = upBy * sum
		}
	}
	copy(u.past[:], u.past[hear.Frame:])
}

// downsampler leaves one of three samples.
type downsampler struct {
	past [taps - upBy + wide]float64
}

// frame fills out, a third as long as in. Of each three it computes the last, so that both
// resamplers together are late by a whole number of samples: (71 - 2) / 3 = 23.
func (d *downsampler) frame(in, out []float64) {
	copy(d.past[taps-upBy:], in)
	for n := range out {
		var sum float64
		for k, s := range d.past[upBy*n : upBy*n+taps] {
			sum += lowpass[k] * s // the filter is symmetric
		}
		out[n] = sum
	}
	copy(d.past[:], d.past[wide:])
}
