package compensate_test

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"readback/capture/hear"
	"readback/capture/hear/compensate"
	"readback/capture/hear/speechtest"
	"readback/capture/hear/sphinx"
)

func prior(tb testing.TB) *compensate.Prior {
	tb.Helper()
	speechtest.Need(tb)
	p, err := compensate.Load(sphinx.Acoustic(""))
	if err != nil {
		tb.Fatal(err)
	}
	return p
}

// newFront is the recogniser's own front end.
func newFront(t *testing.T) *sphinx.Front {
	t.Helper()
	sphinx.Quiet()
	dict := filepath.Join(t.TempDir(), "words.dict")
	f, err := os.Create(dict)
	if err != nil {
		t.Fatal(err)
	}
	if err := sphinx.WriteDict(f, speechtest.Words(t).Sounds); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	d, err := sphinx.New(sphinx.Config{Dict: dict, Stream: true})
	if err != nil {
		t.Fatal(err)
	}
	front, err := d.NewFront()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		front.Close()
		_ = d.Close()
	})
	return front
}

func cepstra(t *testing.T, f *sphinx.Front, pcm []int16) [][]float32 {
	t.Helper()
	if err := f.Begin(); err != nil {
		t.Fatal(err)
	}
	rows, err := f.Add(pcm)
	if err != nil {
		t.Fatal(err)
	}
	return append(rows, f.End()...)
}

// white is noise so many dB below a sound's own power.
func white(pcm []int16, snr float64) []float64 {
	power := 0.0
	for _, x := range pcm {
		power += float64(x) * float64(x)
	}
	r := rand.New(rand.NewPCG(7, 7))
	out := make([]float64, len(pcm))
	for i := range out {
		out[i] = r.NormFloat64() * math.Sqrt(power/float64(len(pcm))/math.Pow(10, snr/10))
	}
	return out
}

func mixed(pcm []int16, noise []float64) []int16 {
	out := make([]int16, len(pcm))
	for i, x := range pcm {
		out[i] = int16(math.Round(float64(x) + noise[i]))
	}
	return out
}

// apart is the mean square between two rows of cepstra, each without its mean, every value by its spread in
// the first.
func apart(a, b [][]float32) float64 {
	var sum float64
	for i := range a[0] {
		ma, mb := meanAt(a, i), meanAt(b, i)
		spread, far := 0.0, 0.0
		for k := range a {
			x, y := float64(a[k][i])-ma, float64(b[k][i])-mb
			spread, far = spread+x*x, far+(x-y)*(x-y)
		}
		sum += far / spread / float64(len(a[0]))
	}
	return sum
}

func meanAt(rows [][]float32, i int) (sum float64) {
	for _, r := range rows {
		sum += float64(r[i]) / float64(len(rows))
	}
	return sum
}

// Noisy speech comes nearer to what the same speech is without its noise, and speech without noise
// stays as it is.
func TestNoiseIsTakenOut(t *testing.T) {
	p, f := prior(t), newFront(t)
	const before = hear.Rate * 3 / 10 / hear.Frame // of silence, as speechtest.Say has it
	for _, voice := range speechtest.Voices {
		for _, text := range speechtest.Sentences[:3] {
			said := speechtest.Say(t, voice, text)
			clean := cepstra(t, f, said)
			// The silence round the words, which clean speech has hardly any sound in, is a part of what stays apart.
			for snr, nearer := range map[float64]float64{20: 0.04, 10: 0.08, 60: 0} {
				noisy := cepstra(t, f, mixed(said, white(said, snr)))
				far := apart(clean[before:], noisy[before:])
				c, err := compensate.New(p, noisy[:before-3], noisy[before:before+80])
				if err != nil {
					t.Fatal(err)
				}
				for _, r := range noisy {
					c.Clean(r)
				}
				if now := apart(clean[before:], noisy[before:]); now > far-nearer {
					t.Errorf("%s says %q, noise %v dB below: apart by %.3f, and %.3f when it is taken out", voice, text, snr, far, now)
				}
			}
		}
	}
}

// The recogniser's front end makes cepstra as it is assumed here: twice the sound is four times the power in each of 25
// filters, which is log 4 times their root in the first value of an orthonormal transform, and nothing in the others.
func TestCepstraAreOrthonormal(t *testing.T) {
	f := newFront(t)
	soft := speechtest.Say(t, "rms", speechtest.Sentences[0])
	loud := make([]int16, len(soft))
	for i := range soft {
		soft[i] /= 4
	}
	for i, x := range soft {
		loud[i] = 2 * x
	}
	a, b := cepstra(t, f, soft), cepstra(t, f, loud)
	for k := 50; k < 150; k++ {
		for i := range a[k] {
			want := 0.0
			if i == 0 {
				want = math.Log(4) * 5
			}
			if got := float64(b[k][i] - a[k][i]); math.Abs(got-want) > 0.02 {
				t.Fatalf("value %d of cepstrum %d differs by %v, not %v", i, k, got, want)
			}
		}
	}
}

func TestOddCepstra(t *testing.T) {
	p := prior(t)
	row := func(x float32) [][]float32 { return [][]float32{{x, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1}} }
	for name, tt := range map[string]struct{ before, speech [][]float32 }{
		"nothing":             {},
		"no speech":           {before: row(1)},
		"a cepstrum too long": {speech: [][]float32{make([]float32, 14)}},
		"no number":           {speech: row(float32(math.NaN()))},
		"a number beyond all": {speech: row(3e38)},
		"no end":              {before: row(float32(math.Inf(-1))), speech: row(1)},
	} {
		if _, err := compensate.New(p, tt.before, tt.speech); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
	for name, tt := range map[string]struct{ before, speech [][]float32 }{
		"one":              {speech: row(1)},
		"all alike":        {before: append(row(1), row(1)...), speech: append(row(1), row(1)...)},
		"noise far louder": {before: row(1e3), speech: row(1)},
		"noise far softer": {before: row(-1e3), speech: row(1)},
	} {
		c, err := compensate.New(p, tt.before, tt.speech)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		out := row(1)
		c.Clean(out[0])
		for _, x := range out[0] {
			if math.IsNaN(float64(x)) || math.IsInf(float64(x), 0) {
				t.Errorf("%s: %v", name, out)
				break
			}
		}
	}
}
