// Package endpoint finds where a note begins and ends in a stream of sound, by the voice values
// of package clean.
//
// A [Detector] is for an open microphone: it is fed each frame's voice value and says in which
// [hear.State] the note is. Where a switch is held down while speaking, the note's ends are
// known, and [Trim] cuts what is no speech from them.
//
// It sees no sound and knows no clock; places are counted in samples.
package endpoint

import (
	"fmt"
	"time"

	"readback/capture/hear"
)

// Threshold is the voice value over which somebody speaks.
const Threshold = 0.7

// tick is how long a frame is.
const tick = time.Second * hear.Frame / hear.Rate

// Config says how long each thing takes. What is zero is as measured.
type Config struct {
	Onset  time.Duration // of voice, before a note begins: 50 ms
	LeadIn time.Duration // of sound that is kept from before the voice: 400 ms
	MayEnd time.Duration // of silence, before the note may be over: 200 to 300 ms, 250 by itself
	End    time.Duration // of silence, before it is: 400 to 800 ms, 600 by itself
	Cap    time.Duration // of a note, from its voice on: up to 60 s, 12 s by itself; silence may follow
}

// bound is what a duration may be.
type bound struct {
	name           string
	value          *time.Duration
	usual, low, up time.Duration
}

func (c *Config) bounds() []bound {
	return []bound{
		{"onset", &c.Onset, 50 * time.Millisecond, 10 * time.Millisecond, 200 * time.Millisecond},
		{"lead-in", &c.LeadIn, 400 * time.Millisecond, 0, time.Second},
		{"early end", &c.MayEnd, 250 * time.Millisecond, 200 * time.Millisecond, 300 * time.Millisecond},
		{"end", &c.End, 600 * time.Millisecond, 400 * time.Millisecond, 800 * time.Millisecond},
		{"longest note", &c.Cap, 12 * time.Second, time.Second, time.Minute},
	}
}

// Note is where a note is, in samples from the first that was fed.
type Note struct {
	From, To int  // half-open; the silence that ended it is inside
	Voice    int  // the end of its last frame with voice
	Cut      bool // it grew too long
	Torn     bool // it goes on where a note was cut: it is not the whole of what was said
}

// Detector follows one stream. One goroutine uses it.
type Detector struct {
	onset, leadIn, mayEnd, end, longest int // in frames

	state  hear.State
	at     int  // frames fed
	run    int  // frames with voice in a row, while waiting
	still  int  // frames without voice in a row
	voice  int  // frames up to the last one with voice
	from   int  // frame where the note begins
	begun  int  // frame where its voice begins
	last   int  // frame where the note before it ended
	cut    bool // the note before was cut, and no end has been heard since
	torn   bool
	closed Note
}

// New returns a detector that waits.
func New(c Config) (*Detector, error) {
	for _, b := range c.bounds() {
		if *b.value == 0 {
			*b.value = b.usual
		}
		if *b.value < b.low || *b.value > b.up || *b.value%tick != 0 {
			return nil, fmt.Errorf("endpoint: %s is %v; give %v to %v in steps of %v", b.name, *b.value, b.low, b.up, tick)
		}
	}
	return &Detector{
		onset: int(c.Onset / tick), leadIn: int(c.LeadIn / tick), mayEnd: int(c.MayEnd / tick),
		end: int(c.End / tick), longest: int(c.Cap / tick),
	}, nil
}

// Frame takes the voice value of the next frame and returns the state after it. Ended lasts for
// one frame; see [Detector.Note] then. A voice value that is no number is silence.
//
// From MayEnd a note goes back to Speaking when the voice comes back: an early end is taken back.
func (d *Detector) Frame(voice float64) hear.State {
	speaks := voice > Threshold
	d.at++
	if speaks {
		d.voice = d.at
	}
	switch d.state {
	case hear.Waiting, hear.Ended:
		d.wait(speaks)
	case hear.Speaking, hear.MayEnd:
		d.follow(speaks)
	}
	return d.state
}

func (d *Detector) wait(speaks bool) {
	d.state = hear.Waiting
	if !speaks {
		d.run = 0
		if d.still++; d.still >= d.end {
			d.cut = false
		}
		return
	}
	d.still = 0
	if d.run++; d.run < d.onset {
		return
	}
	d.state = hear.Speaking
	d.begun = d.at - d.run
	d.from = max(d.begun-d.leadIn, d.last)
	d.torn, d.cut, d.run = d.cut, false, 0
}

func (d *Detector) follow(speaks bool) {
	if speaks {
		d.still = 0
	} else {
		d.still++
	}
	switch {
	case d.still >= d.end:
		d.close(false)
	case speaks && d.at-d.begun >= d.longest:
		d.close(true)
	case d.still >= d.mayEnd:
		d.state = hear.MayEnd
	default:
		d.state = hear.Speaking
	}
}

func (d *Detector) close(cut bool) {
	d.cut = cut
	d.closed = d.open()
	d.state, d.last = hear.Ended, d.at
}

func (d *Detector) open() Note {
	return Note{From: d.from * hear.Frame, To: d.at * hear.Frame, Voice: d.voice * hear.Frame, Cut: d.cut, Torn: d.torn}
}

// Note returns the note that is being spoken, up to the last frame; after Ended the one that
// ended. It is zero before the first.
func (d *Detector) Note() Note {
	switch d.state {
	case hear.Speaking, hear.MayEnd:
		return d.open()
	case hear.Waiting, hear.Ended:
	}
	return d.closed
}

// At is how many samples were fed.
func (d *Detector) At() int { return d.at * hear.Frame }

// Keep is the first sample that a note may still need: sound before it can be let go.
func (d *Detector) Keep() int {
	switch d.state {
	case hear.Speaking, hear.MayEnd:
		return d.from * hear.Frame
	case hear.Waiting, hear.Ended:
	}
	return max(d.at-d.run-d.leadIn, d.last) * hear.Frame
}

// Close ends the note that is being spoken, as when a stream ends or a stop is asked for, and
// says whether there was one.
func (d *Detector) Close() (Note, bool) {
	switch d.state {
	case hear.Speaking, hear.MayEnd:
		d.close(false)
		d.run = 0
		return d.closed, true
	case hear.Waiting, hear.Ended:
	}
	return Note{}, false
}
