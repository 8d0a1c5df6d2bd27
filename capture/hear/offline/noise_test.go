package offline_test

import (
	"math"
	"os"
	"runtime"
	"testing"
	"time"

	"readback/capture/hear"
	"readback/capture/hear/offline"
	"readback/capture/hear/speechtest"
	"readback/capture/hear/trial"
)

// TestNoiseAlone leaves an open microphone with noise and with silence, as a page does: a note in which nobody spoke is
// begun anew after eight seconds. No words may come of it that pass for spoken to us, the memory stays flat, and who speaks
// then is heard. It is two minutes of each; with READBACK_LONG set ten minutes of noise and an hour of silence.
func TestNoiseAlone(t *testing.T) {
	const (
		one  = 8 * hear.Rate
		room = 32 // MiB by which a recogniser may differ from one note to the next: 10 were seen
	)
	noise, silence := 120*hear.Rate, 120*hear.Rate
	if os.Getenv("READBACK_LONG") != "" {
		noise, silence = 600*hear.Rate, 3600*hear.Rate
	}
	ear := open(t, newEngine(t, offline.Config{Write: time.Minute, End: time.Minute}), speechtest.Words(t))
	for _, tt := range []struct {
		name    string
		samples int
		noises  []string
	}{{"noise", noise, trial.Noises}, {"silence", silence, nil}} {
		var start, worker int
		for k := range tt.samples / one {
			pcm := make([]int16, one)
			if tt.noises != nil {
				for i, x := range trial.Noise(tt.noises[k%len(tt.noises)], one, uint64(k)) {
					pcm[i] = int16(3000 * x)
				}
			}
			heard, _, err := say(t.Context(), ear, pcm)
			if err != nil {
				t.Fatal(err)
			}
			if words := text(heard.Words); words != "" && heard.Gate >= leastGate {
				t.Errorf("%s %d: %q, gate %.1f", tt.name, k, words, heard.Gate)
			}
			if k == 2*len(trial.Noises) { // the decoders have the room that they need
				start, worker = heap(), resident(t, offline.Pid(ear))
			}
		}
		now, held := heap(), resident(t, offline.Pid(ear))
		t.Logf("%s, %d s: the server %d then %d MiB, the recogniser %d then %d", tt.name, tt.samples/hear.Rate, start, now, worker, held)
		if now > start+4 || held > worker+room {
			t.Errorf("%s: memory grew", tt.name)
		}
	}
	mustHear(t, ear, "slt", "yes")
}

// heap is what this process holds, in MiB.
func heap() int {
	var s runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&s)
	return int(s.HeapAlloc >> 20)
}

// TestABangIsNotDecoded: no path stands out in what is no speech, so that a decoder would be busy with it for seconds.
func TestABangIsNotDecoded(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	for seed := range uint64(5) {
		heard, _, err := say(t.Context(), ear, trial.Bang(seed))
		if err != nil {
			t.Fatal(err)
		}
		if cough := seed == 1; heard.Unvoiced == cough || !cough && (len(heard.Words)+len(heard.Plain) > 0 || !math.IsInf(heard.Gate, -1)) {
			t.Errorf("bang %d: %+v", seed, heard)
		}
	}
	mustHear(t, ear, "slt", "yes")
}
