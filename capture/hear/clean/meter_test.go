package clean_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"readback/capture/hear"
	"readback/capture/hear/clean"
)

// tones adds sines, given as pairs of frequency and peak.
func tones(samples int, pairs ...float64) []int16 {
	out := make([]int16, samples)
	for i := range out {
		var v float64
		for k := 0; k < len(pairs); k += 2 {
			v += pairs[k+1] * math.Sin(2*math.Pi*pairs[k]*float64(i)/hear.Rate)
		}
		out[i] = int16(min(max(v, math.MinInt16), math.MaxInt16))
	}
	return out
}

func metered(voice float64, m *clean.Meter, pcm []int16) *clean.Meter {
	for at := 0; at+hear.Frame <= len(pcm); at += hear.Frame {
		m.Add(pcm[at:at+hear.Frame], voice)
	}
	return m
}

func near(t *testing.T, what string, got, want, by float64) {
	t.Helper()
	if !(math.Abs(got-want) <= by) {
		t.Errorf("%s is %v, want %v within %v", what, got, want, by)
	}
}

func TestLevels(t *testing.T) {
	var m clean.Meter
	near(t, "the level before any sound", m.Level(), -100, 0)
	near(t, "the noise before any sound", m.Noise(), -100, 0)
	near(t, "the speech before any sound", m.Speech(), -100, 0)
	metered(0, &m, noise(1, 2*hear.Rate, 32.768)) // -60 dB
	metered(0, &m, noise(1, hear.Rate/10, 3276.8))
	metered(1, &m, tones(hear.Rate, 1000, 4634)) // -20 dB
	near(t, "the level", m.Level(), -20, 0.1)
	near(t, "the speech", m.Speech(), -20, 0.1)
	near(t, "the noise with a bang in it", m.Noise(), -60, 1)
	near(t, "the clipped share", m.Clipped(), 0, 0)
	m.Reset()
	near(t, "the speech after Reset", m.Speech(), -100, 0)
	near(t, "the level of a constant", metered(0, &m, make([]int16, hear.Frame)).Level(), -100, 0)
}

func TestHumShare(t *testing.T) {
	tests := []struct {
		name  string
		pcm   []int16
		voice float64
		share float64
		mains int
		by    float64
	}{
		{"the mains in Europe", tones(2*hear.Rate, 50, 3000, 100, 1000, 150, 1000), 0, 1, 50, 0.01},
		{"the mains in America", tones(2*hear.Rate, 60, 1000, 120, 3000), 0, 1, 60, 0.01},
		{"the mains a little off", tones(2*hear.Rate, 49.9, 3000, 99.8, 1000), 0, 1, 50, 0.02},
		{"half hum, half whistle", tones(2*hear.Rate, 50, 1000, 1234, 1000), 0, 0.5, 50, 0.01},
		{"a motor's tone", tones(2*hear.Rate, 24.3, 3000, 975, 3000), 0, 0, 50, 0.02},
		{"hiss", noise(2, 4*hear.Rate, 1000), 0, 0, 50, 0.05},
		{"a deep voice at twice the mains", tones(2*hear.Rate, 100, 3000, 200, 3000), 0.9, 0, 50, 0},
		{"silence", make([]int16, hear.Rate), 0, 0, 50, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			share, mains := metered(tt.voice, new(clean.Meter), tt.pcm).Hum()
			near(t, "the share", share, tt.share, tt.by)
			if tt.share > 0 && mains != tt.mains {
				t.Errorf("the mains have %d Hz, want %d", mains, tt.mains)
			}
		})
	}
}

func faults(found []clean.Finding) string {
	var names []string
	for _, f := range found {
		names = append(names, string(f.Fault))
	}
	return strings.Join(names, " ")
}

func TestFindings(t *testing.T) {
	const s = hear.Rate
	speech := func(level float64) []int16 { return tones(3*s, 300, level, 700, level/2) }
	tests := []struct {
		name         string
		still, voice []int16
		want         string
	}{
		{"all is well", noise(1, 5*s, 30), speech(6000), ""},
		{"a second of sound", nil, speech(6000)[:s], "short"},
		{"muted", make([]int16, 5*s), nil, "no_signal"},
		{"muted, with the converter's own noise", noise(1, 5*s, 0.7), nil, "no_signal"},
		{"nobody speaks", noise(1, 5*s, 30), nil, "no_voice"},
		{"far away", noise(1, 5*s, 10), speech(200), "quiet"},
		{"far away in a loud shop", noise(1, 5*s, 150), speech(200), "quiet noisy"},
		{"too close", noise(1, 5*s, 30), speech(40000), "clipped"},
		{"a bad cable", tones(5*s, 50, 300, 100, 100, 150, 200), speech(6000), "hum"},
		{"hum that nobody can hear", tones(5*s, 50, 20), speech(6000), ""},
		{"a bad cable, and far away", tones(5*s, 60, 300), speech(200), "hum quiet noisy"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			found := metered(1, metered(0, new(clean.Meter), tt.still), tt.voice).Findings()
			if got := faults(found); got != tt.want {
				t.Errorf("found %q, want %q", got, tt.want)
			}
			for _, f := range found {
				if len(f.Wrong) < 15 || len(f.Mend) < 15 {
					t.Errorf("%+v does not say what is wrong and what to do", f)
				}
			}
		})
	}
}

// TestMeterTakesAnything adds any frames of any length with any voice values.
func TestMeterTakesAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var m clean.Meter
		for range rapid.IntRange(0, 60).Draw(t, "frames") {
			n := rapid.SampledFrom([]int{hear.Frame, hear.Frame, hear.Frame, 0, 1, 320}).Draw(t, "length")
			seed := rapid.Uint64().Draw(t, "seed")
			voice := rapid.OneOf(rapid.Just(0.0), rapid.Float64(), rapid.Just(math.NaN())).Draw(t, "voice")
			m.Add(noise(seed, n, rapid.Float64Range(0, 60000).Draw(t, "level")), voice)
		}
		share, _ := m.Hum()
		for what, v := range map[string]float64{"level": m.Level(), "speech": m.Speech(), "noise": m.Noise()} {
			if !(v >= -100 && v <= 0) {
				t.Fatalf("%s is %v dB", what, v)
			}
		}
		if c := m.Clipped(); !(share >= 0 && share <= 1) || !(c >= 0 && c <= 1) {
			t.Fatalf("hum %v, clipped %v", share, c)
		}
		m.Findings()
	})
}
