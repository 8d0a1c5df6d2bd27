package offline

import (
	"readback/capture/hear"
	"readback/capture/hear/clean"
	"readback/capture/hear/endpoint"
)

// Bounds of a note, in frames. The lead-in and the tail keep what is spoken softly at its ends; the
// recogniser gets what [note.spokenIn] leaves of them.
const (
	longest  = 12 * hear.Rate / hear.Frame // of speech, from its begin
	leadIn   = 45                          // before the detector's begin: 400 ms, and the 50 ms that it takes
	tail     = 20                          // of silence, and what was said may be decoded as it is
	comeback = 3                           // with voice in a row, and it may not
)

// note is the sound of one note on its way in. Places are samples from the note's begin.
type note struct {
	front  front
	detect detector
	state  hear.State
	voice  float64
	levels levels

	primed  bool      // the cleaner is used to the noise
	rest    []int16   // of a frame that is not whole yet; at first, what primes the cleaner
	raw     []int16   // as it came
	clean   []int16   // cleaned, and as far as it is out of the cleaner
	voices  []float64 // of each frame of raw, late by the cleaner's delay
	first   int       // place of raw[0] and clean[0]
	late    int       // samples that are still to be dropped, of those that the cleaner begins with
	spoken  int       // frames since the detector's begin
	still   int       // frames without voice
	run     int       // frames with voice in a row
	cut     int       // where the note ends if nobody speaks any more; 0 while somebody does
	from    int       // where its speech begins, once
	settled bool      // there is enough of it to tell
	heard   int       // where its last voice ends
}

func newNote(f front) (*note, error) {
	if err := f.clean.Reset(); err != nil {
		return nil, err
	}
	d, err := f.detect()
	if err != nil {
		return nil, err
	}
	return &note{front: f, detect: d, late: f.clean.Delay()}, nil
}

// add takes sound of any length. A silence ends nothing here: whoever holds a key down may pause, and what
// follows belongs to the note.
func (n *note) add(pcm []int16) error {
	n.rest = append(n.rest, pcm...)
	if !n.primed && len(n.rest) < clean.Lead {
		return nil
	}
	return n.take()
}

// take takes the whole frames of what is there.
func (n *note) take() error {
	if !n.primed {
		n.primed = true
		if err := n.front.clean.Prime(n.rest); err != nil {
			return err
		}
	}
	for len(n.rest) >= hear.Frame && n.spoken < longest {
		frame := n.rest[:hear.Frame]
		if err := n.hear(frame); err != nil {
			return err
		}
		n.rest = n.rest[hear.Frame:]
		n.follow()
	}
	if n.spoken >= longest {
		n.rest = nil
	}
	return nil
}

// hear cleans one frame and keeps it.
func (n *note) hear(frame []int16) error {
	var out [hear.Frame]int16
	voice, err := n.front.clean.Frame(frame, out[:])
	if err != nil {
		return err
	}
	n.voice = voice
	n.levels.add(frame, voice)
	n.raw = append(n.raw, frame...)
	n.voices = append(n.voices, voice)
	n.append(out[:])
	return nil
}

// append keeps cleaned sound, in line with the sound as it came.
func (n *note) append(out []int16) {
	skip := min(n.late, len(out))
	n.late -= skip
	n.clean = append(n.clean, out[skip:]...)
}

// follow moves the note's ends after a frame. Once somebody has spoken, the note goes on to its end.
func (n *note) follow() {
	n.state = n.detect.Frame(n.voice)
	switch {
	case n.spoken == 0 && n.state == hear.Waiting:
		if len(n.raw) >= 2*longest*hear.Frame {
			n.forget(longest)
		}
		return
	case n.spoken == 0:
		n.forget(leadIn)
	case n.state == hear.Waiting:
		n.state = hear.Ended
	}
	if n.spoken++; n.spoken >= longest {
		n.state = hear.Ended
	}
	n.listen()
	if n.spoken == settled {
		n.from, _ = n.spokenIn(n.first + len(n.clean))
		n.settled = true
	}
}

// listen follows the voice, and looks for the silence that ends a note.
func (n *note) listen() {
	if n.voice > voiceAt {
		n.run++
		n.still = 0
		if n.run >= comeback {
			n.cut = 0
		}
		if n.cut == 0 {
			n.heard = n.first + len(n.raw) - n.front.clean.Delay()/hear.Frame*hear.Frame
		}
		return
	}
	n.run = 0
	n.still++
	if n.still >= tail && n.cut == 0 {
		n.cut = n.first + len(n.clean)
	}
}

// soFar is what can be decoded of the note by now: up to its last voice; in a silence also what is kept behind it.
func (n *note) soFar() (from, to int) {
	switch {
	case n.cut > 0:
		return n.spokenIn(n.cut)
	case n.silent():
		return n.spokenIn(n.first + len(n.clean))
	}
	return n.from, n.heard
}

// silent reports whether nobody speaks just now: the note may be over.
func (n *note) silent() bool { return n.cut > 0 || n.still >= soon }

// forget drops all but the last frames.
func (n *note) forget(frames int) {
	drop := min(len(n.raw)-frames*hear.Frame, len(n.clean))
	if drop -= drop % hear.Frame; drop > 0 {
		n.first += drop
		n.voices = append([]float64(nil), n.voices[drop/hear.Frame:]...)
		n.raw = append([]int16(nil), n.raw[drop:]...)
		n.clean = append([]int16(nil), n.clean[drop:]...)
	}
}

// spokenIn returns where speech begins and ends in the sound up to a place: what is decoded. All of it
// where there is none. Where it begins stays once the note is settled.
func (n *note) spokenIn(end int) (from, to int) {
	voices := n.voices[min(n.front.clean.Delay()/hear.Frame, len(n.voices)):]
	from, to = endpoint.Span(n.clean[:end-n.first], voices)
	if from >= to {
		from, to = 0, end-n.first
	}
	if n.settled {
		return n.from, n.first + to
	}
	return n.first + from, n.first + to
}

// close takes what is still on its way through the cleaner, and says where the note ends.
func (n *note) close() (end int, err error) {
	if n.cut > 0 {
		return n.cut, nil
	}
	if err := n.take(); err != nil {
		return 0, err
	}
	if len(n.rest) > 0 {
		frame := make([]int16, hear.Frame)
		copy(frame, n.rest)
		n.rest = nil
		if err := n.hear(frame); err != nil {
			return 0, err
		}
	}
	for len(n.clean) < len(n.raw) {
		var in, out [hear.Frame]int16
		if _, err := n.front.clean.Frame(in[:], out[:]); err != nil {
			return 0, err
		}
		n.append(out[:])
	}
	n.clean = n.clean[:len(n.raw)]
	n.forget(longest + leadIn)
	return n.first + len(n.raw), nil
}
