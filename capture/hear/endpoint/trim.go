package endpoint

import (
	"math"
	"slices"

	"readback/capture/hear"
)

// Around is how many samples are kept before and after the speech when a note is trimmed: 60 ms.
// Of notes with others talking around 21 of 28 were heard so, and 4 with all their sound.
const Around = 6 * hear.Frame

const (
	trimAt = 0.5 // lower than [Threshold]: a switch says already that somebody speaks
	reach  = 20  // frames from the voice in which a hiss may belong to it, as the "st" of "stage"
	hiss   = 10  // times the power of the noise floor
	floor  = 0.2 // share of the frames without voice that are below the noise floor
	lasts  = 3   // frames of hiss that are more than a click
	softer = 63  // times the power, 18 dB: a voice so much softer than the note's is another's
	beside = 5   // frames from what is loud in which what is soft belongs to it
)

// Span returns the part of pcm, half-open, in which speech is, with [Around] on both sides: the
// voice and what stands above the noise close to it. The voice values are one a frame and not
// late, as from clean's Note; those of clean's Frame are late by clean.Late. Where nobody speaks
// it is empty.
func Span(pcm []int16, voices []float64) (from, to int) {
	frames := min(len(voices), (len(pcm)+hear.Frame-1)/hear.Frame)
	powers := powersOf(pcm, frames)
	near := nearby(powers, voices[:frames])
	first := slices.Index(near, true)
	if first < 0 {
		return 0, 0
	}
	last := frames - 1
	for !near[last] {
		last--
	}
	loud := above(powers, voices[:frames])
	first -= farthest(reach, func(i int) bool { return first-i >= 0 && loud[first-i] })
	last += farthest(reach, func(i int) bool { return last+i < frames && loud[last+i] })
	return max(first*hear.Frame-Around, 0), min((last+1)*hear.Frame+Around, len(pcm))
}

func powersOf(pcm []int16, frames int) []float64 {
	powers := make([]float64, frames)
	for i := range powers {
		for _, s := range pcm[i*hear.Frame : min((i+1)*hear.Frame, len(pcm))] {
			powers[i] += float64(s) * float64(s)
		}
	}
	return powers
}

// nearby says of each frame whether who speaks in it may be who speaks the note: a voice that is not
// much softer than the note's loudest tenth, or close to one that is not.
func nearby(powers, voices []float64) []bool {
	var voiced []float64
	for i, v := range voices {
		if v > trimAt {
			voiced = append(voiced, powers[i])
		}
	}
	near := make([]bool, len(voices))
	if len(voiced) == 0 {
		return near
	}
	slices.Sort(voiced)
	bar := voiced[len(voiced)*9/10] / softer
	for i, v := range voices {
		around := powers[max(i-beside, 0):min(i+beside+1, len(powers))]
		near[i] = v > trimAt && slices.Max(around) >= bar
	}
	return near
}

// above says of each frame whether it stands above the noise floor.
func above(powers, voices []float64) []bool {
	var rest []float64
	for i, v := range voices {
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
