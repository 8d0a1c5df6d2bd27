package trial

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"

	"readback/capture/hear"
	"readback/capture/hear/wav"
)

// Voices are flite's, of Debian's package flite.
var Voices = []string{"slt", "awb", "rms", "kal16"}

// Noises are what a shop sounds like, beside people who talk: see [Babble].
var Noises = []string{"hum", "impacts", "pump", "hiss", "mixed"}

// Speak returns a text in a voice, with 0.3 s of silence before it and 0.8 s behind.
func Speak(ctx context.Context, dir, text, voice string) ([]int16, error) {
	f, err := os.CreateTemp(dir, "speech-*.wav")
	if err != nil {
		return nil, err
	}
	defer func() { _ = os.Remove(f.Name()) }() // the folder is a test's own
	if err := f.Close(); err != nil {
		return nil, err
	}
	if out, err := exec.CommandContext(ctx, "flite", "-voice", voice, "-t", text, "-o", f.Name()).CombinedOutput(); err != nil { //nolint:gosec // our own texts
		return nil, fmt.Errorf("flite: %w: %s", err, out)
	}
	r, err := os.Open(filepath.Clean(f.Name()))
	if err != nil {
		return nil, err
	}
	pcm, err := wav.Read(r)
	err = errors.Join(err, r.Close())
	if err != nil {
		return nil, err
	}
	out := make([]int16, hear.Rate*3/10, len(pcm)+hear.Rate*11/10)
	return append(append(out, pcm...), make([]int16, hear.Rate*8/10)...), nil
}

// Babble is other people talking: three voices over one another.
func Babble(ctx context.Context, dir string, samples int, seed uint64) ([]float64, error) {
	r := rand.New(rand.NewPCG(seed, 5)) //nolint:gosec // repeatable is what it has to be
	out := make([]float64, samples)
	for _, voice := range Voices[:3] {
		for at := 0; at < samples; {
			pcm, err := Speak(ctx, dir, Chatter[r.IntN(len(Chatter))], voice)
			if err != nil {
				return nil, err
			}
			pcm = pcm[hear.Rate*3/10 : len(pcm)-hear.Rate*8/10]
			for i, x := range pcm {
				if at+i < samples {
					out[at+i] += float64(x)
				}
			}
			at += len(pcm) + r.IntN(hear.Rate/4)
		}
	}
	return out, nil
}

// Noise makes so many samples of a noise other than babble.
func Noise(kind string, samples int, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 11)) //nolint:gosec // repeatable is what it has to be
	out := make([]float64, samples)
	add := func(kind string, gain float64) {
		for i, x := range Noise(kind, samples, seed+1) {
			out[i] += gain * x
		}
	}
	switch kind {
	case "hum": // mains and its harmonics, with a slow beat
		for i := range out {
			t := float64(i) / hear.Rate
			for h, gain := range []float64{1, 0.6, 0.5, 0.3, 0.2, 0.15} {
				out[i] += gain * math.Sin(2*math.Pi*50*float64(h+1)*t)
			}
			out[i] *= 1 + 0.3*math.Sin(2*math.Pi*0.7*t)
		}
	case "impacts": // hammer and ratchet: bursts that ring
		for at := 0; at < samples; at += hear.Rate/20 + r.IntN(hear.Rate) {
			loud, pitch := 0.3+r.Float64(), 1500+1500*r.Float64()
			for i := range min(hear.Rate/8, samples-at) {
				fade := math.Exp(-float64(i) / 320)
				out[at+i] += loud * fade * (math.Sin(2*math.Pi*pitch*float64(i)/hear.Rate) + r.NormFloat64()/2)
			}
		}
	case "pump": // a motor, its blades, and water
		low := 0.0
		for i := range out {
			t := float64(i) / hear.Rate
			low += 0.08 * (r.NormFloat64() - low)
			out[i] = 3*low*(1+0.4*math.Sin(2*math.Pi*24.3*t)) + 0.3*math.Sin(2*math.Pi*145.8*t) + 0.05*r.NormFloat64()
		}
	case "hiss": // an air leak
		for i := range out {
			out[i] = r.NormFloat64()
		}
	case "mixed":
		add("hum", 0.4)
		add("impacts", 1.2)
		add("pump", 0.8)
		add("hiss", 0.15)
	}
	return out
}

// Bang makes what is loud and no speech: a dropped tool, a cough, a clap, a blast of air, blows of a
// hammer.
func Bang(seed uint64) []int16 {
	r := rand.New(rand.NewPCG(seed, 17)) //nolint:gosec // repeatable is what it has to be
	out := make([]float64, hear.Rate*2)
	at := hear.Rate/2 + r.IntN(hear.Rate/4)
	switch seed % 5 {
	case 0: // a dropped tool rings, and bounces
		for _, loud := range []float64{1, 0.5, 0.25} {
			ring(out[at:], loud, 900+2500*r.Float64(), 1500, r)
			at += hear.Rate/12 + r.IntN(hear.Rate/8)
		}
	case 1: // a cough, or two
		for range 1 + r.IntN(2) {
			cough(out[at:], 90+80*r.Float64(), r)
			at += hear.Rate/3 + r.IntN(hear.Rate/5)
		}
	case 2: // clapped hands
		ring(out[at:], 1, 1100, 120, r)
	case 3: // a blast of air
		for i := range min(hear.Rate/4+r.IntN(hear.Rate/2), len(out)-at) {
			out[at+i] = 0.5 * r.NormFloat64()
		}
	case 4: // a hammer
		for range 2 + r.IntN(3) {
			ring(out[at:], 0.5+r.Float64()/2, 400+900*r.Float64(), 400, r)
			at += hear.Rate/5 + r.IntN(hear.Rate/10)
		}
	}
	pcm := make([]int16, len(out))
	for i, x := range out {
		pcm[i] = int16(min(max(9000*x+20*r.NormFloat64(), math.MinInt16), math.MaxInt16))
	}
	return pcm
}

// ring adds a blow that rings on.
func ring(out []float64, loud, pitch, fades float64, r *rand.Rand) {
	for i := range out {
		fade := math.Exp(-float64(i) / fades)
		t := float64(i) / hear.Rate
		out[i] += loud * fade * (0.6*math.Sin(2*math.Pi*pitch*t) + 0.3*math.Sin(2*math.Pi*2.76*pitch*t) + 0.5*math.Exp(-float64(i)/80)*r.NormFloat64())
	}
}

// cough adds a burst of breath through an open throat, with a voice at its end.
func cough(out []float64, pitch float64, r *rand.Rand) {
	var a, b float64 // a resonance of 700 Hz
	w, damp := 2*math.Pi*700/hear.Rate, 0.94
	for i := range min(hear.Rate*3/10, len(out)) {
		fade := math.Min(float64(i)/80, 1) * math.Exp(-float64(i)/1400)
		source := r.NormFloat64()
		if i > hear.Rate/8 {
			source = 0.4*source + 1.5*math.Pow(math.Max(math.Sin(2*math.Pi*pitch*float64(i)/hear.Rate), 0), 8)
		}
		a, b = 2*damp*math.Cos(w)*a-damp*damp*b+source, a
		out[i] += 0.25 * fade * a
	}
}

// Mix lays a noise over speech, so many dB below it. Speech is what is louder than a hundredth of its
// peak.
func Mix(pcm []int16, noise []float64, snr float64) []int16 {
	peak := 0.0
	for _, x := range pcm {
		peak = max(peak, math.Abs(float64(x)))
	}
	speech, n := 0.0, 0
	for _, x := range pcm {
		if y := float64(x); math.Abs(y) > peak/100 {
			speech, n = speech+y*y, n+1
		}
	}
	power := 0.0
	for i := range pcm {
		power += noise[i] * noise[i]
	}
	if n == 0 || power == 0 {
		return pcm
	}
	gain := math.Sqrt(speech / float64(n) / (power / float64(len(pcm))) / math.Pow(10, snr/10))
	out := make([]int16, len(pcm))
	for i, x := range pcm {
		out[i] = int16(min(max(float64(x)+gain*noise[i], math.MinInt16), math.MaxInt16))
	}
	return out
}
