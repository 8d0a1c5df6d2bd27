package sphinx

import (
	"errors"
	"fmt"
	"runtime"
	"slices"

	"readback/capture/hear"
)

// Front makes cepstra of sound, one for each 10 ms: what a decoder of a stream looks at. One goroutine
// at a time may use it.
type Front struct {
	lib  *library
	fe   uintptr
	size int     // of a cepstrum
	pcm  []int16 // what the library has not taken yet
}

// mostCepstrum is more values than a cepstrum has: 13 in this model.
const mostCepstrum = 64

// NewFront makes a front end with the settings of the decoder's model.
func (d *Decoder) NewFront() (*Front, error) {
	if d.state == closed {
		return nil, errClosed
	}
	f := &Front{lib: d.lib, fe: d.lib.newFront(d.config)}
	if f.fe == 0 {
		return nil, errors.New("the front end of the recogniser did not start")
	}
	if f.size = int(d.lib.cepstrumSize(f.fe)); f.size < 1 || f.size > mostCepstrum {
		f.Close()
		return nil, fmt.Errorf("a cepstrum of the recogniser has %d values, which none has", f.size)
	}
	return f, nil
}

// Begin starts a note.
func (f *Front) Begin() error {
	f.pcm = f.pcm[:0]
	f.lib.frontStream(f.fe)
	if f.lib.frontBegin(f.fe) != 0 {
		return errors.New("the front end of the recogniser did not start a note")
	}
	return nil
}

// Add returns the cepstra of more of the note's sound. What is not a whole frame is kept for the next.
func (f *Front) Add(pcm []int16) (out [][]float32, err error) {
	f.pcm = append(f.pcm, pcm...)
	for len(f.pcm) > 0 {
		rows, taken, err := f.add()
		if err != nil {
			return nil, err
		}
		out = append(out, rows...)
		if f.pcm = append(f.pcm[:0], f.pcm[taken:]...); taken == 0 {
			break
		}
	}
	return out, nil
}

// add gives the library what there is of the sound once.
func (f *Front) add() (out [][]float32, taken int, err error) {
	most := len(f.pcm)/hear.Frame + 4
	flat, rows := make([]float32, most*f.size), make([]*float32, most)
	for i := range rows {
		rows[i] = &flat[i*f.size]
	}
	f.pcm = slices.Grow(f.pcm, 1) // the library's pointer ends one behind, which must not be another's memory
	at, left, frames, index := &f.pcm[0], uintptr(len(f.pcm)), int32(most), int32(0)
	if f.lib.frontAdd(f.fe, &at, &left, &rows[0], &frames, &index) < 0 || left > uintptr(len(f.pcm)) || int(frames) > most {
		return nil, 0, errors.New("the front end of the recogniser did not take the sound")
	}
	runtime.KeepAlive(f.pcm)
	for i := range int(frames) {
		out = append(out, flat[i*f.size:(i+1)*f.size:(i+1)*f.size])
	}
	return out, len(f.pcm) - int(left), nil
}

// End ends the note and returns the cepstrum of what is left of its sound, none where nothing is.
func (f *Front) End() [][]float32 {
	last, n := make([]float32, f.size), int32(0)
	if f.lib.frontEnd(f.fe, &last[0], &n); n < 1 {
		return nil
	}
	return [][]float32{last}
}

// Close gives the front end back. It may be called twice.
func (f *Front) Close() {
	if f.fe != 0 {
		f.lib.freeFront(f.fe)
		f.fe = 0
	}
}

// Begin starts a note of a decoder that takes a stream.
func (d *Decoder) Begin() error {
	if !d.stream {
		return errors.New("this recogniser takes whole notes only: make one for a stream")
	}
	return d.begin()
}

// Feed decodes more cepstra of the note. Their mean must have been taken off, as it was by the model's
// training: of a whole note, or of its begin.
func (d *Decoder) Feed(cepstra [][]float32) error {
	switch {
	case d.state != open:
		return errors.New("there is no note to add sound to: begin one first")
	case len(cepstra) == 0:
		return nil
	}
	rows := make([]*float32, len(cepstra))
	for i, c := range cepstra {
		rows[i] = &c[0]
	}
	n := d.lib.processCepstra(d.ps, &rows[0], int32(len(rows)), 0, 0)
	runtime.KeepAlive(cepstra)
	if n < 0 {
		return errors.New("the recogniser did not take the sound")
	}
	d.row = slices.Clone(cepstra[len(cepstra)-1])
	return nil
}

// ahead is how many cepstra behind a frame are looked at to tell how it changes. At the end of a stream
// the library leaves out so many frames.
const ahead = 3

// finish has the last frames of a stream decoded, and sees to it that the library adds nothing: of its
// own front end something may be left, which the mean is on.
func (d *Decoder) finish() error {
	d.lib.frontEnd(d.lib.ownFront(d.ps), &make([]float32, mostCepstrum)[0], new(int32))
	if d.row == nil {
		return nil
	}
	return d.Feed(slices.Repeat([][]float32{d.row}, ahead))
}

// Partial is the best guess in the middle of a note. It changes and means nothing yet.
func (d *Decoder) Partial() string {
	if d.state != open || d.phones {
		return ""
	}
	return words(d.lib.best(d.ps, new(int32)))
}
