package endpoint

import "readback/capture/hear"

// Around is how many samples are kept before and after the voice when a note is trimmed: 60 ms.
// Of notes with others talking around 21 of 28 were heard so, and 4 with all their sound.
const Around = 6 * hear.Frame

// trimAt is lower than [Threshold]: a switch says already that somebody speaks, and what begins
// and ends softly must stay whole.
const trimAt = 0.5

// Span returns the part of samples of sound, half-open, in which the voice is, with [Around] on
// both sides. The voice values are one a frame and not late, as from clean's Note; those of
// clean's Frame are late by clean.Late. Where nobody speaks it is empty.
func Span(samples int, voices []float64) (from, to int) {
	first, last := -1, -1
	for i, v := range voices {
		if v > trimAt {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	if first < 0 {
		return 0, 0
	}
	to = min((last+1)*hear.Frame+Around, samples)
	return min(max(first*hear.Frame-Around, 0), to), to
}

// Trim returns the part of pcm around the voice, see [Span]. It shares pcm's memory.
func Trim(pcm []int16, voices []float64) []int16 {
	from, to := Span(len(pcm), voices)
	return pcm[from:to:to]
}
