package wav_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"strings"
	"testing"

	"readback/capture/hear"
	"readback/capture/hear/wav"
)

// file writes a WAV file with the samples of its channels in turn.
func file(kind, channels, rate, bits int, pcm []int16) []byte {
	var b bytes.Buffer
	put := func(x any) { _ = binary.Write(&b, binary.LittleEndian, x) }
	b.WriteString("RIFF")
	put(uint32(36 + 2*len(pcm)))
	b.WriteString("WAVEfmt ")
	put(uint32(16))
	put([]uint16{uint16(kind), uint16(channels)})
	put([]uint32{uint32(rate), uint32(rate * channels * 2)})
	put([]uint16{uint16(channels * 2), uint16(bits)})
	b.WriteString("data")
	put(uint32(2 * len(pcm)))
	put(pcm)
	return b.Bytes()
}

func tone(rate, hertz, n int) []int16 {
	pcm := make([]int16, n)
	for i := range pcm {
		pcm[i] = int16(10000 * math.Sin(2*math.Pi*float64(hertz)*float64(i)/float64(rate)))
	}
	return pcm
}

// A tone is the same tone at another rate, and one that the lower rate cannot hold is gone.
func TestResample(t *testing.T) {
	for _, rate := range []int{8000, 11025, 22050, 32000, 44100, 48000} {
		got, err := wav.Read(bytes.NewReader(file(1, 1, rate, 16, tone(rate, 440, rate))))
		if err != nil || abs(len(got)-hear.Rate) > 2 {
			t.Fatalf("a second at %d has %d samples, error %v", rate, len(got), err)
		}
		want := tone(hear.Rate, 440, hear.Rate)
		for i := 400; i < len(got)-400; i++ {
			if abs(int(got[i])-int(want[i])) > 150 {
				t.Fatalf("%d Hz: sample %d is %d, want %d", rate, i, got[i], want[i])
			}
		}
	}
	got := wav.Resample(tone(48000, 12000, 48000), 48000)
	for i := 400; i < len(got)-400; i++ {
		if abs(int(got[i])) > 100 {
			t.Fatalf("12 kHz at 16 kHz: sample %d is %d", i, got[i])
		}
	}
}

func abs(x int) int { return max(x, -x) }

func TestRead(t *testing.T) {
	two := file(1, 2, hear.Rate, 16, []int16{100, 300, -100, -300})
	if got, err := wav.Read(bytes.NewReader(two)); err != nil || len(got) != 2 || got[0] != 200 || got[1] != -200 {
		t.Errorf("two channels: %v, error %v", got, err)
	}
	whole := file(1, 1, hear.Rate, 16, []int16{1, 2, 3})
	if got, err := wav.Read(bytes.NewReader(whole[:len(whole)-2])); err != nil || len(got) != 2 {
		t.Errorf("a file that was cut off: %v, error %v", got, err)
	}
	for _, tt := range []struct {
		name string
		data []byte
		say  string
	}{
		{"nothing", nil, "does not begin"},
		{"a text", []byte("collar nut stage three"), "does not begin"},
		{"compressed", file(85, 1, hear.Rate, 16, nil), "format 85"},
		{"8 bits", file(1, 1, hear.Rate, 8, nil), "8 bits"},
		{"5 channels", file(1, 5, hear.Rate, 16, nil), "5 channels"},
		{"no rate", file(1, 1, 0, 16, nil), "0 samples a second"},
		{"a head alone", whole[:36], "no samples"},
		{"half a head", whole[:20], "ends in the middle"},
	} {
		if _, err := wav.Read(bytes.NewReader(tt.data)); !errors.Is(err, wav.ErrFormat) || !strings.Contains(err.Error(), tt.say) {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(file(1, 2, 44100, 16, tone(44100, 440, 200)))
	f.Add(file(1, 1, 8000, 16, []int16{1}))
	f.Fuzz(func(_ *testing.T, data []byte) {
		if len(data) < 1<<14 {
			_, _ = wav.Read(bytes.NewReader(data)) // must end
		}
	})
}
