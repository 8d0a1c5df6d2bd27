package endpoint

import (
	"math"
	"slices"

	"readback/capture/hear"
)

// Around is how many samples are kept on both sides of speech when a note is trimmed, and Before of those
// before its voice: 60 and 120 ms. In noise the "t" of "tank" has no voice that could be told from it. More
// than this costs where others talk: of notes with them around 21 of 28 were heard with 60 ms, and 4 with
// all their sound.
const (
	Around = 6 * hear.Frame
	Before = 12 * hear.Frame
)

const (
	trimAt = 0.5 // lower than [Threshold]: a switch says already that somebody speaks
	reach  = 20  // frames from the voice in which a hiss may belong to it, as the "st" of "stage"
	hiss   = 10  // times the power of the noise floor
	floor  = 0.2 // share of the frames without voice that are below the noise floor
	lasts  = 3   // frames of hiss that are more than a click
)

// Span returns the part of pcm, half-open, in which speech is, with [Around] on both sides, and [Before] before the voice: the
// voice and what stands above the noise close to it. The voice values are one a frame and not
// late, as from clean's Note; those of clean's Frame are late by clean.Late. Where nobody speaks
// it is empty.
func Span(pcm []int16, voices []float64) (from, to int) {
	frames := min(len(voices), (len(pcm)+hear.Frame-1)/hear.Frame)
	spoken := func(v float64) bool { return v > trimAt }
	first := slices.IndexFunc(voices[:frames], spoken)
	if first < 0 {
		return 0, 0
	}
	last := frames - 1
	for !spoken(voices[last]) {
		last--
	}
	loud := above(pcm, voices[:frames])
	hissing := first - farthest(reach, func(i int) bool { return first-i >= 0 && loud[first-i] })
	last += farthest(reach, func(i int) bool { return last+i < frames && loud[last+i] })
	return max(min(hissing*hear.Frame-Around, first*hear.Frame-Before), 0), min((last+1)*hear.Frame+Around, len(pcm))
}

// above says of each frame whether it stands above the noise floor.
func above(pcm []int16, voices []float64) []bool {
	powers := make([]float64, len(voices))
	var rest []float64
	for i, v := range voices {
		for _, s := range pcm[i*hear.Frame : min((i+1)*hear.Frame, len(pcm))] {
			powers[i] += float64(s) * float64(s)
		}
		if !(v > trimAt) {
			rest = append(rest, powers[i])
		}
	}
	slices.Sort(rest)
	bar := math.Inf(1) // with too little noise to compare with, nothing is above it
	if len(rest) > lasts {
		bar = max(hiss*rest[int(floor*float64(len(rest)))], hiss*hear.Frame)
	}
	loud := make([]bool, len(voices))
	for i, p := range powers {
		loud[i] = p > bar
	}
	return loud
}

// farthest returns the far end of the farthest run that is loud for long enough, up to most
// frames away; 0 where there is none.
func farthest(most int, loud func(away int) bool) int {
	far, run := 0, 0
	for i := 1; i <= most; i++ {
		if !loud(i) {
			run = 0
			continue
		}
		if run++; run >= lasts {
			far = i
		}
	}
	return far
}

// Trim returns the part of pcm in which speech is, see [Span]. It shares pcm's memory.
func Trim(pcm []int16, voices []float64) []int16 {
	from, to := Span(pcm, voices)
	return pcm[from:to:to]
}
