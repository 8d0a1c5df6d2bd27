package trial_test

import (
	"slices"
	"testing"

	"golang.org/x/sync/errgroup"

	"readback/capture/hear"
	"readback/capture/hear/trial"
)

// condition is in what the notes are spoken: one of the noises after another, so many dB below the
// speech.
type condition struct {
	name   string
	noises []string
	snr    float64
	key    bool // held down while somebody speaks, and no longer
	open   bool // the microphone is, and nothing else says who is meant
}

// conditions are those of the table. Others talking is the worst of all noises, and stands apart.
var conditions = []condition{
	{name: "clean"},
	{name: "20 dB", noises: trial.Noises, snr: 20},
	{name: "10 dB", noises: trial.Noises, snr: 10},
	{name: "babble 20 dB", noises: []string{"babble"}, snr: 20, open: true},
	{name: "babble 10 dB", noises: []string{"babble"}, snr: 10, open: true},
	{name: "key in babble 20 dB", noises: []string{"babble"}, snr: 20, key: true},
	{name: "key in babble 10 dB", noises: []string{"babble"}, snr: 10, key: true},
}

// spoken is a note in a voice.
type spoken struct {
	text string
	pcm  []int16
}

func speakAll(t *testing.T, texts []string, n int) []spoken {
	t.Helper()
	out := make([]spoken, n)
	var g errgroup.Group
	g.SetLimit(2)
	dir := t.TempDir()
	for i := range out {
		g.Go(func() error {
			text := texts[i%len(texts)]
			pcm, err := trial.Speak(t.Context(), dir, text, trial.Voices[(i/len(texts)+i)%len(trial.Voices)])
			out[i] = spoken{text, pcm}
			return err
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
	return out
}

// held cuts a note as somebody does who presses a key a moment before and lets it go behind the last word.
func held(pcm []int16) []int16 {
	peak := 0
	for _, x := range pcm {
		peak = max(peak, int(x), -int(x))
	}
	loud := func(x int16) bool { return 100*max(int(x), -int(x)) > peak }
	from, to := slices.IndexFunc(pcm, loud), len(pcm)
	for to > from && !loud(pcm[to-1]) {
		to--
	}
	return pcm[max(from-hear.Rate/8, 0):min(to+hear.Rate/8, len(pcm))]
}

// noisy lays the noise of a condition over the k-th note.
func (c condition) noisy(pcm []int16, babble []float64, k int) (mixed []int16, noise string) {
	if len(c.noises) == 0 {
		return pcm, ""
	}
	if c.key {
		pcm = held(pcm)
	}
	noise = c.noises[k%len(c.noises)]
	if noise == "babble" {
		return trial.Mix(pcm, babble[(k*7919)%(len(babble)-len(pcm)):], c.snr), noise
	}
	return trial.Mix(pcm, trial.Noise(noise, len(pcm), uint64(k)), c.snr), noise
}
