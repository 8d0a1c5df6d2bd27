package endpoint_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"readback/capture/hear"
	"readback/capture/hear/endpoint"
)

func TestSpan(t *testing.T) {
	const f = hear.Frame
	at := func(frames int, voiced ...int) []float64 {
		v := make([]float64, frames)
		for _, i := range voiced {
			v[i] = 0.9
		}
		return v
	}
	sound := func(samples int, loud ...int) []int16 {
		pcm := make([]int16, samples)
		for i := range pcm {
			pcm[i] = int16(20 * (i%2*2 - 1))
			if slices.Contains(loud, i/f) {
				pcm[i] *= 20
			}
		}
		return pcm
	}
	tests := []struct {
		name     string
		pcm      []int16
		voices   []float64
		from, to int
	}{
		{"120 ms before and 60 behind", sound(100 * f), at(100, 30, 31, 50), 18 * f, 57 * f},
		{"no more than there is", sound(40 * f), at(40, 2, 38), 0, 40 * f},
		{"nobody speaks", sound(40*f, 10, 11, 12), at(40), 0, 0},
		{"no sound", nil, nil, 0, 0},
		{"the last frame is not whole", sound(10*f + 7), at(11, 10), 0, 10*f + 7},
		{"more voice values than sound", sound(10 * f), at(30, 29), 0, 0},
		{"a hiss and a stop before the voice", sound(100*f, 30, 31, 32, 33), at(100, 40, 41), 24 * f, 48 * f},
		{"a hiss after it", sound(100*f, 45, 46, 47), at(100, 40, 41), 28 * f, 54 * f},
		{"a click is no hiss", sound(100*f, 30, 33, 45), at(100, 40, 41), 28 * f, 48 * f},
		{"a bang far away", sound(100*f, 10, 11, 12, 13, 70, 71, 72), at(100, 40, 41), 28 * f, 48 * f},
		{"it is loud all the time", sound(50*f, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13), at(14, 9), 0, 16 * f},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if from, to := endpoint.Span(tt.pcm, tt.voices); from != tt.from || to != tt.to {
				t.Errorf("Span = %d, %d, want %d, %d", from, to, tt.from, tt.to)
			}
		})
	}
}

// TestTrimKeepsEveryVoicedFrame holds for any sound and voice values, of whatever lengths.
func TestTrimKeepsEveryVoicedFrame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pcm := rapid.SliceOfN(rapid.Int16(), 0, 4000).Draw(t, "pcm")
		v := rapid.SliceOfN(rapid.Float64Range(0, 1), 0, 40).Draw(t, "voices")
		from, to := endpoint.Span(pcm, v)
		if from < 0 || from > to || to > len(pcm) {
			t.Fatalf("Span(%d) = %d, %d", len(pcm), from, to)
		}
		for i, value := range v {
			if begin := i * hear.Frame; value > 0.5 && begin+hear.Frame <= len(pcm) && (begin < from || begin+hear.Frame > to) {
				t.Fatalf("frame %d has voice %v and is outside %d to %d", i, value, from, to)
			}
		}
		part := endpoint.Trim(pcm, v)
		if len(part) != to-from || cap(part) != len(part) {
			t.Fatalf("Trim gives %d samples (room for %d), want %d", len(part), cap(part), to-from)
		}
	})
}
