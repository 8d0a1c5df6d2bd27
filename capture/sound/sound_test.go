package sound_test

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"readback/capture/evidence"
	"readback/capture/sound"
)

// A sound comes back as it was, to the last sample.
func TestFLACLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pcm := rapid.SliceOfN(rapid.Int16(), 16, 9000).Draw(t, "pcm")
		data, err := sound.Encode(pcm)
		if err != nil {
			t.Fatal(err)
		}
		back, err := sound.Decode(data)
		if err != nil || !slices.Equal(pcm, back) {
			t.Fatalf("%d samples came back as %d, error %v", len(pcm), len(back), err)
		}
	})
}

func TestEveryLengthComesBack(t *testing.T) {
	for _, n := range []int{16, 17, 4095, 4096, 4097, 4111, 4112, 8192, 8200} {
		data, err := sound.Encode(tone(n))
		if err != nil {
			t.Fatal(err)
		}
		if back, err := sound.Decode(data); err != nil || !slices.Equal(tone(n), back) {
			t.Errorf("%d samples came back as %d, error %v", n, len(back), err)
		}
	}
	if _, err := sound.Encode(tone(15)); err == nil {
		t.Error("15 samples are taken for a sound")
	}
}

func tone(n int) []int16 {
	pcm := make([]int16, n)
	for i := range pcm {
		pcm[i] = int16(8000 * math.Sin(float64(i)/9))
	}
	return pcm
}

func TestStore(t *testing.T) {
	dir := t.TempDir()
	s, err := sound.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	hash, err := s.Put(tone(16000))
	if err != nil {
		t.Fatal(err)
	}
	again, err := s.Put(tone(16000))
	if err != nil || again != hash {
		t.Errorf("the same sound is %s, error %v; first %s", again, err, hash)
	}
	data, err := s.Get(hash)
	if err != nil {
		t.Fatal(err)
	}
	if back, err := sound.Decode(data); err != nil || !slices.Equal(back, tone(16000)) {
		t.Errorf("it came back otherwise, error %v", err)
	}
	for range 2 {
		if err := s.Drop(hash); err != nil {
			t.Errorf("drop: %v", err)
		}
	}
	if _, err := s.Get(hash); !errors.Is(err, evidence.ErrGone) {
		t.Errorf("a sound that all have dropped: %v", err)
	}
}

func FuzzDecode(f *testing.F) {
	data, err := sound.Encode(tone(300))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte("fLaC"))
	f.Fuzz(func(_ *testing.T, data []byte) {
		if len(data) < 1<<16 {
			_, _ = sound.Decode(data) // must end, whatever it is given
		}
	})
}
