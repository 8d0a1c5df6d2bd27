package clean_test

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"readback/capture/hear"
	"readback/capture/hear/clean"
	"readback/capture/hear/endpoint"
)

// need skips where a program is missing; in CI that is a failure.
func need(t *testing.T, programs ...string) {
	t.Helper()
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatalf("%s is missing: apt-get install %s", p, p)
			}
			t.Skipf("%s is not installed (apt-get install %s)", p, p)
		}
	}
}

func run(t *testing.T, name string, args ...string) {
	t.Helper()
	if out, err := exec.CommandContext(t.Context(), name, args...).CombinedOutput(); err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, out)
	}
}

// raw reads samples without a header.
func raw(t *testing.T, path string) []int16 {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	pcm := make([]int16, len(b)/2)
	for i := range pcm {
		pcm[i] = int16(binary.LittleEndian.Uint16(b[2*i:]))
	}
	return pcm
}

// spoken has a voice say the text, at half of full scale, with 0.8 s of silence before and 1 s
// after.
func spoken(t *testing.T, voice, text string) []int16 {
	t.Helper()
	dir := t.TempDir()
	wav, out := filepath.Join(dir, "say.wav"), filepath.Join(dir, "say.raw")
	run(t, "flite", "-voice", voice, "-t", text, "-o", wav)
	run(t, "sox", "-R", wav, "-t", "raw", "-r", "16000", "-c", "1", "-b", "16", "-e", "signed", out, "norm", "-6", "pad", "0.8", "1")
	return raw(t, out)
}

// noises makes 8 s of the noises of a shop.
func noises(t *testing.T) map[string][]int16 {
	t.Helper()
	made := map[string][]int16{}
	for name, effects := range map[string]string{
		"white": "synth 8 whitenoise",
		"pink":  "synth 8 pinknoise",
		"hum":   "synth 8 sine 50 synth 8 sine mix 100 synth 8 sawtooth mix 150 synth 8 brownnoise mix tremolo 3 20",
		"hits":  "synth 0.09 whitenoise synth 0.09 sine mix 2300 fade l 0.001 0.09 0.085 pad 0 0.31 repeat 19",
	} {
		out := filepath.Join(t.TempDir(), name+".raw")
		run(t, "sox", append([]string{"-R", "-n", "-r", "16000", "-c", "1", "-b", "16", "-e", "signed", "-t", "raw", out},
			append(strings.Fields(effects), "norm", "-12")...)...)
		made[name] = raw(t, out)
	}
	return made
}

func level(pcm []int16) float64 {
	var sum float64
	for _, s := range pcm {
		sum += float64(s) * float64(s)
	}
	return 10 * math.Log10(sum/float64(len(pcm))/(1<<30)+1e-10)
}

// speech is where the sound of a clean note is, in whole frames: where it is over -45 dB.
func speech(pcm []int16) (from, to int) {
	from = -1
	for at := 0; at+hear.Frame <= len(pcm); at += hear.Frame {
		if level(pcm[at:at+hear.Frame]) > -45 {
			if from < 0 {
				from = at
			}
			to = at + hear.Frame
		}
	}
	return from, to
}

// under lays noise under a note, ratio dB below its speech, after 300 ms of the noise alone.
func under(note, noise []int16, ratio float64) []int16 {
	from, to := speech(note)
	gain := math.Pow(10, (level(note[from:to])-ratio-level(noise))/20)
	out := make([]int16, primer+len(note))
	for i := range out {
		v := gain * float64(noise[i%len(noise)])
		if i >= primer {
			v += float64(note[i-primer])
		}
		out[i] = int16(min(max(v, math.MinInt16), math.MaxInt16))
	}
	return out
}

const primer = hear.Rate * 3 / 10

// likeness is by how many dB the part of got that is want stands above the rest of it.
func likeness(want, got []int16) float64 {
	var ww, wg, gg float64
	for i := range want {
		w, g := float64(want[i]), float64(got[i])
		ww, wg, gg = ww+w*w, wg+w*g, gg+g*g
	}
	same := wg * wg / ww
	return 10 * math.Log10(same/(gg-same))
}

// ends are what a detector made of a note, in ms.
type ends struct {
	onset, delay float64 // of the voice value after the sound; of the decision after the last sound
	notes        int
	begins       bool // the note begins before its speech
	cut          bool // its end was decided before its last sound
}

// endpoints runs a detector over the voice values of a stream, late as they are.
func endpoints(t *testing.T, voices []float64, from, to int) (e ends) {
	t.Helper()
	d, err := endpoint.New(endpoint.Config{})
	if err != nil {
		t.Fatal(err)
	}
	ms := func(samples int) float64 { return float64(samples) / hear.Rate * 1000 }
	e.onset, e.delay = math.NaN(), math.NaN()
	for i, v := range voices {
		if v > endpoint.Threshold && math.IsNaN(e.onset) {
			e.onset = ms(i*hear.Frame - from)
		}
		if d.Frame(v) == hear.Ended {
			e.notes++
			e.delay = ms(d.At() - to)
			e.begins = e.begins || d.Note().From <= from
			e.cut = e.cut || d.At() < to
		}
	}
	return e
}

// TestSpeechInNoise cleans spoken notes with the noises of a shop under them, 10 dB below: the
// noise must fall, the speech stay, and the note's ends be found. -v prints the figures.
func TestSpeechInNoise(t *testing.T) {
	need(t, "flite", "sox")
	under10 := noises(t)
	under10["clean"] = make([]int16, hear.Rate)
	var notes [][]int16
	for _, voice := range []string{"slt", "rms"} {
		for _, text := range []string{"collar nut stage one forty eight newton metres", "build spacer eighty eight point five millimetres"} {
			notes = append(notes, spoken(t, voice, text))
		}
	}
	least := map[string]float64{"white": 10, "pink": 10, "hum": 10, "hits": 4} // dB by which noise falls
	for _, name := range []string{"clean", "white", "pink", "hum", "hits"} {
		t.Run(name, func(t *testing.T) {
			c := cleaner(t, clean.Mix)
			var fall, kept, gain float64
			var found []string
			for _, note := range notes {
				if err := c.Reset(t.Context()); err != nil {
					t.Fatal(err)
				}
				in := under(note, under10[name], 10)
				if err := c.Prime(in[:primer]); err != nil {
					t.Fatal(err)
				}
				in = in[primer:]
				late, voices := through(t, c, in)
				out, in := late[clean.Delay:], in[:len(in)-clean.Delay]
				from, to := speech(note)
				before := [2]int{hear.Rate / 10, from - hear.Rate/10}
				n := float64(len(notes))
				fall += (level(in[before[0]:before[1]]) - level(out[before[0]:before[1]])) / n
				kept += (level(out[from:to]) - level(note[from:to])) / n
				gain += (likeness(note[from:to], out[from:to]) - likeness(note[from:to], in[from:to])) / n
				e := endpoints(t, voices, from, to)
				found = append(found, fmt.Sprintf("%+.0f/%.0f", e.onset, e.delay))
				if e.notes != 1 && name != "hits" || e.notes == 0 {
					t.Errorf("%d notes were found in one", e.notes)
				}
				if !e.begins || e.cut {
					t.Errorf("the note's ends cut its speech off: %+v", e)
				}
				if !(e.delay > 500 && e.delay < 850) {
					t.Errorf("the end was decided %v ms after the last sound", e.delay)
				}
			}
			t.Logf("noise falls by %.1f dB, speech changes by %+.1f dB, is %+.1f dB nearer to the clean sound; onset/end in ms: %s",
				fall, kept, gain, strings.Join(found, " "))
			if math.Abs(kept) > 3 {
				t.Errorf("the speech changes by %.1f dB", kept)
			}
			if name != "clean" && (fall < least[name] || gain < 0) {
				t.Errorf("the noise falls by %.1f dB, want %v; the speech is %+.1f dB nearer to the clean sound", fall, least[name], gain)
			}
		})
	}
}

// TestNoiseAloneIsNoNote listens to noises for a while: no note may begin.
func TestNoiseAloneIsNoNote(t *testing.T) {
	need(t, "sox")
	seconds := 8
	if os.Getenv("READBACK_LONG") != "" {
		seconds = 60
	}
	for name, noise := range noises(t) {
		c := cleaner(t, clean.Mix)
		d, err := endpoint.New(endpoint.Config{})
		if err != nil {
			t.Fatal(err)
		}
		over := 0
		_, voices := through(t, c, slices.Repeat(noise, seconds/8))
		for i, v := range voices {
			if v > endpoint.Threshold {
				over++
			}
			if d.Frame(v) == hear.Speaking {
				t.Errorf("%s: a note begins after %d ms", name, 10*i)
				break
			}
		}
		t.Logf("%s: %d of %d frames pass for a voice", name, over, len(voices))
	}
}

// TestTrimmedNoteIsWhole cuts notes as with a held switch.
func TestTrimmedNoteIsWhole(t *testing.T) {
	need(t, "flite", "sox")
	noise := noises(t)["pink"]
	c := cleaner(t, clean.Mix)
	for _, voice := range []string{"slt", "awb"} {
		note := spoken(t, voice, "stage four collar nut fifty one")
		from, to := speech(note)
		for _, ratio := range []float64{60, 20, 10} {
			in := under(note, noise, ratio)[primer:]
			_, voices, err := c.Note(t.Context(), in)
			if err != nil {
				t.Fatal(err)
			}
			first, last := endpoint.Span(in, voices)
			t.Logf("%s at %v dB: %d ms kept before the speech, %d after", voice, ratio, (from-first)/16, (last-to)/16)
			if first > from || last < to {
				t.Errorf("%s at %v dB: %d to %d is kept, the speech is at %d to %d", voice, ratio, first, last, from, to)
			}
			if from-first > hear.Rate/4 || last-to > hear.Rate/4 {
				t.Errorf("%s at %v dB: the trimmed note has over 250 ms around its speech", voice, ratio)
			}
		}
	}
}

// TestMicrophoneCheck runs the check over one sentence as four microphones would give it.
func TestMicrophoneCheck(t *testing.T) {
	need(t, "flite", "sox")
	note := spoken(t, "slt", "stage one collar nut forty eight newton metres, and the build spacer reads eighty eight point five")
	scaled := func(gain float64) []int16 {
		out := slices.Clone(note)
		for i, s := range out {
			out[i] = int16(min(max(gain*float64(s), math.MinInt16), math.MaxInt16))
		}
		return out
	}
	with := func(pcm, more []int16) []int16 {
		for i := range pcm {
			pcm[i] = int16(min(max(int(pcm[i])+int(more[i]), math.MinInt16), math.MaxInt16))
		}
		return pcm
	}
	n := len(note)
	tests := []struct {
		name string
		pcm  []int16
		want string
	}{
		{"a good one", with(scaled(1), noise(1, n, 20)), ""},
		{"turned down", with(scaled(0.02), noise(1, n, 2)), "quiet"},
		{"turned up too far", with(scaled(8), noise(1, n, 30)), "clipped"},
		{"a bad cable", with(scaled(1), tones(n, 50, 300, 100, 200, 150, 200, 250, 100)), "hum"},
		{"unplugged", make([]int16, n), "no_signal"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := cleaner(t, clean.Mix)
			var m clean.Meter
			_, voices := through(t, c, tt.pcm)
			for i, v := range voices {
				m.Add(tt.pcm[i*hear.Frame:(i+1)*hear.Frame], v)
			}
			share, mains := m.Hum()
			t.Logf("speech %.0f dB, noise %.0f dB, clipped %.2f %%, hum %.0f %% of %d Hz", m.Speech(), m.Noise(), 100*m.Clipped(), 100*share, mains)
			if got := faults(m.Findings()); got != tt.want {
				t.Errorf("found %q, want %q", got, tt.want)
			}
		})
	}
}
